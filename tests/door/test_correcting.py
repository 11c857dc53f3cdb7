"""What a person sets right is kept with who and when, rules what follows, and never hides the original."""

from __future__ import annotations

import sqlite3
from datetime import date

import pytest

from assistant import Assistant, ledger, pipeline
from assistant.errors import NoSuchJob, NoSuchNote, NoteError, UnitMismatch
from assistant.log.correcting import corrected, place_of
from assistant.records import Correction, DuctRun, Equipment, Material, Note, Reading, Transcript
from tests.door.sounds import spoken, tone

DAY, LATER = date(2026, 5, 12), date(2026, 5, 20)
CHARGE = "410A with a TXV, target subcool is ten. Head pressure is 345 psi and the liquid line is 94 degrees."


def reading(log: dict, quantity: str, place: int = -1) -> dict:
    return [r for r in log["readings"] if r["quantity"] == quantity and r["role"] == "measured"][place]


def correct(assistant: Assistant, log: dict, quantity: str, action: str = "correct", **given) -> Correction:
    found = reading(log, quantity)
    return assistant.correct(
        found["note"], quantity=quantity, said=found["said"], action=action, by=given.pop("by", "Ana"), **given
    )


def calculated(log: dict, name: str) -> float | None:
    return next((c["value"] for c in log["calculations"] if c["name"] == name), None)


@pytest.fixture
def assistant():
    with Assistant() as opened:
        yield opened


def test_a_corrected_value_rules_calculations_and_verdicts_and_the_original_stays_beside_it(assistant):
    before = assistant.tell(CHARGE, job="a", date=DAY).log
    done = correct(assistant, before, "liquid_line_temp", value=104)
    log = assistant.log("a")
    assert calculated(log, "subcooling") == pytest.approx(calculated(before, "subcooling") - 10, abs=1e-6)
    assert [v["status"] for v in before["verdicts"] if v["about"] == "charge"] != [
        v["status"] for v in log["verdicts"] if v["about"] == "charge"
    ]
    now = reading(log, "liquid_line_temp")
    assert (now["value"], now["unit"], now["status"], now["confidence"]) == (104.0, "degF", "current", 1.0)
    assert now["said"] == reading(before, "liquid_line_temp")["said"]
    assert now["correction"] == {"action": "correct", "by": "Ana", "at": done.at, "was": 94.0, "was_unit": "degF"}
    assert assistant.transcript(now["note"]).text == CHARGE
    assert log["corrections"][0]["value"] == 104.0 and log["corrections"][0]["found"]


def test_evidence_does_not_put_a_typed_value_into_the_speakers_mouth(assistant):
    log = assistant.tell("Return airflow is 1230 cfm on a four ton system.", job="a", date=DAY).log
    correct(assistant, log, "return_airflow", value=1320)
    because = [text for c in assistant.log("a")["concerns"] for text in c["because"] if "1320" in text]
    assert because and all("corrected by Ana" in text for text in because)


def test_a_discarded_reading_is_never_used_and_what_it_superseded_is_current_again(assistant):
    assistant.tell("Suction pressure is 118 psi.", job="a", date=DAY)
    log = assistant.tell("Suction pressure is 181 psi.", job="a", date=DAY).log
    correct(assistant, log, "suction_pressure", "discard")
    found = [(r["value"], r["status"]) for r in assistant.log("a")["readings"]]
    assert found == [(118.0, "current"), (181.0, "retracted")]


def test_a_confirmed_doubtful_reading_is_used_from_then_on(assistant):
    log = assistant.tell("Suction pressure is 450 psi.", job="a", date=DAY).log
    assert reading(log, "suction_pressure")["status"] == "doubtful"
    correct(assistant, log, "suction_pressure", "confirm")
    log = assistant.log("a")
    assert reading(log, "suction_pressure")["status"] == "current"
    assert "value_implausible" not in {c["code"] for c in log["concerns"]}


def test_a_reading_in_a_unit_that_cannot_be_is_corrected_and_not_confirmed(assistant):
    log = assistant.tell("Head pressure is 94 degrees.", job="a", date=DAY).log
    if not log["readings"] or log["readings"][0]["doubt"] != "unit_mismatch":
        pytest.fail(f"the note was to give a unit that cannot be: {log['readings']}")
    found = log["readings"][0]
    given = {"quantity": found["quantity"], "said": found["said"], "by": "Ana"}
    with pytest.raises(NoteError, match="cannot be confirmed"):
        assistant.correct(found["note"], action="confirm", **given)
    assistant.correct(found["note"], action="correct", value=340, unit="psi", **given)
    now = assistant.log("a")["readings"][0]
    assert (now["value"], now["unit"], now["status"]) == (340.0, "psi", "current") and "doubt" not in now


def test_of_several_corrections_the_newest_rules_and_all_are_kept(assistant):
    log = assistant.tell(CHARGE, job="a", date=DAY).log
    correct(assistant, log, "liquid_pressure", value=354)
    correct(assistant, assistant.log("a"), "liquid_pressure", value=350, by="Bo")
    now = reading(assistant.log("a"), "liquid_pressure")
    assert (now["value"], now["correction"]["by"], now["correction"]["was"]) == (350.0, "Bo", 345.0)
    assert [(c.by, c.value, c.was) for c in assistant.corrections("a")] == [("Ana", 354.0, 345.0), ("Bo", 350.0, 345.0)]
    correct(assistant, assistant.log("a"), "liquid_pressure", "confirm")
    assert reading(assistant.log("a"), "liquid_pressure")["value"] == 345.0


def test_a_value_is_converted_once_and_an_impossible_unit_refused(assistant):
    log = assistant.tell(CHARGE, job="a", date=DAY).log
    correct(assistant, log, "liquid_line_temp", value=35, unit="degC")
    assert reading(assistant.log("a"), "liquid_line_temp")["value"] == pytest.approx(95.0)
    for unit in ("psi", "parrot", "degF or so"):
        with pytest.raises(UnitMismatch):
            correct(assistant, log, "liquid_line_temp", value=35, unit=unit)


@pytest.mark.parametrize(
    "given",
    [
        {"action": "correct"},
        {"action": "correct", "value": float("nan")},
        {"action": "confirm", "value": 3.0},
        {"action": "improve", "value": 3.0},
        {"action": "correct", "value": 3.0, "by": " "},
        {"action": "correct", "value": 3.0, "said": "something else entirely"},
        {"action": "correct", "value": 3.0, "quantity": "suction_pressure"},
        {"action": "correct", "value": 3.0, "quantity": "no such thing"},
    ],
)
def test_a_correction_that_cannot_be_is_refused_and_changes_nothing(assistant, given):
    log = assistant.tell(CHARGE, job="a", date=DAY).log
    found = reading(log, "liquid_pressure")
    with pytest.raises(NoteError):
        assistant.correct(found["note"], **{"quantity": "liquid_pressure", "said": found["said"], "by": "Ana"} | given)
    assert assistant.log("a") == log and assistant.corrections("a") == []


def test_a_note_or_job_that_is_not_there_is_a_clear_error(assistant):
    with pytest.raises(NoSuchNote):
        assistant.correct("abc", quantity="liquid_pressure", said="x", action="discard", by="Ana")
    with pytest.raises(NoSuchJob):
        assistant.corrections("bank")


def test_only_what_comes_after_a_corrected_note_is_worked_out_again(assistant, monkeypatch):
    for day in (12, 14, 16):
        log = assistant.tell(CHARGE, job="a", date=date(2026, 5, day)).log
    taken, real = [], pipeline.take_note
    monkeypatch.setattr(pipeline, "take_note", lambda *note: (taken.append(note[2]), real(*note))[1])
    middle = reading(log, "liquid_pressure", 1)
    assistant.correct(
        middle["note"], quantity="liquid_pressure", said=middle["said"], action="correct", value=350, by="Ana"
    )
    assert taken == ["2026-05-14", "2026-05-16"]


def test_it_outlives_the_program_and_a_rereading_with_better_rules(tmp_path, monkeypatch):
    with Assistant(tmp_path) as assistant:
        log = assistant.tell(CHARGE, job="a", date=DAY).log
        correct(assistant, log, "liquid_pressure", value=354)
    monkeypatch.setattr(ledger, "rules_version", lambda: "newer")
    with Assistant(tmp_path) as assistant:
        assert reading(assistant.log("a"), "liquid_pressure")["value"] == 354.0
        assistant.reread()
        assert reading(assistant.log("a"), "liquid_pressure")["value"] == 354.0


def test_one_that_finds_its_reading_no_more_is_shown_and_not_dropped(assistant, slow_ears):
    slow_ears.says = "Head pressure is 345 psi."
    log = assistant.tell(audio=tone(440), job="a", date=DAY).log
    correct(assistant, log, "liquid_pressure", value=354)
    note = log["readings"][0]["note"]
    assistant.heard(note, spoken("Heads up, the parking is at 345."))
    log = assistant.log("a")
    assert [c.found for c in assistant.corrections("a")] == [False]
    assert not any(r["value"] == 354.0 for r in log["readings"])
    assert any("Ana corrected" in c["text"] and "354" in c["text"] for c in log["concerns"])
    assistant.heard(note, spoken("Head pressure is 345 psi."))
    assert [c.found for c in assistant.corrections("a")] == [True]
    assert reading(assistant.log("a"), "liquid_pressure")["value"] == 354.0


def test_a_correction_in_a_note_that_trips_a_rule_is_shown_as_lost(assistant, monkeypatch):
    correct(assistant, assistant.tell(CHARGE, job="a", date=DAY).log, "liquid_pressure", value=354)

    def trips(*_):
        raise ZeroDivisionError

    with monkeypatch.context() as patched:
        patched.setattr(pipeline, "take_note", trips)
        patched.setattr(ledger, "rules_version", lambda: "broken")
        assert [c.found for c in assistant.corrections("a")] == [False]


def test_rows_of_corrections_are_never_changed_or_removed(assistant):
    correct(assistant, assistant.tell(CHARGE, job="a", date=DAY).log, "liquid_pressure", value=354)
    for sql in ("UPDATE correction SET value = 1", "DELETE FROM correction"):
        with pytest.raises(sqlite3.IntegrityError, match="never"):
            assistant._store.db.execute(sql)


# ---------------------------------------------------------------- the pure step


def wanted(**changed) -> Correction:
    given = {"note": "n", "quantity": "liquid_pressure", "said": "head 345", "action": "correct", "value": 354.0}
    return Correction(**{**given, "unit": "psi", "was": 345.0, "was_unit": "psi", "by": "Ana", "at": "t"} | changed)


def head(said: str, value: float = 345.0) -> Reading:
    return Reading("liquid_pressure", value, "psi", said=said)


def test_of_readings_in_the_same_words_the_one_of_that_value_is_meant():
    assert place_of(wanted(said="94"), [head("94", 94.0), head("94", 345.0)]) == 1


@pytest.mark.parametrize("said", ["Head 345", "the head 345 psi", "345"])
def test_rules_that_quote_a_word_more_or_less_still_find_it(said):
    assert place_of(wanted(), [head(said)]) == 0


@pytest.mark.parametrize("said", ["head 3450", "liquid 94", "", "ahead 345"])
def test_other_words_are_another_reading(said):
    assert place_of(wanted(), [head(said)]) is None


def test_what_the_note_took_from_a_reading_goes_with_it():
    note = Note(
        "n",
        "2026-05-12",
        "",
        readings=(
            Reading("cooling_capacity", 4.0, "ton", role="rated", said="four ton"),
            Reading("return_airflow", 1230.0, "cfm", said="1230"),
            Reading("refrigerant_added", 2.0, "lb", said="two pounds"),
        ),
        equipment=(Equipment(cooling_capacity=4.0), Equipment("upstairs", cooling_capacity=4.0)),
        duct_runs=(DuctRun("return", airflow_cfm=1230.0), DuctRun("supply", airflow_cfm=900.0)),
        materials=(Material("R-410A", 2.0, "lb"), Material("filter", 2.0)),
    )
    right = [
        wanted(quantity="cooling_capacity", said="four ton", value=3.5, unit="ton", was=4.0, was_unit="ton"),
        wanted(quantity="return_airflow", said="1230", value=1320.0, unit="cfm", was=1230.0, was_unit="cfm"),
        wanted(quantity="refrigerant_added", said="two pounds", action="discard", value=None, unit=None),
    ]
    after, done = corrected(note, right)
    assert all(each.found for each in done)
    assert [e.cooling_capacity for e in after.equipment] == [3.5, 4.0]
    assert [run.airflow_cfm for run in after.duct_runs] == [1320.0, 900.0]
    assert [m.item for m in after.materials] == ["filter"]


def test_a_note_without_corrections_is_the_same_note():
    note = Note("n", "2026-05-12", "x", readings=(head("head 345"),))
    assert corrected(note, ()) == (note, ())
    assert Transcript("x").text == "x"

"""A job's log is the fold of its notes, whoever tells them and in whatever order they arrive."""

from __future__ import annotations

import threading
from datetime import date
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant import Assistant, ledger, pipeline

NOTES = [
    (date(2026, 5, 12), "Four ton, R-410A, TXV on the coil."),
    (date(2026, 5, 12), "Suction 116, head 338, liquid line 94 and a half, suction line 51."),
    (date(2026, 5, 12), "Nameplate wants ten degrees of subcool."),
    (date(2026, 5, 12), "On the returns the hood adds up to 1200 CFM."),
    (date(2026, 5, 20), "The return is up to 1620 CFM on the hood."),
    (date(2026, 5, 20), "Suction 124, head 350, liquid line 97, suction line 54."),
]


def as_if_told_in_order(order: list[int]) -> dict:
    """The log of those notes told into a fresh store in the order the job has them."""
    with Assistant() as assistant:
        for place in order:
            assistant.tell(text=NOTES[place][1], job="print-shop", date=NOTES[place][0])
        return assistant.log("print-shop")


@given(st.permutations(range(len(NOTES))))
@settings(max_examples=12, deadline=None)
def test_any_order_of_arrival_is_the_fold_of_the_notes_by_date(order):
    by_date = sorted(order, key=lambda place: NOTES[place][0])  # stable: of a day, as they arrived
    with Assistant() as assistant:
        for place in order:
            assistant.tell(text=NOTES[place][1], job="print-shop", date=NOTES[place][0])
        assert assistant.log("print-shop") == as_if_told_in_order(by_date)


@given(turns=st.lists(st.booleans(), min_size=len(NOTES), max_size=len(NOTES)))
@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_two_programs_on_one_store_come_to_the_same_log(tmp_path_factory, turns):
    home = tmp_path_factory.mktemp("home")
    with Assistant(home) as one, Assistant(home) as other:
        for (day, text), turn in zip(NOTES, turns, strict=True):
            (one if turn else other).tell(text=text, job="print-shop", date=day)
        assert one.log("print-shop") == other.log("print-shop") == as_if_told_in_order(list(range(len(NOTES))))


def test_a_history_has_each_note_and_the_log_after_it():
    with Assistant() as assistant:
        for day, text in NOTES:
            assistant.tell(text=text, job="print-shop", date=day)
        history = assistant._ledger.histories()["print-shop"]
    assert [note.text for note in history.notes] == [text for _, text in NOTES]
    assert [len(log.readings) for log in history.logs] == sorted(len(log.readings) for log in history.logs)
    assert len(history.logs[-1].readings) > len(history.logs[0].readings) > 0


def test_every_file_that_decides_what_a_note_means_is_part_of_the_rules():
    package = Path(ledger.__file__).parent
    parts = [package / name for name in ledger.RULES]
    assert [part for part in parts if not part.exists()] == []
    for file in (package / "understand").rglob("*.toml"):
        assert any(part in file.parents for part in parts)


def test_the_rules_are_the_same_rules_until_a_file_of_theirs_changes(tmp_path, monkeypatch):
    for name in ledger.RULES:
        part = tmp_path / name
        part.parent.mkdir(parents=True, exist_ok=True)
        if "." in name:
            part.write_text("limit = 1")
        else:
            part.mkdir()
            (part / "limits.toml").write_text("limit = 1")
    monkeypatch.setattr(ledger, "__file__", str(tmp_path / "ledger.py"))
    version = ledger.rules_version.__wrapped__
    before = version()
    assert version() == before
    (tmp_path / "judge" / "limits.toml").write_text("limit = 2")
    assert version() != before


def test_two_programs_that_tell_at_the_very_same_time_lose_nothing(tmp_path):
    def tell(number: int) -> None:
        with Assistant(tmp_path) as assistant:
            for each in range(6):
                assistant.tell(
                    text=f"Suction pressure is {100 + 10 * number + each} psi.", job="print-shop", date=NOTES[0][0]
                )

    Assistant(tmp_path).close()
    threads = [threading.Thread(target=tell, args=(number,)) for number in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with Assistant(tmp_path) as assistant:
        log = assistant.log("print-shop")
        assert len(log["readings"]) == 18
        assert assistant.reread().changed == ()


def test_a_note_that_trips_a_rule_is_kept_in_its_words_and_the_job_stays_usable(monkeypatch, caplog):
    real = pipeline.take_note

    def trips(transcript, note_id, day, job, *rest):
        if "parrot" in transcript.text:
            raise ZeroDivisionError("a fault in a rule")
        return real(transcript, note_id, day, job, *rest)

    with Assistant() as assistant:
        assistant.tell(text=NOTES[1][1], job="print-shop", date=NOTES[1][0])
        monkeypatch.setattr(pipeline, "take_note", trips)
        reply = assistant.tell(text="The parrot says head 999.", job="print-shop", date=NOTES[1][0])
        assert reply.note["readings"] == [] and reply.say
        assert "a fault in a rule" in caplog.text
        later = assistant.tell(text=NOTES[2][1], job="print-shop", date=NOTES[2][0])
        assert "The parrot says head 999." in [remark["text"] for remark in later.log["remarks"]]
        assert len(later.log["readings"]) == 5

        monkeypatch.setattr(pipeline, "take_note", real)
        monkeypatch.setattr(ledger, "rules_version", lambda: "mended")
        assert 999.0 in [reading["value"] for reading in assistant.log("print-shop")["readings"]]

"""The door for programs, as the contract has it."""

from __future__ import annotations

import json
import threading
from datetime import date, datetime
from pathlib import Path

import pytest

from assistant import Assistant, ledger, pipeline
from assistant.errors import ModelError, NoSuchJob, NoteError, RecordingError
from assistant.records import Transcript
from assistant.settings import Settings
from tests.door.sounds import tone

FIRST, SECOND = date(2026, 5, 12), date(2026, 5, 20)
HEAD = "Head pressure is 345 psi and the liquid line is 94 degrees."
SUCTION = "Suction pressure is 118 psi."


@pytest.fixture
def ears(monkeypatch):
    """A stand-in for the recogniser that hears what it is told to; the list says how often it listened."""

    class Ears:
        says = HEAD
        listened: list[str]
        fails: Exception | None = None

    stand_in = Ears()
    stand_in.listened = []

    def transcribe(recording, ears, progress=None):
        if stand_in.fails:
            raise stand_in.fails
        stand_in.listened.append(recording.sha256)
        if progress:
            progress(1.0)
        return Transcript(stand_in.says, duration_s=recording.duration_s, model="stand-in")

    monkeypatch.setattr("assistant.hear.transcript.load_ears", lambda *_: object())
    monkeypatch.setattr("assistant.hear.transcript.transcribe", transcribe)
    return stand_in


def current(lists: dict) -> dict[str, float]:
    return {reading["quantity"]: reading["value"] for reading in lists["readings"] if reading["status"] == "current"}


def test_a_typed_note_gives_what_it_said_the_whole_log_and_an_answer():
    with Assistant() as assistant:
        reply = assistant.tell(text=HEAD, job="print-shop", date=FIRST)
    assert current(reply.note) == current(reply.log) == {"liquid_pressure": 345.0, "liquid_line_temp": 94.0}
    assert reply.log["job"]["id"] == "print-shop"
    assert reply.log["visits"] == [{"date": "2026-05-12", "notes": [reply.note["id"]]}]
    assert "345" in reply.say
    json.dumps([reply.note, reply.log])


def test_a_reading_in_the_log_has_the_names_of_the_contract():
    with Assistant() as assistant:
        reading = assistant.tell(text=HEAD, job="print-shop").log["readings"][0]
    names = "quantity value unit role system said note start_s end_s confidence status qualifier"
    assert " ".join(reading) == names


def test_without_a_home_nothing_is_written_to_disk(tmp_path, monkeypatch, ears):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    with Assistant(home=None) as assistant:
        assistant.tell(text=HEAD)
        assistant.tell(audio=tone(440))
        assistant.ask("what was the head pressure?")
    assert list(tmp_path.iterdir()) == []


def test_with_a_home_everything_is_kept_there(tmp_path, ears):
    recording = tone(440)
    with Assistant(tmp_path / "home") as assistant:
        before = assistant.tell(audio=recording, job="print-shop", date=FIRST)
    with Assistant(str(tmp_path / "home")) as assistant:
        assert assistant.log("print-shop") == before.log
        assert assistant.current_job() == "print-shop"
    assert [file.read_bytes() for file in (tmp_path / "home" / "recordings").rglob("*.wav")] == [recording]


def test_a_recording_may_be_a_file_or_bytes(tmp_path, ears):
    (tmp_path / "note.wav").write_bytes(tone(440))
    with Assistant() as assistant:
        from_path = assistant.tell(audio=tmp_path / "note.wav", job="a")
        from_name = assistant.tell(audio=str(tmp_path / "note.wav"), job="b")
        from_bytes = assistant.tell(audio=tone(440), job="c")
    assert current(from_path.log) == current(from_name.log) == current(from_bytes.log) == current(from_path.note)


def test_the_same_recording_twice_changes_nothing_and_is_not_listened_to_again(ears):
    with Assistant() as assistant:
        first = assistant.tell(audio=tone(440), job="print-shop", date=FIRST)
        again = assistant.tell(audio=tone(440), job="print-shop", date=SECOND)
        unnamed = assistant.tell(audio=tone(440))
    assert (first.new, again.new, unnamed.new) == (True, False, False)
    assert first.log == again.log == unnamed.log
    assert len(ears.listened) == 1
    assert "Nothing changed" in again.say


def test_a_recording_told_to_another_job_by_name_is_a_note_of_that_job_too(ears):
    with Assistant() as assistant:
        first = assistant.tell(audio=tone(440), job="print-shop", date=FIRST)
        other = assistant.tell(audio=tone(440), job="bakery", date=FIRST)
        assert other.new and other.log["job"]["id"] == "bakery"
        assert current(other.log) == current(first.log)
        assert assistant.log("print-shop") == first.log


def test_the_same_words_on_the_same_day_change_nothing_and_on_another_day_they_do():
    with Assistant() as assistant:
        first = assistant.tell(text=HEAD, job="print-shop", date=FIRST)
        again = assistant.tell(text=HEAD, job="print-shop", date=FIRST)
        later = assistant.tell(text=HEAD, job="print-shop", date=SECOND)
    assert first.log == again.log and not again.new
    assert later.new and len(later.log["visits"]) == 2


def test_a_short_turn_may_be_said_again_and_mean_something_new():
    with Assistant() as assistant:
        assistant.tell(text=HEAD, job="print-shop", date=FIRST)
        first = assistant.tell(text="94", date=FIRST)
        again = assistant.tell(text="94", date=FIRST)
    assert again.new and first.note["id"] != again.note["id"]


def test_without_a_job_the_current_one_goes_on_and_naming_one_changes_it():
    with Assistant() as assistant:
        assistant.tell(text=HEAD, job="print-shop", date=FIRST)
        assert assistant.tell(text=SUCTION, date=FIRST).log["job"]["id"] == "print-shop"
        assistant.tell(text=HEAD, job="bakery", date=FIRST)
        assert assistant.tell(text=SUCTION, date=FIRST).log["job"]["id"] == "bakery"


def test_the_first_note_of_all_begins_a_job_named_from_its_date():
    with Assistant() as assistant:
        assert assistant.tell(text=HEAD, date=FIRST).log["job"]["id"] == "2026-05-12"


def test_the_date_is_today_unless_given():
    with Assistant() as assistant:
        assert assistant.tell(text=HEAD).note["date"] == date.today().isoformat()
        assert assistant.tell(text=SUCTION, date=datetime(2026, 5, 12, 7, 50)).note["date"] == "2026-05-12"


def test_notes_told_out_of_order_come_to_the_same_log_as_in_order():
    notes = [(FIRST, HEAD), (FIRST, SUCTION), (SECOND, "Head pressure is 350 psi."), (SECOND, "Suction is 124 psi.")]

    def log_of(order: list[int]) -> dict:
        with Assistant() as assistant:
            for place in order:
                day, text = notes[place]
                assistant.tell(text=text, job="print-shop", date=day)
            return assistant.log("print-shop")

    assert log_of([2, 3, 0, 1]) == log_of([0, 1, 2, 3]) == log_of([0, 2, 1, 3])


def test_a_question_told_as_a_note_is_answered():
    with Assistant() as assistant:
        assistant.tell(text=HEAD, job="print-shop", date=FIRST)
        before = assistant.log()["readings"]
        assert "345" in assistant.tell(text="What was the head pressure?", date=FIRST).say
        assert "345" in assistant.tell(text="What was the head pressure?", date=FIRST).say
        assert assistant.log()["readings"] == before


def test_an_answer_has_its_words_value_unit_and_evidence():
    with Assistant() as assistant:
        assistant.tell(text=HEAD, job="print-shop", date=FIRST)
        answer = assistant.ask("what was the head pressure?", job="print-shop")
    assert (answer.value, answer.unit) == (345.0, "psi")
    assert answer.evidence[0].said in HEAD


def test_what_the_talk_was_about_outlives_the_process(tmp_path):
    with Assistant(tmp_path) as assistant:
        assistant.tell(text="Upstairs unit, suction pressure 120. Downstairs unit, suction pressure 130.", job="flat")
        assert assistant.ask("what was the suction pressure upstairs?", job="flat").value == 120.0
    with Assistant(tmp_path) as assistant:
        assert assistant.ask("and downstairs?", job="flat").value == 130.0


def test_asking_about_a_job_that_is_not_there_names_those_that_are():
    with Assistant() as assistant:
        assistant.tell(text=HEAD, job="print-shop")
        for look in (assistant.log, lambda job: assistant.ask("what is left?", job=job)):
            with pytest.raises(NoSuchJob, match="print-shop"):
                look("bank")


def test_looking_at_a_log_before_any_note_says_what_to_do():
    with Assistant() as assistant, pytest.raises(NoteError, match="tell a note first"):
        assistant.log()


@pytest.mark.parametrize("given", [{}, {"text": "a", "audio": b"b"}, {"text": ""}, {"text": " \n"}, {"audio": b""}])
def test_a_note_that_is_none_is_a_clear_error_and_begins_no_job(given):
    with Assistant() as assistant:
        with pytest.raises((NoteError, RecordingError)):
            assistant.tell(**given, job="print-shop")
        assert assistant.jobs() == []


def test_a_date_that_is_no_date_is_a_clear_error():
    with Assistant() as assistant, pytest.raises(NoteError, match="datetime.date"):
        assistant.tell(text=HEAD, date="2026-05-12")


def test_text_that_cannot_be_stored_as_it_is_loses_only_the_broken_character():
    with Assistant() as assistant:
        note = assistant.tell(text="\ud83d Head pressure \x1b[31mis\0 345 psi.").note
    assert note["text"] == "? Head pressure [31mis 345 psi."


# ---------------------------------------------------------------- when hearing goes wrong


def test_a_recording_is_safe_before_it_is_listened_to_and_is_heard_later(tmp_path, ears):
    ears.fails = ModelError("no weights")
    with Assistant(tmp_path) as assistant:
        with pytest.raises(ModelError):
            assistant.tell(audio=tone(440), job="print-shop", date=FIRST)
        assert assistant.log("print-shop")["readings"] == []
    assert len(list((tmp_path / "recordings").rglob("*.wav"))) == 1

    ears.fails = None
    with Assistant(tmp_path) as assistant:
        done = assistant.reread()
        assert (done.heard, done.changed, done.failed) == (1, ("print-shop",), ())
        assert current(assistant.log("print-shop"))["liquid_pressure"] == 345.0


def test_telling_a_recording_again_that_was_not_heard_hears_it_now(ears):
    ears.fails = ModelError("no weights")
    with Assistant() as assistant:
        with pytest.raises(ModelError):
            assistant.tell(audio=tone(440), job="print-shop")
        ears.fails = None
        reply = assistant.tell(audio=tone(440), job="print-shop")
    assert reply.new and current(reply.log)["liquid_pressure"] == 345.0


def test_a_recording_with_no_words_is_a_note_that_says_nothing(ears):
    ears.says = ""
    with Assistant() as assistant:
        reply = assistant.tell(audio=tone(440), job="print-shop")
    assert reply.note["readings"] == [] and reply.say


def test_listening_again_with_a_better_recogniser_replaces_what_was_heard(tmp_path, ears):
    ears.says = "Head pressure is 354 psi."
    with Assistant(tmp_path) as assistant:
        assistant.tell(audio=tone(440), job="print-shop", date=FIRST)
        ears.says = "Head pressure is 345 psi."
        assert assistant.reread().changed == ()
        assert assistant.reread(listen=True).changed == ("print-shop",)
        assert current(assistant.log("print-shop")) == {"liquid_pressure": 345.0}


def test_a_recording_that_is_gone_from_the_disk_is_reported_and_the_rest_is_done(tmp_path, ears):
    with Assistant(tmp_path) as assistant:
        assistant.tell(audio=tone(440), job="print-shop")
        assistant.tell(audio=tone(550), job="bakery")
        next((tmp_path / "recordings").rglob("*.wav")).unlink()
        done = assistant.reread(listen=True)
    assert done.heard == 1 and len(done.failed) == 1
    assert "not on this disk" in done.failed[0]


def test_the_longest_recording_is_a_setting():
    with (
        Assistant(settings=Settings(max_recording_hours=0.5 / 3600)) as assistant,
        pytest.raises(RecordingError, match="too long"),
    ):
        assistant.tell(audio=tone(440))


def test_progress_is_told_while_listening(ears):
    steps = []
    with Assistant(progress=lambda *step: steps.append(step)) as assistant:
        assistant.tell(audio=tone(440))
    assert steps[-1] == ("listening", 1.0, 1.0)


# ---------------------------------------------------------------- rules that change, and threads


def test_better_rules_work_out_an_old_job_again_by_themselves(tmp_path, monkeypatch):
    with Assistant(tmp_path) as assistant:
        before = assistant.tell(text=HEAD, job="print-shop").log
    real = pipeline.take_note

    def better(transcript, note_id, day, job, *rest):
        return real(Transcript(transcript.text.replace("345", "346")), note_id, day, job, *rest)

    monkeypatch.setattr(pipeline, "take_note", better)
    with Assistant(tmp_path) as assistant:
        assert assistant.log("print-shop") == before
        monkeypatch.setattr(ledger, "rules_version", lambda: "newer")
        assert current(assistant.log("print-shop"))["liquid_pressure"] == 346.0


def test_only_what_comes_after_a_back_dated_note_is_worked_out_again(monkeypatch):
    taken = []
    real = pipeline.take_note
    monkeypatch.setattr(pipeline, "take_note", lambda *note: (taken.append(note[2]), real(*note))[1])
    with Assistant() as assistant:
        for day in (12, 14, 16):
            assistant.tell(text=HEAD, job="print-shop", date=date(2026, 5, day))
        taken.clear()
        assistant.tell(text=HEAD, job="print-shop", date=date(2026, 5, 15))
        assert taken == ["2026-05-15", "2026-05-16"]


def test_several_threads_may_tell_at_once():
    with Assistant() as assistant:

        def tell(number: int) -> None:
            for each in range(5):
                assistant.tell(
                    text=f"Suction pressure is {100 + 10 * number + each} psi.", job="print-shop", date=FIRST
                )

        threads = [threading.Thread(target=tell, args=(number,)) for number in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        notes = assistant.log("print-shop")["visits"][0]["notes"]
    assert len(set(notes)) == 20


def test_importing_the_door_reads_and_opens_nothing(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SUPERHEARD_HOME", str(tmp_path / "home"))
    import assistant

    assert assistant.Assistant is Assistant
    assert list(Path(tmp_path).iterdir()) == []


def test_a_real_recording_is_heard_with_the_real_recogniser():
    demo = Path(__file__).parents[2] / "demo_audio" / "02_nitrogen.ogg"
    with Assistant() as assistant:
        reply = assistant.tell(audio=demo, job="pottery-studio", date=date(2025, 8, 19))
    pressures = [r for r in reply.log["readings"] if r["quantity"] == "test_pressure" and r["status"] == "current"]
    assert [(r["value"], r["unit"]) for r in pressures] == [(375.0, "psi")]
    assert 0 < pressures[0]["start_s"] < pressures[0]["end_s"]


def test_the_talk_can_open_a_job_and_go_back_to_another():
    with Assistant() as assistant:
        assistant.tell(text="New job at the corner bakery.")
        assistant.tell(text=HEAD)
        assistant.tell(text="New job at the feed store.")
        assert assistant.log(assistant.current_job())["readings"] == []
        reply = assistant.tell(text="Go back to the bakery job.")
        assert "bakery" in reply.say and current(reply.log)["liquid_pressure"] == 345.0
        assert "no job called moon" in assistant.tell(text="Go back to the moon job.").say


def test_a_system_switched_to_stays_until_another_is_named():
    with Assistant() as assistant:
        assistant.tell(text="Unit one is a three ton, unit two is a four ton.", job="inn")
        assistant.tell(text="Switch to unit one.", job="inn")
        log = assistant.tell(text=HEAD, job="inn").log
        assert [r["system"] for r in log["readings"] if r["quantity"] == "liquid_pressure"] == ["unit 1"]

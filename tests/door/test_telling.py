"""A note is taken in, heard and answered in three steps, and each can be repeated."""

from __future__ import annotations

import threading
from datetime import date
from uuid import uuid4

import pytest

from assistant import Assistant
from assistant.errors import ModelError, NoSuchNote, NoteConflict, NoteError, RecordingError
from assistant.log import checking
from tests.door.sounds import spoken, tone

DAY = date(2026, 5, 12)
HEAD = "Head pressure is 345 psi and the liquid line is 94 degrees."


def values(log: dict) -> dict[str, float]:
    return {r["quantity"]: r["value"] for r in log["readings"] if r["status"] == "current"}


def test_a_typed_note_is_heard_when_it_is_accepted_and_answered_afterwards():
    with Assistant() as assistant:
        accepted = assistant.accept(HEAD, job="print-shop", date=DAY)
        assert (accepted.job, accepted.date, accepted.new, accepted.heard) == ("print-shop", "2026-05-12", True, True)
        assert "345" in assistant.reply_to(accepted.note).say
        assert assistant.reply_to(accepted.note).say == assistant.reply_to(accepted.note).say


def test_telling_is_accepting_hearing_and_answering(slow_ears):
    with Assistant() as one, Assistant() as other:
        told = one.tell(audio=tone(440), job="print-shop", date=DAY)
        accepted = other.accept(audio=tone(440), job="print-shop", date=DAY)
        other.hear(accepted.note)
        assert other.reply_to(accepted.note) == told


def test_an_accepted_recording_is_on_the_disk_and_waits(tmp_path, slow_ears):
    with Assistant(tmp_path) as assistant:
        accepted = assistant.accept(audio=tone(440), job="print-shop", date=DAY)
        assert (accepted.heard, slow_ears.listened) == (False, [])
        assert assistant.recording_file(accepted.note).read_bytes() == tone(440)
        assert assistant.transcript(accepted.note) is None
        with pytest.raises(NoteError, match="not been heard"):
            assistant.reply_to(accepted.note)
    with Assistant(tmp_path) as assistant:
        assert assistant.waiting() == [accepted.note]
        assistant.hear(accepted.note)
        assert assistant.waiting() == []
        assert values(assistant.log("print-shop")) == {"liquid_pressure": 345.0}


def test_what_waits_is_listed_in_the_order_it_came_in(slow_ears):
    with Assistant() as assistant:
        notes = [assistant.accept(audio=tone(hz), job="a", date=DAY).note for hz in (440, 330, 550)]
        assert assistant.waiting() == notes
        assistant.hear(notes[1])
        assert assistant.waiting() == [notes[0], notes[2]]


def test_hearing_twice_listens_once_even_at_the_same_time(slow_ears):
    slow_ears.go_on.clear()
    with Assistant() as assistant:
        note = assistant.accept(audio=tone(440), job="a", date=DAY).note
        threads = [threading.Thread(target=assistant.hear, args=(note,)) for _ in range(3)]
        for thread in threads:
            thread.start()
        slow_ears.listening.wait(20)
        slow_ears.go_on.set()
        for thread in threads:
            thread.join()
        assistant.hear(note)
    assert len(slow_ears.listened) == 1


def test_while_a_recording_is_heard_typed_notes_logs_and_questions_do_not_wait(tmp_path, slow_ears):
    slow_ears.go_on.clear()
    with Assistant(tmp_path) as assistant:
        assistant.tell(HEAD, job="print-shop", date=DAY)
        note = assistant.accept(audio=tone(440), job="bakery", date=DAY).note
        hearing = threading.Thread(target=assistant.hear, args=(note,))
        hearing.start()
        assert slow_ears.listening.wait(20)
        assert "124" in assistant.tell("Suction pressure is 124 psi.", job="print-shop", date=DAY).say
        assert assistant.ask("what was the head pressure?", job="print-shop").value == 345.0
        assert values(assistant.log("print-shop"))["suction_pressure"] == 124.0
        assert not assistant.accept(audio=tone(550), job="bakery", date=DAY).heard
        assert len(assistant.jobs()) == 2 and assistant.search("suction")
        assert hearing.is_alive()
        slow_ears.go_on.set()
        hearing.join()
        assert values(assistant.log("bakery")) == {"liquid_pressure": 345.0}


def test_only_one_recording_is_heard_at_a_time(slow_ears):
    slow_ears.go_on.clear()
    with Assistant() as assistant:
        notes = [assistant.accept(audio=tone(hz), job="a", date=DAY).note for hz in (440, 330, 550)]
        threads = [threading.Thread(target=assistant.hear, args=(note,)) for note in notes]
        for thread in threads:
            thread.start()
        slow_ears.listening.wait(20)
        slow_ears.go_on.set()
        for thread in threads:
            thread.join()
    assert (slow_ears.most_at_once, len(slow_ears.listened)) == (1, 3)


def test_reading_does_not_wait_for_whoever_writes(tmp_path):
    with Assistant(tmp_path) as assistant:
        assistant.tell(HEAD, job="print-shop", date=DAY)
        with Assistant(tmp_path) as other, other._store.writing() as db:
            db.execute("INSERT INTO state VALUES ('a', 'b')")
            assert values(assistant.log("print-shop"))["liquid_pressure"] == 345.0
            assert assistant.jobs() and assistant.search("head") and assistant.waiting() == []
        with assistant._store.writing():  # and none of its own threads
            seen = []
            thread = threading.Thread(target=lambda: seen.append(assistant.log("print-shop")))
            thread.start()
            thread.join(5)
            assert seen


def test_a_failure_to_hear_leaves_the_note_waiting(slow_ears):
    slow_ears.fails = ModelError("no weights")
    with Assistant() as assistant:
        note = assistant.accept(audio=tone(440), job="a", date=DAY).note
        with pytest.raises(ModelError):
            assistant.hear(note)
        assert assistant.waiting() == [note]


def test_progress_goes_to_whoever_asked_for_it(slow_ears):
    steps = []
    with Assistant(progress=lambda *step: steps.append(("all", *step))) as assistant:
        note = assistant.accept(audio=tone(440), job="a", date=DAY).note
        assistant.hear(note, progress=lambda *step: steps.append(("mine", *step)))
    assert steps[-1] == ("mine", "listening", 1.0, 1.0) and not [step for step in steps if step[0] == "all"]


def test_what_was_heard_while_it_was_spoken_is_kept_without_listening_again(slow_ears):
    with Assistant() as assistant:
        note = assistant.accept(audio=tone(440), job="a", date=DAY).note
        assert assistant.heard(note, spoken("Suction is 118 psi.")).is_heard
        assistant.hear(note)
        assert slow_ears.listened == []
        assert values(assistant.reply_to(note).log) == {"suction_pressure": 118.0}


@pytest.mark.parametrize("look", ["note_told", "transcript", "recording_file", "reply_to", "hear"])
def test_a_note_that_is_not_there_is_a_clear_error(look):
    with Assistant() as assistant, pytest.raises(NoSuchNote, match="abc"):
        getattr(assistant, look)("abc")


def test_a_typed_note_has_no_recording():
    with Assistant() as assistant:
        note = assistant.accept(HEAD, job="a").note
        with pytest.raises(NoteError, match="typed"):
            assistant.recording_file(note)
        assert assistant.transcript(note).text == HEAD


def test_a_recording_that_is_none_is_refused_and_begins_no_job():
    with Assistant() as assistant:
        with pytest.raises(RecordingError):
            assistant.accept(audio=b"no sound at all", job="a", client_id=str(uuid4()))
        assert assistant.jobs() == []


# ---------------------------------------------------------------- ids that phones make


@pytest.mark.parametrize("given", [{"text": HEAD}, {"audio": tone(440)}], ids=["typed", "recorded"])
def test_the_same_id_again_is_the_same_note_whatever_the_job_and_day_are_by_then(tmp_path, slow_ears, given):
    with Assistant(tmp_path) as assistant:
        first = assistant.accept(**given, job="print-shop", date=DAY, client_id="one", by="Ana")
        assistant.accept("Suction is 118 psi.", job="bakery", client_id="two", by="Ana")
        again = assistant.accept(**given, client_id="one", by="Ana")
    assert (first.new, again.new) == (True, False)
    assert (again.note, again.job, again.date) == (first.note, "print-shop", "2026-05-12")


def test_an_id_with_other_content_is_a_conflict_and_changes_nothing(slow_ears):
    with Assistant() as assistant:
        assistant.accept(HEAD, job="a", date=DAY, client_id="one")
        before = assistant.log("a")
        for other in ({"text": "Head is 346 psi."}, {"audio": tone(440)}):
            with pytest.raises(NoteConflict, match="one"):
                assistant.accept(**other, job="a", date=DAY, client_id="one")
        assert assistant.log("a") == before and assistant.waiting() == []


def test_a_turn_said_twice_under_two_ids_is_two_notes_and_under_one_is_one():
    with Assistant() as assistant:
        assistant.accept("Head pressure is 345 psi.", job="a", date=DAY)
        notes = [assistant.accept("94", job="a", date=DAY, client_id=each).note for each in ("x", "y", "x", "y")]
    assert notes[0] != notes[1] and notes[:2] == notes[2:]


def test_two_who_send_the_same_id_at_once_make_one_note(tmp_path):
    with Assistant(tmp_path) as assistant, Assistant(tmp_path) as other:
        found = []

        def send(door: Assistant) -> None:
            found.append(door.accept("94", job="a", date=DAY, client_id="one"))

        threads = [threading.Thread(target=send, args=(door,)) for door in (assistant, other) * 4]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert len({each.note for each in found}) == 1
        assert [each.new for each in found].count(True) == 1


@pytest.mark.parametrize("client_id", ["", "x" * 101, "a\nb"])
def test_an_id_that_is_none_is_refused(client_id):
    with Assistant() as assistant, pytest.raises(NoteError, match="id of a note"):
        assistant.accept(HEAD, client_id=client_id)


# ---------------------------------------------------------------- who tells


def test_each_person_has_a_current_job_of_their_own():
    with Assistant() as assistant:
        assistant.tell(HEAD, job="print-shop", by="Ana")
        assistant.tell(HEAD, job="bakery", by="Bo")
        assert assistant.accept("Suction pressure is 118 psi.", by="Ana").job == "print-shop"
        assert assistant.accept("Suction pressure is 118 psi.", by="Bo").job == "bakery"
        assert (assistant.current_job(), assistant.current_job("Ana")) == (None, "print-shop")
        assert assistant.open_job("Bakery", by="Ana") == "bakery" == assistant.current_job("Ana")


def test_a_note_keeps_who_told_it():
    with Assistant() as assistant:
        note = assistant.accept(HEAD, job="a", by="  Ana   Lee ").note
        assert assistant.note_told(note).by == "Ana Lee"
        with pytest.raises(NoteError, match="name"):
            assistant.accept(HEAD, job="a", by="x" * 61)


def test_a_job_begun_in_a_recording_is_its_tellers_current_one_once_it_is_heard(slow_ears):
    slow_ears.says = "New job at the corner bakery."
    with Assistant() as assistant:
        assistant.tell(HEAD, job="print-shop", by="Ana")
        assistant.tell(HEAD, job="print-shop", by="Bo")
        note = assistant.accept(audio=tone(440), by="Ana").note
        assert assistant.current_job("Ana") == "print-shop"
        assistant.hear(note)
        assert "bakery" in assistant.current_job("Ana")
        assert assistant.current_job("Bo") == "print-shop"


def test_a_recording_told_to_a_job_by_name_moves_nobody(slow_ears):
    slow_ears.says = "New job at the corner bakery."
    with Assistant() as assistant:
        assistant.hear(assistant.accept(audio=tone(440), job="print-shop", by="Ana").note)
        assert assistant.current_job("Ana") == "print-shop"


def test_what_was_asked_before_is_each_persons_own():
    with Assistant() as assistant:
        assistant.tell("Upstairs unit, suction pressure 120. Downstairs unit, suction pressure 130.", job="flat")
        assert assistant.ask("what was the suction pressure upstairs?", job="flat", by="Ana").value == 120.0
        assert assistant.ask("and downstairs?", job="flat", by="Ana").value == 130.0
        assert assistant.ask("what was the suction pressure upstairs?", job="flat", by="Bo").value == 120.0


def test_the_same_transcript_kept_from_two_threads_at_once_is_one(tmp_path, slow_ears):
    with Assistant(tmp_path) as assistant:
        note = assistant.accept(audio=tone(440), job="a", date=DAY).note
        heard = spoken("Suction is 118 psi.")
        threads = [threading.Thread(target=assistant.heard, args=(note, heard)) for _ in range(8)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert assistant._store.db.table("transcript").count == 1


def test_many_who_tell_ask_correct_and_delete_at_once_leave_a_whole_store(tmp_path, slow_ears):
    failed = []
    with Assistant(tmp_path) as assistant:

        def work(number: int) -> None:
            try:
                for each in range(6):
                    job = f"job {each % 3}"
                    note = assistant.accept(f"Suction pressure is {100 + number}{each} psi.", job=job, date=DAY).note
                    said = {"quantity": "suction_pressure", "said": f"Suction pressure is {100 + number}{each} psi"}
                    assistant.correct(note, action="confirm" if each % 2 else "discard", by="Ana", **said)
                    assistant.ask("what was the suction pressure?", job=job, by=str(number))
                    assert assistant.log(job)["readings"] and assistant.search("suction", system="main")
                    own = f"own {number}"
                    assistant.hear(assistant.accept(audio=tone(300 + 10 * number + each), job=own, date=DAY).note)
                assistant.forget(f"own {number}", by="Ana")
            except Exception as err:
                failed.append(err)

        threads = [threading.Thread(target=work, args=(number,)) for number in range(5)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(120)
            assert not thread.is_alive()
        assert failed == []
        assert [line["notes"] for line in assistant.jobs()] == [10, 10, 10]
        assert assistant.reread().changed == ()
    assert checking.status(tmp_path, full=True).faults == ()

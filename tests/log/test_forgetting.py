"""What is deleted is really gone, by one path alone, and the store says that something was."""

from __future__ import annotations

import sqlite3
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from assistant import Assistant
from assistant.errors import JobForgotten, NoSuchJob, NoSuchNote, NoteError, StoreError
from assistant.log import checking, forgetting, recordings
from assistant.log.store import Store
from assistant.settings import Settings
from tests.door.sounds import spoken, tone

DAY = date(2026, 5, 12)
SECRET = "quetzalcoatl"  # a word that stands nowhere else
JPEG = b"\xff\xd8\xff\xe0 a photo"


def filled(home: Path | None) -> Assistant:
    """Two jobs; the print shop's notes, photo, correction, question and recordings hold the secret word."""
    assistant = Assistant(home)
    text = f"Head pressure is 345 psi, and the {SECRET} is loud."
    note = assistant.accept(text, job=f"Print shop {SECRET}", date=DAY, client_id="typed", by="Ana").note
    assistant.reply_to(note)
    assistant.correct(note, quantity="liquid_pressure", said="Head pressure is 345 psi", action="discard", by="Ana")
    assistant.attach(note, JPEG, "Ana")
    spoke = assistant.accept(audio=tone(440), job=f"Print shop {SECRET}", date=DAY, client_id="spoken", by="Ana").note
    assistant.heard(spoke, spoken(f"suction is 118 at the {SECRET}"))
    both = assistant.accept(audio=tone(550), job=f"Print shop {SECRET}", date=DAY).note
    assistant.heard(both, spoken("supply 55"))
    assistant.heard(assistant.accept(audio=tone(550), job="bakery", date=DAY).note, spoken("supply 55"))
    assistant.accept("Head pressure is 350 psi.", job="bakery", date=DAY)
    assistant.ask(f"what about the {SECRET}?", job=f"Print shop {SECRET}", by="Ana")
    assistant.ask(f"what about the {SECRET}?")
    assistant.jobs()
    return assistant


def everything_in(home: Path) -> bytes:
    return b"\n".join(file.read_bytes() for file in sorted(home.rglob("*")) if file.is_file())


def test_of_a_forgotten_job_no_word_no_file_and_no_page_is_left(tmp_path):
    assistant = filled(tmp_path)
    name = f"print shop {SECRET}"
    assert SECRET.encode() in everything_in(tmp_path)
    other = assistant.log("bakery")
    done = assistant.forget(name, by="Bo")
    assert (done.notes, done.files, done.copies) == (3, 2, ())
    found = everything_in(tmp_path).lower()  # while it is still open, write-ahead log and all
    assert SECRET.encode() not in found and SECRET[4:].encode() not in found
    assert assistant.search(SECRET) == [] and len(assistant.search()) == 2
    assert [line["id"] for line in assistant.jobs()] == ["bakery"] and assistant.log("bakery") == other
    assert sorted(file.read_bytes() for file in (tmp_path / "recordings").rglob("*.wav")) == [tone(550)]
    assert list((tmp_path / "attachments").rglob("*.jpg")) == []
    assistant.close()
    assert checking.status(tmp_path, full=True).faults == ()


def test_the_store_says_when_and_by_whom_but_not_what(tmp_path):
    assistant = filled(tmp_path)
    assistant.forget(f"print shop {SECRET}", by="Bo")
    with pytest.raises(JobForgotten, match=f"deleted on {date.today().isoformat()} by Bo"):
        assistant.log(f"Print-Shop {SECRET}")
    with pytest.raises(NoSuchJob, match="No job called 'bank'"):
        assistant.log("bank")
    stone = assistant._store.tombstones()[0]
    assert (stone.by, stone.notes) == ("Bo", 3)
    for sql in ("UPDATE forgotten SET by = 'x'", "DELETE FROM forgotten", "DELETE FROM not_again"):
        with pytest.raises(sqlite3.IntegrityError, match="never"):
            assistant._store.db.execute(sql)


def test_a_phone_that_sends_a_deleted_note_again_does_not_bring_it_back(tmp_path):
    assistant = filled(tmp_path)
    assistant.forget(f"print shop {SECRET}", by="Bo")
    for given in ({"text": f"Head pressure is 345 psi, and the {SECRET} is loud.", "client_id": "typed"},
                  {"audio": tone(440), "client_id": "spoken"}):  # fmt: skip
        with pytest.raises(NoteError, match="has been deleted"):
            assistant.accept(**given, job="bakery")
    assert len(assistant.search()) == 2


def test_a_job_of_that_name_can_be_begun_anew(tmp_path):
    assistant = filled(tmp_path)
    assistant.forget(f"print shop {SECRET}", by="Bo")
    assistant.tell("Head pressure is 340 psi.", job=f"print shop {SECRET}", date=DAY)
    assert [r["value"] for r in assistant.log(f"print shop {SECRET}")["readings"]] == [340.0]
    assert assistant.forget(f"print shop {SECRET}", by="Bo").notes == 1


def test_it_works_without_a_home_and_for_a_job_with_no_note():
    assistant = filled(None)
    assert assistant.forget(f"print shop {SECRET}", by="Bo").notes == 3
    assistant.open_job("empty")
    assert assistant.forget("empty", by="Bo").notes == 0
    assert assistant._store.db.table("forgetting").count == 0


def test_a_deletion_takes_a_name_and_a_job(tmp_path):
    assistant = filled(tmp_path)
    with pytest.raises(NoteError, match="name"):
        assistant.forget("bakery", by=" ")
    with pytest.raises(NoSuchJob):
        assistant.forget("bank", by="Bo")
    assert len(assistant.jobs()) == 2


def test_what_is_being_heard_when_its_job_is_deleted_stays_deleted(tmp_path):
    assistant = filled(tmp_path)
    note = assistant.accept(audio=tone(660), job="bakery").note
    assistant.forget("bakery", by="Bo")
    for again in (lambda: assistant.heard(note, spoken("head 345")), lambda: assistant.hear(note)):
        with pytest.raises(NoSuchNote):
            again()
    assert assistant.waiting() == []


# ---------------------------------------------------------------- no other path


@pytest.mark.parametrize("table", ["note", "transcript", "recording", "sent", "correction", "attachment"])
def test_rows_of_a_job_that_is_not_being_deleted_cannot_be_removed(tmp_path, table):
    store = filled(tmp_path)._store
    with pytest.raises(StoreError, match="never removed"), store.writing() as db:
        notes = store.db.execute("SELECT count(*) FROM note WHERE job = 'bakery'").fetchone()[0]
        stone = (
            db.table("forgotten").insert({"salt": "", "key_hash": "", "by": "x", "at": "", "notes": notes}).last_rowid
        )
        db.execute("INSERT INTO forgetting VALUES ('bakery', ?)", (stone,))
        db.execute(f"DELETE FROM {table}")  # the print shop's too


def test_a_deletion_without_a_tombstone_of_its_own_or_not_whole_is_refused(tmp_path):
    assistant = filled(tmp_path)
    assistant.open_job("empty")
    assistant.forget("empty", by="Bo")
    store = assistant._store
    for stone in (None, 1, 99):  # none, another job's, one that is not there
        with pytest.raises(sqlite3.IntegrityError):
            store.db.execute("INSERT INTO forgetting VALUES ('bakery', ?)", (stone,))
    row = {"salt": "", "key_hash": "", "by": "x", "at": "", "notes": 2}
    stone = store.db.table("forgotten").insert(row).last_rowid
    store.db.execute("INSERT INTO forgetting VALUES ('bakery', ?)", (stone,))
    with pytest.raises(sqlite3.IntegrityError, match="whole"):
        store.db.execute("DELETE FROM forgetting")


# ---------------------------------------------------------------- cut off, and in use


def test_a_deletion_cut_off_before_the_files_are_gone_is_finished_later(tmp_path, monkeypatch):
    assistant = filled(tmp_path)
    monkeypatch.setattr(forgetting, "finish", lambda store: 0)
    assistant.forget(f"print shop {SECRET}", by="Bo")
    monkeypatch.undo()
    assert len(list((tmp_path / "recordings").rglob("*.wav"))) == 2
    assert forgetting.finish(assistant._store) == 2
    assert [file.read_bytes() for file in (tmp_path / "recordings").rglob("*.wav")] == [tone(550)]
    assert forgetting.finish(assistant._store) == 0


def test_a_recording_told_again_before_its_file_was_deleted_keeps_it(tmp_path, monkeypatch):
    assistant = filled(tmp_path)
    monkeypatch.setattr(forgetting, "finish", lambda store: 0)
    assistant.forget(f"print shop {SECRET}", by="Bo")
    monkeypatch.undo()
    note = assistant.accept(audio=tone(440), job="bakery").note
    forgetting.finish(assistant._store)
    assert assistant.recording_file(note).read_bytes() == tone(440)


def test_a_recording_deleted_while_it_is_told_again_is_written_again(tmp_path, monkeypatch):
    store = Store(tmp_path)
    real = recordings.keep

    def kept_and_deleted(*given):
        real(*given).unlink()
        monkeypatch.undo()

    monkeypatch.setattr(recordings, "keep", kept_and_deleted)
    store.keep_recording("a" * 64, "wav", b"x", 1.0)
    assert store.recording_file("a" * 64).read_bytes() == b"x"


def test_another_program_that_keeps_reading_is_named_and_nothing_is_undone(tmp_path, monkeypatch):
    monkeypatch.setattr(forgetting, "BUSY_S", 0.2)
    assistant = filled(tmp_path)
    other = Store(tmp_path)
    with other.reading():
        assert other.rows("SELECT count(*) AS n FROM note")[0]["n"] == 5
        with pytest.raises(StoreError, match="deleted, but another program.*check --mend"):
            assistant.forget(f"print shop {SECRET}", by="Bo")
    assert [line["id"] for line in assistant.jobs()] == ["bakery"]
    forgetting.wipe(assistant._store)
    assert SECRET.encode() not in everything_in(tmp_path)


def test_damaged_stores_that_were_set_aside_are_named_as_copies(tmp_path):
    assistant = filled(tmp_path)
    aside = tmp_path / "superheard.db.damaged-20260101-000000"
    aside.write_bytes(b"x")
    assert assistant.forget("bakery", by="Bo").copies == (aside,)


# ---------------------------------------------------------------- recordings by age


def test_old_recordings_are_deleted_and_their_words_kept(tmp_path):
    with filled(tmp_path) as assistant:
        before = assistant.log("bakery")
    waits = Store(tmp_path)
    waits.keep_recording("a" * 64, "wav", b"not heard yet", 1.0)
    note = waits.add_note("bakery", "2026-05-12", recording="a" * 64)
    later = datetime.now().astimezone() + timedelta(days=31)
    assert forgetting.expire(waits, 32, "Bo", later) == []
    assert len(forgetting.expire(waits, 30, "Bo", later)) == 2
    assert forgetting.expire(waits, 30, "Bo", later) == []
    assert [file.read_bytes() for file in (tmp_path / "recordings").rglob("*.wav")] == [b"not heard yet"]
    assert waits.recording_file(note.recording).exists()
    waits.close()
    with Assistant(tmp_path) as assistant:
        assert assistant.log("bakery") == before
        again = assistant.reread(listen=True)  # what is gone is no failure; the one that waits is no sound
        assert len(again.failed) == 1 and "not heard yet" not in again.failed[0]
        gone = assistant.search("supply", job="bakery")[0]
        with pytest.raises(StoreError, match="deleted .* by age"):
            assistant.recording_file(gone.note)
        again = assistant.accept(audio=tone(550), job="bakery")
        assert not again.new and list((tmp_path / "recordings").rglob("*.wav")) == [waits.recording_file("a" * 64)]
        other = assistant.accept(audio=tone(550), job="garage")
        assert other.new and other.heard and assistant.transcript(other.note).text == "supply 55"
    assert [fault for fault in checking.status(tmp_path).faults if "missing" in fault] == []


def test_the_setting_rules_and_by_default_everything_is_kept(tmp_path):
    filled(tmp_path).close()
    with Assistant(tmp_path) as assistant:
        assert assistant.expire() == 0
    with Assistant(tmp_path, settings=Settings(keep_recordings_days=1)) as assistant:
        assert assistant.expire() == 0  # nothing is that old yet
    assert len(list((tmp_path / "recordings").rglob("*.wav"))) == 2

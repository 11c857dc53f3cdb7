"""The store keeps what was told, whole and unchanged, whatever happens to the machine."""

from __future__ import annotations

import hashlib
import os
import sqlite3
import subprocess
import sys
import threading
from contextlib import contextmanager

import pytest

from assistant.errors import NoSuchJob, StoreError
from assistant.log import recordings
from assistant.log.store import DATABASE, Store, note_id
from assistant.records import Transcript, Unclear, Word

RAW = b"OggS" + bytes(range(256)) * 40
SHA = hashlib.sha256(RAW).hexdigest()
HEARD = Transcript(
    "Head pressure 345.",
    (Word("Head", 0.5, 0.7, 0.98), Word("pressure", 0.7, 1.1, 0.97), Word("345.", 1.2, 1.9, 0.91)),
    (Unclear(2.0, 3.5, "thank you", "no_speech"),),
    3.5,
    "base",
)


@pytest.fixture
def store(tmp_path):
    opened = Store(tmp_path)
    yield opened
    opened.close()


def told_recording(store: Store, job: str = "print-shop"):
    job = store.open_job(job)
    store.keep_recording(SHA, ".ogg", RAW, 3.5)
    return store.add_note(job, "2026-05-12", recording=SHA)


def test_what_was_told_is_there_after_closing_and_opening_again(tmp_path):
    store = Store(tmp_path)
    note = store.add_transcript(told_recording(store), HEARD)
    store.close()
    again = Store(tmp_path)
    assert again.notes("print-shop") == [note]
    assert again.transcript(note) == HEARD
    assert again.recording_file(SHA).read_bytes() == RAW
    again.close()


def test_a_store_without_a_home_writes_nothing_to_disk(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    store = Store(None)
    told_recording(store)
    store.close()
    assert list(tmp_path.iterdir()) == []


def test_every_commit_is_flushed_to_the_disk(store):
    assert store.db.execute("PRAGMA synchronous").fetchone()[0] == 2  # FULL
    assert store.db.execute("PRAGMA journal_mode").fetchone()[0] == "wal"


def test_the_same_recording_is_one_file_one_row_and_one_note(store):
    first, second = told_recording(store), told_recording(store)
    assert first == second
    assert len(list((store.home / "recordings").rglob("*.ogg"))) == 1
    assert store.db.table("recording").count == store.db.table("note").count == 1


def test_the_same_words_are_the_same_note_only_for_the_same_job_and_date():
    ids = {note_id(job, date, "head 345", None) for job in ("a", "b") for date in ("2026-05-12", "2026-05-13")}
    assert len(ids) == 4
    assert note_id("a", "2026-05-12", "head 345", None) in ids
    assert note_id("a", "2026-05-12", "head 345", None, again=1) not in ids


def test_a_recording_is_the_same_note_whatever_the_date():
    assert note_id("a", "2026-05-12", None, SHA) == note_id("a", "2026-05-19", None, SHA)


def test_notes_are_ordered_by_date_and_then_as_they_came_in(store):
    job = store.open_job("print-shop")
    for date, text in (("2026-05-20", "c"), ("2026-05-12", "a"), ("2026-05-20", "d"), ("2026-05-12", "b")):
        store.add_note(job, date, text=text)
    assert [note.text for note in store.notes(job)] == ["a", "b", "c", "d"]


def test_the_newest_transcript_rules_and_the_older_one_stays(store):
    note = store.add_transcript(told_recording(store), HEARD)
    better = Transcript("Head pressure 354.", model="by hand")
    note = store.add_transcript(note, better)
    assert store.transcript(note) == better
    assert store.add_transcript(note, better) == note
    assert store.db.table("transcript").count == 2


@pytest.mark.parametrize("table", ["recording", "note", "transcript"])
def test_what_was_told_can_be_neither_changed_nor_removed(store, table):
    store.add_transcript(told_recording(store), HEARD)
    column = store.db.table(table).columns[-1].name
    rows = list(store.db.table(table).rows)
    attempts = [
        f"UPDATE {table} SET {column} = 'x'",
        f"DELETE FROM {table}",
        f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}",
    ]
    for sql in attempts:
        with pytest.raises(sqlite3.IntegrityError, match="never"):
            store.db.execute(sql)
    assert list(store.db.table(table).rows) == rows


def test_a_job_is_found_whatever_the_case_spaces_and_hyphens(store):
    assert store.open_job("  Print  shop ") == "Print shop"
    assert store.open_job("print-shop") == store.job("PRINT_SHOP") == "Print shop"
    assert store.job_names() == ["Print shop"]


def test_a_job_that_is_not_there_is_named_with_those_that_are(store):
    store.open_job("bakery")
    with pytest.raises(NoSuchJob, match="bakery"):
        store.job("bank")


@pytest.mark.parametrize("name", ["", "   ", "---", "x" * 201, "print\x1b[31mshop"])
def test_a_name_that_cannot_be_a_jobs_is_refused(store, name):
    with pytest.raises(StoreError, match="name"):
        store.open_job(name)


# ---------------------------------------------------------------- interrupted

CRASHES = {
    "before the recording has its name": "recordings.os.replace = die",
    "before the recording is flushed": "recordings.os.fsync = die",
    "between the recording and its row": "recordings.keep = lambda *a, keep=recordings.keep: die(keep(*a))",
    "between the recording's row and the note": "Store.add_note = die",
    "in the middle of the note's transaction": "store_module.now = once_then_die",
}
SCRIPT = """
import os, sys
from pathlib import Path
from assistant.log import recordings, store as store_module
from assistant.log.store import Store
def die(*args, **kwargs):
    os._exit(9)
calls = []
def once_then_die(now=store_module.now):
    calls.append(1)
    return now() if len(calls) < 3 else die()
raw = bytes.fromhex(sys.argv[2])
store = Store(Path(sys.argv[1]))
{crash}
store.open_job("print-shop")
store.keep_recording(sys.argv[3], ".ogg", raw, 3.5)
store.add_note("print-shop", "2026-05-12", recording=sys.argv[3])
print("acknowledged", flush=True)
"""


@pytest.mark.parametrize("crash", CRASHES.values(), ids=CRASHES.keys())
def test_a_machine_that_dies_half_way_leaves_no_half_note_and_telling_again_works(tmp_path, crash):
    command = [sys.executable, "-c", SCRIPT.replace("{crash}", crash), str(tmp_path), RAW.hex(), SHA]
    died = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert died.returncode == 9, died.stderr
    assert "acknowledged" not in died.stdout

    store = Store(tmp_path)
    assert all(store.recording_file(row["recording"]).exists() for row in store.rows("SELECT recording FROM note"))
    for row in store.rows("SELECT sha256 FROM recording"):  # a row never promises a file that is not whole
        assert recordings.is_whole(store.recording_file(row["sha256"]), row["sha256"])
    note = told_recording(store)
    assert store.notes("print-shop") == [note]
    assert store.recording_file(SHA).read_bytes() == RAW
    store.close()


def test_an_acknowledged_note_outlives_the_process(tmp_path):
    script = SCRIPT.replace("{crash}", "") + "\nos._exit(9)\n"
    subprocess.run([sys.executable, "-c", script, str(tmp_path), RAW.hex(), SHA], capture_output=True, timeout=60)
    store = Store(tmp_path)
    assert [note.recording for note in store.notes("print-shop")] == [SHA]
    store.close()


def test_a_recording_cut_short_on_the_disk_is_put_right_when_it_is_told_again(store):
    told_recording(store)
    store.recording_file(SHA).write_bytes(RAW[:100])
    told_recording(store)
    assert store.recording_file(SHA).read_bytes() == RAW


def test_a_transaction_that_fails_leaves_nothing_behind(store):
    with pytest.raises(ZeroDivisionError), store.writing() as db:
        db.execute("INSERT INTO state VALUES ('a', 'b')")
        raise ZeroDivisionError
    assert store.state("a") is None


# ---------------------------------------------------------------- a disk that will not have it


@contextmanager
def as_an_ordinary_user():
    """Root may write anywhere, so the tests that mind permissions step down for a moment."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


def test_a_folder_that_cannot_be_written_is_a_clear_error(tmp_path):
    folder = tmp_path / "locked"
    folder.mkdir()
    folder.chmod(0o555)
    for each in (tmp_path, *tmp_path.parents):
        if each.stat().st_uid == os.geteuid() and not each.stat().st_mode & 0o001:
            each.chmod(each.stat().st_mode | 0o001)
    with as_an_ordinary_user():
        with pytest.raises(StoreError, match="cannot be written.*--home"):
            Store(folder / "home")
        with pytest.raises(StoreError, match="cannot be written.*--home"):
            Store(folder)


def test_a_file_where_the_folder_should_be_is_a_clear_error(tmp_path):
    (tmp_path / "home").write_text("not a folder")
    for home in (tmp_path / "home", tmp_path / "home" / "deeper"):
        with pytest.raises(StoreError, match="a file is in the way"):
            Store(home)


def test_a_full_database_is_a_clear_error_and_loses_nothing_told_before(store):
    note = told_recording(store)
    pages = store.db.execute("PRAGMA page_count").fetchone()[0]
    store.db.execute(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(StoreError, match="full"):
        store.add_note("print-shop", "2026-05-12", text="long " * 20_000)
    assert store.notes("print-shop") == [note]


def test_a_full_disk_is_a_clear_error_and_leaves_no_part_of_a_recording(store, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(recordings.os, "fsync", full)
    with pytest.raises(StoreError, match="full"):
        told_recording(store)
    assert [file for file in (store.home / "recordings").rglob("*") if file.is_file()] == []
    assert store.notes("print-shop") == []


def test_a_store_that_another_program_holds_is_a_clear_error(tmp_path, monkeypatch):
    monkeypatch.setattr("assistant.log.connection.BUSY_S", 0.05)
    store, other = Store(tmp_path), Store(tmp_path)
    with other.writing() as db, pytest.raises(StoreError, match="in use by another program"):
        db.execute("INSERT INTO state VALUES ('a', 'b')")
        store.open_job("print-shop")
    store.close()
    other.close()


def test_two_programs_that_tell_at_once_wait_for_each_other(tmp_path):
    def tell(number: int) -> None:
        store = Store(tmp_path)
        job = store.open_job("print-shop")
        for each in range(10):
            store.add_note(job, "2026-05-12", text=f"{number} {each}")
        store.close()

    threads = [threading.Thread(target=tell, args=(number,)) for number in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    store = Store(tmp_path)
    assert len(store.notes("print-shop")) == 30
    store.close()


@pytest.mark.parametrize("junk", [b"not a database at all, " * 100, b"SQLite format 3\0" + b"\xff" * 4000])
def test_a_damaged_database_is_a_clear_error_that_names_the_command_that_mends_it(tmp_path, junk):
    (tmp_path / DATABASE).write_bytes(junk)
    with pytest.raises(StoreError, match="damaged.*superheard check --mend"):
        Store(tmp_path)

"""What is wrong with a store is found and named, what can be made again is, and nothing told is touched."""

from __future__ import annotations

import hashlib
import os
import sqlite3
import time
from datetime import date

import pytest

from assistant import Assistant
from assistant.errors import RecordingError, StoreError
from assistant.log import checking, forgetting, mend
from assistant.log.store import DATABASE, Store
from tests.door.sounds import spoken, tone

DAY = date(2026, 5, 12)
HEAD = "Head pressure is 345 psi and the liquid line is 94 degrees."
JPEG = b"\xff\xd8\xff\xe0 a photo"


@pytest.fixture
def home(tmp_path):
    """A job with a typed note, a recording that was heard, one that waits, and a photo."""
    with Assistant(tmp_path) as assistant:
        note = assistant.accept(HEAD, job="print-shop", date=DAY).note
        assistant.attach(note, JPEG, "Ana")
        heard = assistant.accept(audio=tone(440), job="print-shop", date=DAY).note
        assistant.heard(heard, spoken("suction is 118 psi"))
        assistant.accept(audio=tone(550), job="print-shop", date=DAY)
        assistant.log("print-shop")
    return tmp_path


def file_of(home, raw: bytes):
    sha256 = hashlib.sha256(raw).hexdigest()
    return next(home.glob(f"*/{sha256[:2]}/{sha256}.*"))


def changed(home, sql: str, *values) -> None:
    """Change the database behind its back: what a fault in the disk may do, triggers or not."""
    conn = sqlite3.connect(home / DATABASE)
    for (name,) in conn.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        conn.execute(f"DROP TRIGGER {name}")
    conn.execute(sql, values)
    conn.commit()
    conn.close()


def test_a_whole_store_has_neither_faults_nor_notices(home):
    state = checking.status(home, full=True)
    assert (state.faults, state.notices, state.jobs, state.notes, state.waiting) == ((), (), 1, 3, 1)
    assert mend.put_right(home) == []


@pytest.mark.parametrize(
    ("raw", "advice"),
    [(tone(440), "its transcript is safe"), (tone(550), "not transcribed yet"), (JPEG, "Attach that photo again")],
    ids=["heard", "waiting", "photo"],
)
def test_a_file_deleted_or_altered_by_hand_is_named_with_its_note(home, raw, advice):
    file = file_of(home, raw)
    kept = file.read_bytes()
    file.write_bytes(kept[:-1] + b"\xff")
    assert checking.status(home).faults == ()  # the size is right
    (fault,) = checking.status(home, full=True).faults
    assert str(file) in fault and "print-shop, 2026-05-12" in fault and "is altered" in fault and advice in fault
    file.unlink()
    (fault,) = checking.status(home).faults
    assert "is missing" in fault and advice in fault


def test_a_recording_deleted_by_hand_hurts_nothing_else_and_telling_it_again_puts_it_back(home):
    file = file_of(home, tone(550))
    file.unlink()
    with Assistant(home) as assistant:
        with pytest.raises(StoreError, match="not on this disk"):
            assistant.hear(assistant.waiting()[0])
        assert assistant.log("print-shop")["readings"]
        assert not assistant.accept(audio=tone(550), job="print-shop", date=DAY).new
    assert checking.status(home, full=True).faults == ()


def test_files_no_note_speaks_of_are_named_and_set_aside(home):
    strays = [home / "recordings" / "ab" / ("ab" * 32 + ".wav"), home / "attachments" / "cd" / ("cd" * 32 + ".jpg")]
    for stray in strays:
        stray.parent.mkdir(exist_ok=True)
        stray.write_bytes(b"never acknowledged")
    state = checking.status(home)
    assert state.faults == () and "2 files that no note speaks of" in state.notices[0]
    (done,) = mend.put_right(home)
    assert "moved 2 files" in done and sorted(f.name for f in (home / "untold").iterdir()) == sorted(
        s.name for s in strays
    )
    assert checking.status(home, full=True).notices == ()
    assert file_of(home, tone(440)).exists() and file_of(home, JPEG).exists()


def test_what_was_never_written_whole_is_deleted_once_it_is_old(home):
    part = home / "recordings" / "ab" / ".part-xyz"
    part.parent.mkdir(exist_ok=True)
    part.write_bytes(b"half")
    assert mend.put_right(home) == []  # somebody may be writing it
    os.utime(part, (time.time() - 7200,) * 2)
    assert "never written whole" in checking.status(home).notices[0]
    assert "deleted 1 files" in mend.put_right(home)[0] and not part.exists()


@pytest.mark.parametrize("sql", ["DELETE FROM said", "INSERT INTO said (rowid, text) VALUES (77, 'x')"])
def test_words_for_searching_that_are_out_of_step_are_made_again(home, sql):
    changed(home, sql)
    assert "searching" in checking.status(home).faults[0]
    assert mend.put_right(home)
    assert checking.status(home, full=True).faults == ()
    with Assistant(home) as assistant:
        assert len(assistant.search()) == 2 and assistant.search("suction")[0].start_s == 0.0


def test_notes_that_are_not_as_many_as_were_counted_are_counted_again(home):
    changed(home, "UPDATE tally SET notes = 7")
    assert "counted" in checking.status(home, full=True).faults[0]
    assert mend.put_right(home)
    with Assistant(home) as assistant:
        assert [(job["notes"], job["first"], job["last"]) for job in assistant.jobs()] == [
            (3, "2026-05-12", "2026-05-12")
        ]


def test_a_log_that_cannot_be_read_is_thrown_away_and_worked_out_again(home):
    with Assistant(home) as assistant:
        before = assistant.log("print-shop")
    changed(home, "UPDATE derived SET log_json = x'00ff00'")
    assert "cannot be read" in checking.status(home, full=True).faults[0]
    assert mend.put_right(home)
    with Assistant(home) as assistant:
        assert assistant.log("print-shop") == before


def test_a_note_or_transcript_altered_on_the_disk_is_named(home):
    changed(home, "UPDATE note SET text = replace(text, '345', '354')")
    assert checking.status(home).faults == ()
    (fault,) = checking.status(home, full=True).faults
    assert "of print-shop (2026-05-12) is altered" in fault
    changed(home, "UPDATE transcript SET content = 'no json'")
    assert any("transcript of note" in fault for fault in checking.status(home, full=True).faults)


def test_a_deletion_that_was_cut_off_is_named_and_finished(home, monkeypatch):
    with Assistant(home) as assistant:
        monkeypatch.setattr(forgetting, "finish", lambda store: 0)
        monkeypatch.setattr(forgetting, "wipe", lambda store: None)
        assistant.forget("print-shop", by="Ana")
        monkeypatch.undo()
    assert "deletion was cut off" in checking.status(home).faults[0]
    assert "finished a deletion that was cut off; 3 files" in mend.put_right(home)[0]
    state = checking.status(home, full=True)
    assert state.faults == () and "1 jobs were deleted" in state.notices[0] and "by Ana" in state.notices[0]
    assert HEAD.encode() not in b"".join(f.read_bytes() for f in home.glob(f"{DATABASE}*"))


def test_a_clock_set_back_is_named_and_loses_and_reorders_nothing(home, monkeypatch):
    monkeypatch.setattr("assistant.log.store.now", lambda: "2031-01-01T00:00:00+00:00")
    with Assistant(home) as assistant:
        assistant.accept("Superheat is 12.", job="print-shop", date=DAY)
    monkeypatch.undo()
    with Assistant(home) as assistant:
        assistant.accept("Subcool is 9.", job="print-shop", date=DAY)
        assert [hit.snippet for hit in assistant.search()][:2] == ["Subcool is 9.", "Superheat is 12."]
    changed(home, "DELETE FROM note WHERE text = 'Subcool is 9.'")
    assert "clock" in checking.status(home).notices[-1]


def test_looking_changes_nothing(home):
    changed(home, "DELETE FROM said WHERE rowid = 1")
    before = {file: file.read_bytes() for file in home.rglob("*") if file.is_file()}
    checking.status(home, full=True)
    after = {file: file.read_bytes() for file in home.rglob("*") if file.is_file() and "db-" not in file.name}
    assert {file: raw for file, raw in before.items() if "db-" not in file.name} == after


def test_a_damaged_store_with_names_corrections_and_photos_is_saved_whole_where_it_can_be_read(home):
    with Assistant(home) as assistant:
        note = assistant.accept("Suction is 120 psi.", job="bakery", client_id="one", by="Ana").note
        assistant.correct(note, quantity="suction_pressure", said="Suction is 120 psi", action="discard", by="Bo")
        assistant.forget("print-shop", by="Ana")
        before = assistant.log("bakery")
    pages = sqlite3.connect(home / DATABASE).execute(
        "SELECT pageno FROM dbstat WHERE name = 'derived' AND pagetype IN ('leaf', 'overflow')"
    )
    with (home / DATABASE).open("r+b") as file:
        for (page,) in pages.fetchall():
            file.seek((page - 1) * 4096)
            file.write(b"\xff" * 4096)
    assert checking.is_damaged(home)
    assert mend.mend(home).notes == 1
    assert checking.status(home, full=True).faults == ()
    with Assistant(home) as assistant:
        assert assistant.log("bakery") == before
        assert not assistant.accept("Suction is 120 psi.", job="bakery", client_id="one").new
        assert assistant._store.tombstones()[0].by == "Ana"
        with pytest.raises(RecordingError):
            assistant.accept(audio=b"no sound")


def test_a_store_of_which_half_the_rows_are_lost_hangs_together(home):
    store = Store(home)
    tables = ("job", "recording", "note", "transcript", "sent", "correction", "attachment", "expired")
    rows = {table: list(store.db.table(table).rows) for table in tables}
    store.close()
    lost = rows | {"note": [], "expired": [{"sha256": "x", "by": "", "at": ""}]}
    assert all(mend.hanging_together(table, lost, home) == [] for table in ("transcript", "attachment", "expired"))

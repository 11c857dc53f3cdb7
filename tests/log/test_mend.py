"""A damaged store is noticed, set aside, and as much of it saved as can be read."""

from __future__ import annotations

import hashlib

import pytest

from assistant.errors import StoreError
from assistant.log import checking, mend
from assistant.log.store import DATABASE, Store
from assistant.records import Transcript

RAW = b"fLaC" + bytes(500)
SHA = hashlib.sha256(RAW).hexdigest()


@pytest.fixture
def home(tmp_path):
    """A store of 2 jobs with 400 notes, one of them a recording, closed."""
    store = Store(tmp_path)
    store.keep_recording(SHA, ".flac", RAW, 1.0)
    spoken = store.add_note(store.open_job("print-shop"), "2026-05-12", recording=SHA)
    store.add_transcript(spoken, Transcript("head 345", model="base"))
    job = store.open_job("bakery")
    for number in range(399):
        store.add_note(job, "2026-05-13", text=f"note {number}: " + "the owner talked about the oven. " * 10)
    store.close()
    return tmp_path


def test_a_whole_store_has_no_faults(home):
    state = checking.status(home, full=True)
    assert (state.exists, state.faults, state.jobs, state.notes, state.waiting) == (True, (), 2, 400, 0)
    assert not checking.is_damaged(home)


def test_looking_at_a_store_that_is_not_there_makes_none(tmp_path):
    home = tmp_path / "home"
    state = checking.status(home)
    assert (state.exists, state.faults) == (False, ())
    assert not home.exists()


def test_a_folder_in_the_place_of_a_file_is_a_fault_not_a_crash(tmp_path):
    (tmp_path / "home").write_text("a file")
    assert "file" in checking.status(tmp_path / "home").faults[0]


def test_a_recording_not_transcribed_yet_is_counted(tmp_path):
    store = Store(tmp_path)
    store.keep_recording(SHA, ".flac", RAW, 1.0)
    store.add_note(store.open_job("print-shop"), "2026-05-12", recording=SHA)
    store.close()
    assert checking.status(tmp_path).waiting == 1


def test_a_recording_that_is_missing_or_altered_is_named(home):
    file = home / "recordings" / SHA[:2] / f"{SHA}.flac"
    file.write_bytes(b"X" + RAW[1:])  # the same size, so only a full check sees it
    assert checking.status(home).faults == ()
    assert str(file) in checking.status(home, full=True).faults[0]
    file.unlink()
    assert "missing" in checking.status(home).faults[0]


def overwrite(home, start: int, length: int) -> None:
    with (home / DATABASE).open("r+b") as file:
        file.seek(start)
        file.write(b"\xff" * length)


def test_a_page_gone_bad_is_noticed_and_most_notes_are_saved(home):
    store = Store(home)
    of_notes = store.rows("SELECT pageno FROM dbstat WHERE name = 'note' AND pagetype = 'leaf' ORDER BY pageno")
    store.close()
    overwrite(home, (of_notes[9]["pageno"] - 1) * 4096, 4096)
    assert checking.is_damaged(home)
    assert "superheard check --mend" in checking.status(home).faults[0]

    mended = mend.mend(home)
    assert mended.set_aside.exists()
    assert 300 <= mended.notes < 400
    assert checking.status(home, full=True).faults == ()
    store = Store(home)
    spoken = store.notes("print-shop")[0]
    assert store.transcript(spoken).text == "head 345"
    assert all(note.text.startswith("note ") for note in store.notes("bakery"))
    store.close()


def test_a_store_past_reading_is_set_aside_and_its_recordings_are_named(home):
    overwrite(home, 0, 4096)
    mended = mend.mend(home)
    assert (mended.notes, mended.transcripts) == (0, 0)
    assert [file.read_bytes() for file in mended.untold] == [RAW]
    assert mended.set_aside.stat().st_size > 4096
    assert checking.status(home).faults == ()


def test_notes_whose_job_and_recording_rows_are_lost_still_have_both(home):
    store = Store(home)
    rows = {table: list(store.db.table(table).rows) for table in ("job", "recording", "note", "transcript", "state")}
    store.close()
    lost = rows | {"job": [], "recording": []}
    jobs = mend.hanging_together("job", lost, home)
    assert {job["id"] for job in jobs} == {"print-shop", "bakery"}
    assert mend.hanging_together("recording", lost, home)[0]["bytes"] == len(RAW)
    assert mend.hanging_together("transcript", rows | {"note": []}, home) == []


def test_what_cannot_be_written_cannot_be_mended_either(tmp_path):
    (tmp_path / "home").write_text("a file")
    with pytest.raises(StoreError):
        mend.mend(tmp_path / "home")

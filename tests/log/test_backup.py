"""A backup is the store as it was at one moment, made while others write, and a restored one is proven."""

from __future__ import annotations

import gzip
import io
import json
import tarfile
import threading
import time
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from assistant import Assistant
from assistant.errors import BackupError, StoreError
from assistant.log import backup, checking, forgetting
from assistant.log.store import DATABASE, Store
from tests.door.sounds import spoken, tone

DAY = date(2026, 5, 12)
HEAD = "Head pressure is 345 psi and the liquid line is 94 degrees."


@pytest.fixture
def home(tmp_path):
    """A job with a typed note that was corrected, a recording that was heard, one that waits, and a photo."""
    with Assistant(tmp_path / "home") as assistant:
        note = assistant.accept(HEAD, job="print-shop", date=DAY, client_id="one", by="Ana").note
        assistant.correct(note, quantity="liquid_pressure", said="Head pressure is 345 psi", action="discard", by="Bo")
        assistant.attach(note, b"\xff\xd8\xff a photo", "Ana")
        heard = assistant.accept(audio=tone(440), job="print-shop", date=DAY).note
        assistant.heard(heard, spoken("suction is 118 psi"))
        assistant.accept(audio=tone(550), job="print-shop", date=DAY)
    return tmp_path / "home"


def files(home: Path) -> dict[str, bytes]:
    return {
        str(file.relative_to(home)): file.read_bytes()
        for folder in ("recordings", "attachments")
        for file in (home / folder).rglob("*")
        if file.is_file()
    }


def test_what_is_restored_is_what_was_backed_up(home, tmp_path):
    made = backup.back_up(home, tmp_path / "copy.tar")
    assert (made.jobs, made.notes, made.files, made.missing) == (1, 3, 3, ())
    assert backup.restore(tmp_path / "copy.tar", tmp_path / "deep" / "new") == made
    new = tmp_path / "deep" / "new"
    assert files(new) == files(home)
    assert checking.status(new, full=True).faults == ()
    with Assistant(home) as before, Assistant(new) as after:
        assert after.log("print-shop") == before.log("print-shop")
        assert after.search() == before.search() and after.waiting() == before.waiting()
        assert after.corrections("print-shop") == before.corrections("print-shop")
        assert not after.accept(HEAD, client_id="one").new
    assert [f.name for f in tmp_path.iterdir() if f.name.startswith(".")] == []


def test_a_backup_made_while_others_tell_is_of_one_moment_and_misses_nothing_told_before(tmp_path):
    home, stop, told = tmp_path / "home", threading.Event(), []
    with Assistant(home) as assistant:

        def tell(number: int) -> None:
            count = 0
            while not stop.is_set():
                count += 1
                given = {"audio": tone(200 + 10 * count + number)} if count % 3 == 0 else {"text": f"head {count}"}
                told.append(assistant.accept(**given, job=f"job {number}", date=DAY).note)

        threads = [threading.Thread(target=tell, args=(number,)) for number in range(3)]
        for thread in threads:
            thread.start()
        while len(told) < 20:
            time.sleep(0.01)
        for copy in range(3):
            before = set(told)
            made = backup.back_up(home, tmp_path / f"{copy}.tar")
            backup.restore(tmp_path / f"{copy}.tar", tmp_path / f"{copy}")
            assert made.missing == ()
            with Assistant(tmp_path / f"{copy}") as restored:
                notes = {hit["id"] for hit in restored._store.rows("SELECT id FROM note")}
                assert before <= notes and made.notes == len(notes)
        stop.set()
        for thread in threads:
            thread.join()


def test_a_store_that_speaks_of_a_file_that_is_gone_is_backed_up_and_the_file_named(home, tmp_path):
    gone = next((home / "recordings").rglob("*.wav"))
    gone.unlink()
    altered = next((home / "attachments").rglob("*.jpg"))
    altered.write_bytes(b"not what it was")
    made = backup.back_up(home, tmp_path / "copy.tar")
    assert sorted(made.missing) == sorted(str(f.relative_to(home)) for f in (gone, altered))
    assert backup.restore(tmp_path / "copy.tar", tmp_path / "new").missing == made.missing


def test_recordings_that_were_deleted_by_age_are_not_missed(home, tmp_path):
    store = Store(home)
    assert len(forgetting.expire(store, 1, "Bo", datetime.now().astimezone() + timedelta(days=9))) == 1
    store.close()
    assert backup.back_up(home, tmp_path / "copy.tar").missing == ()
    backup.restore(tmp_path / "copy.tar", tmp_path / "new")


def test_nothing_is_written_over(home, tmp_path):
    (tmp_path / "there").write_text("mine")
    with pytest.raises(BackupError, match="never writes over"):
        backup.back_up(home, tmp_path / "there")
    backup.back_up(home, tmp_path / "copy.tar")
    for place in (home, tmp_path / "there"):
        with pytest.raises(BackupError, match="not empty"):
            backup.restore(tmp_path / "copy.tar", place)
    assert (tmp_path / "there").read_text() == "mine"
    (tmp_path / "empty").mkdir()
    backup.restore(tmp_path / "copy.tar", tmp_path / "empty")


def test_where_there_is_no_store_there_is_nothing_to_back_up(tmp_path):
    with pytest.raises(BackupError, match="no store"):
        backup.back_up(tmp_path, tmp_path / "copy.tar")
    assert list(tmp_path.iterdir()) == []


def spoilt(source: Path, target: Path, change) -> Path:
    """A copy of a backup with its members changed by `change` (name, bytes) → (name, bytes) or None."""
    with tarfile.open(source) as old, tarfile.open(target, "w") as new:
        for member in old:
            made = change(member.name, old.extractfile(member).read())
            if made:
                info = tarfile.TarInfo(made[0])
                info.size = len(made[1])
                new.addfile(info, io.BytesIO(made[1]))
    return target


def _counting_one_more(name: str, raw: bytes):
    if name != backup.MANIFEST:
        return name, raw
    manifest = json.loads(raw)
    manifest["counts"]["note"] += 1
    return name, json.dumps(manifest).encode()


SPOILT = {
    "a recording altered": lambda name, raw: (name, raw[:-1] + b"\0\1"[:1] if ".wav" in name else raw),
    "a recording left out": lambda name, raw: None if name.startswith("recordings") else (name, raw),
    "the list left out": lambda name, raw: None if name == backup.MANIFEST else (name, raw),
    "the list is no list": lambda name, raw: (name, b"[]" if name == backup.MANIFEST else raw),
    "the database altered": lambda name, raw: (
        name,
        raw[:9000] + b"\xff" * 99 + raw[9099:] if name == DATABASE else raw,
    ),
    "a count that is not so": _counting_one_more,
    "a file beside": lambda name, raw: (name.replace(".wav", ".wav/../../../evil"), raw),
    "a file outside": lambda name, raw: ("../evil" if ".wav" in name else name, raw),
    "a file by its full path": lambda name, raw: ("/tmp/superheard-evil" if ".wav" in name else name, raw),
}


@pytest.mark.parametrize("change", SPOILT.values(), ids=SPOILT.keys())
def test_a_backup_that_is_not_whole_is_refused_and_leaves_nothing(home, tmp_path, change):
    backup.back_up(home, tmp_path / "copy.tar")
    bad = spoilt(tmp_path / "copy.tar", tmp_path / "bad.tar", change)
    with pytest.raises(BackupError):
        backup.restore(bad, tmp_path / "new")
    assert sorted(f.name for f in tmp_path.iterdir()) == ["bad.tar", "copy.tar", "home"]
    assert not Path("/tmp/superheard-evil").exists()


@pytest.mark.parametrize("length", [0, 100, 512, 50_000])
def test_a_backup_cut_short_or_no_backup_is_refused(home, tmp_path, length):
    backup.back_up(home, tmp_path / "copy.tar")
    (tmp_path / "bad.tar").write_bytes((tmp_path / "copy.tar").read_bytes()[:length])
    with pytest.raises(BackupError):
        backup.restore(tmp_path / "bad.tar", tmp_path / "new")
    (tmp_path / "bad.tar").write_bytes(b"no tar " * 1000)
    with pytest.raises(BackupError):
        backup.restore(tmp_path / "bad.tar", tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_link_in_a_backup_is_refused(home, tmp_path):
    with tarfile.open(tmp_path / "bad.tar", "w") as tar:
        link = tarfile.TarInfo("recordings/ab/" + "ab" * 32 + ".wav")
        link.type, link.linkname = tarfile.SYMTYPE, "/etc/passwd"
        tar.addfile(link)
    with pytest.raises(BackupError, match="no part of a backup"):
        backup.restore(tmp_path / "bad.tar", tmp_path / "new")


def test_a_full_disk_leaves_no_half_backup_and_no_half_store(home, tmp_path, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    backup.back_up(home, tmp_path / "copy.tar")
    with monkeypatch.context() as patched:
        patched.setattr(backup.os, "fsync", full)
        with pytest.raises(StoreError, match="full"):
            backup.back_up(home, tmp_path / "other.tar")
        with pytest.raises(StoreError, match="full"):
            backup.restore(tmp_path / "copy.tar", tmp_path / "new")
    assert sorted(f.name for f in tmp_path.iterdir()) == ["copy.tar", "home"]


def test_an_older_stores_backup_is_brought_up_to_date(tmp_path):
    older = tmp_path / "older"
    older.mkdir()
    (older / DATABASE).write_bytes(gzip.decompress((Path(__file__).parent / "stores" / "first.db.gz").read_bytes()))
    before = (older / DATABASE).read_bytes()
    made = backup.back_up(older, tmp_path / "copy.tar")
    assert (older / DATABASE).read_bytes() == before
    assert len(made.missing) == 2
    backup.restore(tmp_path / "copy.tar", tmp_path / "new")
    with Assistant(tmp_path / "new") as assistant:
        assert len(assistant.search()) == 4

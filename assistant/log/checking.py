"""Whether a store is whole: its database, its files, and what follows from them. Nothing is changed here."""

from __future__ import annotations

import os
import sqlite3
import time
import zlib
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from assistant.errors import StoreError
from assistant.log import derived, recordings
from assistant.log.attachments import FOLDER as PHOTOS
from assistant.log.forgetting import TO_WIPE
from assistant.log.store import DATABASE, RECORDINGS, Store, note_id
from assistant.log.trouble import is_damage

MEND = "Run: superheard check --mend"
_PART = ".part-*"  # a file that was being written
_PART_S = 3600  # older than this, nobody is writing it any more


@dataclass(frozen=True, slots=True)
class StoreStatus:
    """How a store stands."""

    path: Path
    exists: bool
    faults: tuple[str, ...]  # each names the file, what is wrong and what to do
    notices: tuple[str, ...] = ()  # what is worth knowing and harms nothing
    jobs: int = 0
    notes: int = 0
    waiting: int = 0  # recordings not transcribed yet


def status(home: Path, full: bool = False) -> StoreStatus:
    """How the store in `home` stands; nothing is made where there is none. `full` reads every byte too."""
    path = home / DATABASE
    try:
        _can_write(home)
        if not path.exists():
            return StoreStatus(path, False, ())
        store = Store(home)
    except StoreError as err:
        return StoreStatus(path, path.exists(), (str(err),))
    try:
        found = store.rows("PRAGMA quick_check")[0]["quick_check"]
        if found != "ok":
            return StoreStatus(path, True, (f"{path} is damaged: {found}. {MEND}",))
        faults = [*_lost_files(store, full), *_unfinished(store), *out_of_step(store, full)]
        faults += [*_altered_rows(store)] if full else []
        counted = store.rows(
            """SELECT (SELECT count(*) FROM job) AS jobs, (SELECT count(*) FROM note) AS notes,
            (SELECT count(*) FROM unheard) AS waiting"""
        )[0]
        return StoreStatus(path, True, tuple(faults), tuple(_notices(store)), **counted)
    except (StoreError, sqlite3.DatabaseError) as err:
        return StoreStatus(path, True, (f"{path} is damaged: {err}. {MEND}",))
    finally:
        store.close()


def is_damaged(home: Path) -> bool:
    """Whether there is a database and it is not whole; one that cannot be reached at all is not called damaged."""
    path = home / DATABASE
    if not path.exists():
        return False
    try:
        with closing(sqlite3.connect(path)) as conn:
            return conn.execute("PRAGMA quick_check").fetchone()[0] != "ok"
    except sqlite3.DatabaseError as err:
        return is_damage(err)


def orphans(store: Store) -> list[Path]:
    """Recordings and photos on the disk that nothing speaks of: most likely never acknowledged."""
    known = {
        RECORDINGS: {row["sha256"] for row in store.rows("SELECT sha256 FROM recording")},
        PHOTOS: {row["sha256"] for row in store.rows("SELECT sha256 FROM attachment")},
    }
    files = ((folder, file) for folder in known for file in sorted((store.home / folder).glob("??/*.*")))
    deleted = {row["path"] for row in store.rows("SELECT path FROM to_delete")}
    return [
        file
        for folder, file in files
        if not file.name.startswith(".")
        and file.stem not in known[folder]
        and file.relative_to(store.home).as_posix() not in deleted
    ]


def left_over(home: Path) -> list[Path]:
    """Files that were being written when something was cut off, long enough ago."""
    limit = time.time() - _PART_S
    parts = (part for folder in (RECORDINGS, PHOTOS) for part in (home / folder).glob(f"??/{_PART}"))
    return sorted(part for part in parts if part.stat().st_mtime < limit)


def out_of_step(store: Store, full: bool = False) -> Iterator[str]:
    """What follows from what was told and does not any more, so that it must be made again."""
    heard = "SELECT seq FROM note WHERE text IS NOT NULL OR EXISTS (SELECT 1 FROM transcript WHERE note = note.id)"
    searched = "SELECT rowid FROM said"
    differ = any(store.rows(f"{a} EXCEPT {b} LIMIT 1") for a, b in ((heard, searched), (searched, heard)))
    if differ or (full and not _search_is_whole(store)):
        yield f"{store.path}: the words for searching are not in step with the notes. {MEND}"
    counted = "SELECT job, count(*), min(date), max(date), max(seq) FROM note GROUP BY job"
    if full and store.rows(f"SELECT * FROM ({counted} EXCEPT SELECT * FROM tally) LIMIT 1"):
        yield f"{store.path}: the notes of a job are not as many as were counted. {MEND}"
    if full:
        for row in store.rows("SELECT note, job FROM derived"):
            try:
                derived.log_after(store, row["note"])
                derived.note_read(store, row["note"])
            except (zlib.error, ValueError, TypeError, KeyError):
                yield f"{store.path}: what was worked out of {row['job']} cannot be read. {MEND}"
                return


def _search_is_whole(store: Store) -> bool:
    try:
        store.db.execute("INSERT INTO said (said) VALUES ('integrity-check')")
    except sqlite3.DatabaseError:
        return False
    return True


def _unfinished(store: Store) -> Iterator[str]:
    if store.rows("SELECT 1 FROM to_delete") or store.state(TO_WIPE):
        yield f"{store.path}: a deletion was cut off, so traces may be left. {MEND}"


def _lost_files(store: Store, full: bool) -> Iterator[str]:
    """Recordings and photos that are missing or altered, each with the note it belongs to."""
    asked = (
        (
            RECORDINGS,
            """SELECT sha256, suffix, bytes, job, date, note.id AS note, seq IN (SELECT seq FROM unheard) AS unheard
            FROM recording JOIN note ON note.recording = sha256 WHERE sha256 NOT IN (SELECT sha256 FROM expired)""",
        ),
        (
            PHOTOS,
            """SELECT sha256, suffix, bytes, job, date, note.id AS note, NULL AS unheard
            FROM attachment JOIN note ON note.id = attachment.note""",
        ),
    )
    for folder, sql in asked:
        for row in store.rows(sql):
            file = recordings.place_of(store.home / folder, row["sha256"], row["suffix"])
            whose = f"(note {row['note']} of {row['job']}, {row['date']})"
            if not file.exists():
                wrong = "missing"
            elif file.stat().st_size != row["bytes"] or (full and not recordings.is_whole(file, row["sha256"])):
                wrong = "altered"
            else:
                continue
            again = {
                None: "Attach that photo again to put it back.",
                0: "Tell that recording again to put it back; its transcript is safe.",
                1: "It was not transcribed yet: tell that recording again, or restore a backup.",
            }[row["unheard"]]
            yield f"{file} {whose} is {wrong}. {again}"


def _altered_rows(store: Store) -> Iterator[str]:
    """Notes whose content is not what their id was made of, and transcripts that cannot be read."""
    for row in store.rows("SELECT id, job, date, text, recording FROM note"):
        content = (row["job"], row["date"], row["text"], row["recording"])
        if not any(note_id(*content, again) == row["id"] for again in range(100)):
            yield f"{store.path}: note {row['id']} of {row['job']} ({row['date']}) is altered. Restore a backup."
    for row in store.rows("SELECT note FROM transcript WHERE NOT json_valid(content)"):
        yield f"{store.path}: a transcript of note {row['note']} cannot be read. Run: superheard reread --listen"
    for row in store.rows("PRAGMA foreign_key_check"):
        yield f"{store.path}: a row of {row['table']} belongs to a row of {row['parent']} that is not there. {MEND}"


def _notices(store: Store) -> Iterator[str]:
    lying = orphans(store)
    if lying:
        names = ", ".join(str(file) for file in lying[:3]) + (" …" if len(lying) > 3 else "")
        yield f"{len(lying)} files that no note speaks of: {names}. superheard check --mend sets them aside"
    parts = left_over(store.home)
    if parts:
        yield f"{len(parts)} files that were never written whole. superheard check --mend deletes them"
    stones = store.tombstones()
    if stones:
        yield f"{len(stones)} jobs were deleted, the last one on {stones[0].at[:10]} by {stones[0].by}"
    gone = store.rows("SELECT count(*) AS n, max(at) AS at FROM expired")[0]
    if gone["n"]:
        yield f"{gone['n']} recordings were deleted by age, the last on {gone['at'][:10]}; their words are kept"
    newest = store.rows("SELECT received_at AS at FROM note ORDER BY seq DESC LIMIT 1")
    if newest and datetime.fromisoformat(newest[0]["at"]) > datetime.now().astimezone() + timedelta(minutes=5):
        yield f"the newest note came in at {newest[0]['at']}, which is still to come: is this machine's clock right?"


def _can_write(home: Path) -> None:
    """Raises StoreError if the store's folder, or the nearest one above it that exists, cannot be written."""
    folder = next(each for each in (home, *home.absolute().parents) if each.exists())
    if not folder.is_dir():
        raise StoreError(f"{folder} is a file, so it cannot hold jobs. Choose another folder with --home.")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise StoreError(f"{folder} cannot be written. Give this user the right to, or choose another with --home.")

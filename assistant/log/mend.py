"""Whether a store is whole, and saving what can be read of one that is not."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from assistant.errors import StoreError
from assistant.log import recordings, schema
from assistant.log.store import DATABASE, Store, job_key
from assistant.log.trouble import is_damage, told_plainly


@dataclass(frozen=True, slots=True)
class StoreStatus:
    """How a store stands."""

    path: Path
    exists: bool
    faults: tuple[str, ...]  # each names the file, what is wrong and what to do
    jobs: int = 0
    notes: int = 0
    waiting: int = 0  # recordings not transcribed yet


@dataclass(frozen=True, slots=True)
class Mended:
    """What a damaged store came to."""

    set_aside: Path  # the damaged database, untouched
    notes: int  # saved
    transcripts: int  # saved
    untold: tuple[Path, ...]  # recordings on the disk that no saved note speaks of; to be told again


def status(home: Path, full: bool = False) -> StoreStatus:
    """How the store in `home` stands; nothing is made where there is none. `full` checks every recording too."""
    path = home / DATABASE
    try:
        _can_write(home)
        if not path.exists():
            return StoreStatus(path, False, ())
        store = Store(home)
    except StoreError as err:
        return StoreStatus(path, path.exists(), (str(err),))
    try:
        found = [row["quick_check"] for row in store.rows("PRAGMA quick_check")]
        faults = [] if found == ["ok"] else [f"{path} is damaged: {found[0]}. Run: superheard check --mend"]
        faults += _lost(store, full)
        jobs, notes, waiting = store.db.execute(
            """SELECT (SELECT count(*) FROM job), (SELECT count(*) FROM note),
               (SELECT count(*) FROM note WHERE text IS NULL AND id NOT IN (SELECT note FROM transcript))"""
        ).fetchone()
        return StoreStatus(path, True, tuple(faults), jobs, notes, waiting)
    except (StoreError, sqlite3.DatabaseError) as err:
        return StoreStatus(path, True, (f"{path} is damaged: {err}. Run: superheard check --mend",))
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


def mend(home: Path) -> Mended:
    """Set a damaged database aside and begin a new one with every row that can still be read.

    The damaged file is kept. Logs are worked out again from the notes when they are next looked at.
    Raises StoreError when the disk will not have it.
    """
    path = home / DATABASE
    aside = home / f"{DATABASE}.damaged-{datetime.now():%Y%m%d-%H%M%S}"
    with told_plainly(path):
        for ending in ("", "-wal", "-shm"):
            if (part := home / (DATABASE + ending)).exists():
                os.replace(part, f"{aside}{ending}")
    store = Store(home)
    try:
        rows = {table: list(_readable(aside, table)) for table in schema.TOLD}
        with store.writing() as db:
            for table in schema.TOLD:
                db.table(table).insert_all(hanging_together(table, rows, home), ignore=True)
        notes, transcripts = store.db.table("note").count, store.db.table("transcript").count
        spoken_of = {row["recording"] for row in store.rows("SELECT recording FROM note")}
        lying = sorted((home / "recordings").glob("??/*.*"))
        return Mended(aside, notes, transcripts, tuple(file for file in lying if file.stem not in spoken_of))
    finally:
        store.close()


def hanging_together(table: str, rows: dict[str, list[dict]], home: Path) -> list[dict]:
    """The saved rows of a table, with the rows they lean on made anew where those are lost."""
    if table == "job":
        known = {row["id"] for row in rows["job"]}
        lost = {note["job"]: note["received_at"] for note in rows["note"] if note["job"] not in known}
        return rows["job"] + [{"id": job, "key": job_key(job), "opened_at": at} for job, at in lost.items()]
    if table == "recording":
        known = {row["sha256"] for row in rows["recording"]}
        lost = {
            n["recording"]: n["received_at"] for n in rows["note"] if n["recording"] and n["recording"] not in known
        }
        return rows["recording"] + [_recording_row(home, sha256, at) for sha256, at in lost.items()]
    if table == "transcript":
        known = {row["id"] for row in rows["note"]}
        return [row for row in rows["transcript"] if row["note"] in known]
    return rows[table]


def _recording_row(home: Path, sha256: str, received_at: str) -> dict:
    file = next((home / "recordings" / sha256[:2]).glob(f"{sha256}.*"), None)
    size = file.stat().st_size if file else 0
    suffix = file.suffix if file else ".bin"
    return {"sha256": sha256, "suffix": suffix, "bytes": size, "duration_s": None, "received_at": received_at}


def _readable(path: Path, table: str) -> Iterator[dict]:
    """The rows of a table in a damaged database, as far as they can be read, from both ends."""
    seen: set[int] = set()
    for order in ("ASC", "DESC"):
        try:
            with closing(sqlite3.connect(path)) as conn:
                found = conn.execute(f"SELECT rowid, * FROM {table} ORDER BY rowid {order}")
                names = [column[0] for column in found.description][1:]
                for number, *values in found:
                    if number not in seen:
                        seen.add(number)
                        yield dict(zip(names, values, strict=True))
        except sqlite3.DatabaseError:
            continue  # as far as it can be read from this end


def _can_write(home: Path) -> None:
    """Raises StoreError if the store's folder, or the nearest one above it that exists, cannot be written."""
    folder = next(each for each in (home, *home.absolute().parents) if each.exists())
    if not folder.is_dir():
        raise StoreError(f"{folder} is a file, so it cannot hold jobs. Choose another folder with --home.")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise StoreError(f"{folder} cannot be written. Give this user the right to, or choose another with --home.")


def _lost(store: Store, full: bool) -> list[str]:
    faults = []
    for row in store.rows("SELECT sha256, suffix, bytes FROM recording"):
        file = recordings.place_of(store.home / "recordings", row["sha256"], row["suffix"])
        again = "Tell that recording again to put it back; its transcript is safe."
        if not file.exists():
            faults.append(f"{file} is missing. {again}")
        elif file.stat().st_size != row["bytes"] or (full and not recordings.is_whole(file, row["sha256"])):
            faults.append(f"{file} is altered. {again}")
    return faults

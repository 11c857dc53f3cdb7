"""Putting a store right: what can be made again is, and of a damaged database what can be read is saved."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from assistant.log import checking, forgetting, schema
from assistant.log.store import DATABASE, RECORDINGS, Store, job_key
from assistant.log.trouble import told_plainly

UNTOLD = "untold"  # folder for files that no note speaks of


@dataclass(frozen=True, slots=True)
class Mended:
    """What a damaged store came to."""

    set_aside: Path  # the damaged database, untouched
    notes: int  # saved
    transcripts: int  # saved
    untold: tuple[Path, ...]  # recordings on the disk that no saved note speaks of; to be told again


def put_right(home: Path) -> list[str]:
    """Put right what can be in a store whose database can be read; what was done, in words. Raises StoreError."""
    if not (home / DATABASE).exists():
        return []
    store = Store(home)
    try:
        return [*_deletions(store), *_what_follows(store), *_files(store)]
    finally:
        store.close()


def _deletions(store: Store) -> Iterator[str]:
    deleted = forgetting.finish(store)
    if deleted or store.state(forgetting.TO_WIPE):
        forgetting.wipe(store)
        yield f"finished a deletion that was cut off; {deleted} files"


def _what_follows(store: Store) -> Iterator[str]:
    if list(checking.out_of_step(store, full=True)):
        with store.writing() as db:
            for table in schema.DERIVED:
                db.execute(f"DELETE FROM {table}")
            db.execute("DELETE FROM tally")
            db.execute(schema.COUNTED)
            db.execute("DROP TABLE said")
            for statement in schema.SEARCHED:
                db.execute(statement)
        yield "made the words for searching again; logs are worked out again when they are next looked at"


def _files(store: Store) -> Iterator[str]:
    aside = store.home / UNTOLD
    with store.writing():  # whoever is telling one of them just now writes it again
        lying = checking.orphans(store)
        for file in lying:
            aside.mkdir(exist_ok=True)
            os.replace(file, aside / file.name)
    if lying:
        yield f"moved {len(lying)} files that no note speaks of to {aside}; tell them again if they are wanted"
    parts = checking.left_over(store.home)
    for part in parts:
        part.unlink(missing_ok=True)
    if parts:
        yield f"deleted {len(parts)} files that were never written whole"


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
        lying = sorted((home / RECORDINGS).glob("??/*.*"))
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
    if table in ("transcript", "sent", "correction", "attachment"):
        known = {row["id"] for row in rows["note"]}
        return [row for row in rows[table] if row["note"] in known]
    if table == "expired":
        known = {row["sha256"] for row in hanging_together("recording", rows, home)}
        return [row for row in rows["expired"] if row["sha256"] in known]
    return rows[table]


def _recording_row(home: Path, sha256: str, received_at: str) -> dict:
    file = next((home / RECORDINGS / sha256[:2]).glob(f"{sha256}.*"), None)
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

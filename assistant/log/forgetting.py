"""Deleting, so that it is really gone: a job with all that was said in it, or recordings that are old enough.

Gone from the tables, the search index, the files and the free pages of the database. What stays is that something was
deleted, when and by whom, and without its content: a job's tombstone holds a salted hash of its name, so that it can
be asked for by name and not be read. Copies made before (backups, a damaged store set aside) are not touched.
"""

from __future__ import annotations

import secrets
import time
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from assistant.errors import StoreError
from assistant.log import derived, recordings, schema
from assistant.log.attachments import FOLDER as PHOTOS
from assistant.log.store import DATABASE, RECORDINGS, Store, name_hash, now
from assistant.log.trouble import BUSY_S

TO_WIPE = "to wipe"  # in `state` while the database's free pages may hold what was deleted


@dataclass(frozen=True, slots=True)
class Forgotten:
    """What was deleted."""

    notes: int
    files: int  # recordings and photos
    copies: tuple[Path, ...]  # files in the home folder that may still hold it: damaged stores that were set aside


def forget_job(store: Store, name: str, by: str) -> Forgotten:
    """Delete a job with its notes, transcripts, corrections, photos and all that follows from them.

    A recording or photo that another job has too stays. Raises NoSuchJob; StoreError where the disk will not have it.
    """
    with store.writing() as db:
        job = store.job(name)
        notes = [note.id for note in store.notes(job)]
        salt = secrets.token_hex(8)
        stone = {"salt": salt, "key_hash": name_hash(salt, job), "by": by, "at": now(), "notes": len(notes)}
        tombstone = db.table("forgotten").insert(stone).last_rowid
        db.execute("INSERT INTO forgetting (job, tombstone) VALUES (?, ?)", (job, tombstone))
        _without_rows(store, job)
        db.execute("DELETE FROM forgetting WHERE job = ?", (job,))
        db.execute("DELETE FROM job WHERE id = ?", (job,))
        store.set_state(TO_WIPE, "yes")
        db.execute("INSERT INTO said (said) VALUES ('optimize')")  # else deleted words stay in older segments
    deleted = finish(store)
    derived.let_go()
    wipe(store)
    return Forgotten(len(notes), deleted, _copies(store.home))


def expire(store: Store, days: int, by: str, today: datetime | None = None) -> list[str]:
    """Delete the files of recordings that came in more than `days` ago; their hashes. Their transcripts stay.

    A recording that has not been transcribed yet is kept, however old. Deleting twice deletes nothing more.
    """
    limit = (today or datetime.now().astimezone()) - timedelta(days=days)
    with store.writing() as db:
        found = store.rows(
            """SELECT sha256, suffix, received_at FROM recording
            WHERE sha256 NOT IN (SELECT sha256 FROM expired)
            AND sha256 NOT IN (SELECT recording FROM note JOIN unheard USING (seq))"""
        )
        old = [row for row in found if datetime.fromisoformat(row["received_at"]) < limit]
        for row in old:
            db.table("expired").insert({"sha256": row["sha256"], "by": by, "at": now()})
        _to_delete(store, [(RECORDINGS, row) for row in old])
    finish(store)
    return [row["sha256"] for row in old]


def finish(store: Store) -> int:
    """Delete the files of what was deleted, also where that was cut off before; how many there were."""
    if store.home is None or not store.rows("SELECT 1 FROM to_delete"):
        return 0
    deleted = 0
    with store.writing() as db:  # nobody tells the same recording again meanwhile
        for row in store.rows("SELECT path FROM to_delete"):
            file = store.home / row["path"]
            if not _spoken_of(store, file.stem) and file.exists():
                file.unlink()
                recordings.flush_folder(file.parent)
                deleted += 1
        db.execute("DELETE FROM to_delete")
    return deleted


def _spoken_of(store: Store, sha256: str) -> bool:
    kept = "SELECT 1 FROM recording WHERE sha256 = ? AND sha256 NOT IN (SELECT sha256 FROM expired)"
    return bool(store.rows(f"{kept} UNION ALL SELECT 1 FROM attachment WHERE sha256 = ?", sha256, sha256))


def _to_delete(store: Store, files: list[tuple[str, dict]]) -> None:
    for folder, row in files:
        if store.home:
            path = recordings.place_of(store.home / folder, row["sha256"], row["suffix"]).relative_to(store.home)
            store.db.execute("INSERT OR IGNORE INTO to_delete (path) VALUES (?)", (path.as_posix(),))


def _without_rows(store: Store, job: str) -> None:
    """Delete the rows of a job that stands in `forgetting`, and note down the files nothing speaks of any more."""
    db = store.db
    own, named = "(SELECT id FROM note WHERE job = :job)", {"job": job}
    note = "SELECT id FROM note WHERE job = ?"
    photos = store.rows(f"SELECT DISTINCT sha256, suffix FROM attachment WHERE note IN ({note})", job)
    heard = f"SELECT recording FROM note WHERE id IN ({note})"
    sounds = store.rows(f"SELECT sha256, suffix FROM recording WHERE sha256 IN ({heard})", job)
    db.execute(f"INSERT OR IGNORE INTO not_again SELECT client_id FROM sent WHERE note IN {own}", named)
    for table in ("transcript", "sent", "correction", "attachment"):
        db.execute(f"DELETE FROM {table} WHERE note IN {own}", named)
    for table in schema.DERIVED:
        db.execute(f"DELETE FROM {table} WHERE job = :job", named)
    for table in ("note", "tally"):
        db.execute(f"DELETE FROM {table} WHERE job = :job", named)
    # Where the conversation is, in words: about this job, or about all.
    for key in (f"focus {job}", "focus "):
        db.execute("DELETE FROM state WHERE key = ? OR substr(key, 1, ?) = ?", (key, len(key) + 1, f"{key}\x1f"))
    db.execute("DELETE FROM state WHERE substr(key, 1, 11) = 'current job' AND value = :job", named)
    files = []
    for row in sounds:
        if not store.rows("SELECT 1 FROM note WHERE recording = ?", row["sha256"]):
            db.execute("DELETE FROM expired WHERE sha256 = ?", (row["sha256"],))
            db.execute("DELETE FROM recording WHERE sha256 = ?", (row["sha256"],))
            files.append((RECORDINGS, row))
    files += [(PHOTOS, p) for p in photos if not store.rows("SELECT 1 FROM attachment WHERE sha256 = ?", p["sha256"])]
    _to_delete(store, files)


def wipe(store: Store) -> None:
    """Leave nothing of deleted rows in the database's free pages or its write-ahead log.

    Raises StoreError where another program keeps reading; nothing is undone by that, and it can be called again.
    """
    if store.home is None:
        return
    store.vacuum()
    until = time.monotonic() + BUSY_S
    while not store.emptied():
        if time.monotonic() > until:
            raise StoreError(
                f"It is deleted, but another program reads {store.path}, so traces may be left in the file "
                f"beside it. Close that program and run: superheard check --mend"
            )
        time.sleep(0.05)
    store.set_state(TO_WIPE, "")


def _copies(home: Path | None) -> tuple[Path, ...]:
    return tuple(sorted(home.glob(f"{DATABASE}.damaged-*"))) if home else ()

"""The tables of the store, and the steps that bring an older store up to them.

`recording`, `note`, `transcript`, `sent`, `correction` and `attachment` are what was told: rows are added and never
changed, which triggers see to. They go on one path alone: the job they belong to stands in `forgetting`, and that
takes a tombstone in `forgotten`, which stays. The tables of `DERIVED` follow from those and can be thrown away and
made again; so can `said`, the words for searching, `unheard` and `tally`, which triggers keep in step. `state` holds
where the conversation is.
"""

from __future__ import annotations

from collections.abc import Sequence

from sqlite_utils import Database

from assistant.errors import StoreError
from assistant.log.schema_2 import COUNTED, SEARCHED, SECOND

__all__ = ["COUNTED", "DERIVED", "MIGRATIONS", "SEARCHED", "TOLD", "migrate", "version"]

# What cannot be made again; parents before children.
TOLD = (
    "job", "recording", "note", "transcript", "sent", "correction", "attachment", "forgotten", "expired", "not_again",
    "to_delete", "state",
)  # fmt: skip
DERIVED = ("derived", "settled", "standing", "reading", "verdict", "concern", "mention")

_FIRST = """
CREATE TABLE job (
    id TEXT PRIMARY KEY,
    key TEXT NOT NULL UNIQUE,           -- the id without case, spaces and marks: "Print shop" is "print-shop"
    opened_at TEXT NOT NULL
);
CREATE TABLE recording (
    sha256 TEXT PRIMARY KEY,            -- of the file's bytes; the file is recordings/ab/<sha256>.<suffix>
    suffix TEXT NOT NULL,
    bytes INTEGER NOT NULL,
    duration_s REAL,
    received_at TEXT NOT NULL
);
CREATE TABLE note (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,  -- arrival
    id TEXT NOT NULL UNIQUE,
    job TEXT NOT NULL REFERENCES job (id),
    date TEXT NOT NULL,                 -- ISO date of the visit
    text TEXT,                          -- typed words, or
    recording TEXT REFERENCES recording (sha256),
    received_at TEXT NOT NULL,
    CHECK ((text IS NULL) <> (recording IS NULL))
);
CREATE INDEX note_by_job ON note (job, date, seq);
CREATE INDEX note_by_recording ON note (recording);
CREATE TABLE transcript (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,  -- a note's newest one rules
    note TEXT NOT NULL REFERENCES note (id),
    model TEXT,
    content TEXT NOT NULL,              -- JSON of records.Transcript
    made_at TEXT NOT NULL
);
CREATE INDEX transcript_by_note ON transcript (note, seq);

CREATE TABLE derived (
    note TEXT PRIMARY KEY REFERENCES note (id),
    job TEXT NOT NULL,
    place INTEGER NOT NULL,             -- 0 is the job's oldest note
    chain TEXT NOT NULL,                -- what it was derived from: rules, notes before it, transcripts
    note_json BLOB NOT NULL,            -- records.Note, compressed
    log_json BLOB NOT NULL              -- records.JobLog after this note, compressed
);
CREATE INDEX derived_by_job ON derived (job, place);
CREATE TABLE standing (job TEXT PRIMARY KEY, site TEXT, customer TEXT, open_tasks INTEGER NOT NULL);
CREATE TABLE reading (
    job TEXT NOT NULL, note TEXT NOT NULL, system TEXT NOT NULL, quantity TEXT NOT NULL, role TEXT NOT NULL,
    qualifier TEXT, value REAL NOT NULL, unit TEXT NOT NULL, status TEXT NOT NULL
);
CREATE INDEX reading_by_job ON reading (job);
CREATE TABLE verdict (job TEXT NOT NULL, system TEXT NOT NULL, about TEXT NOT NULL, status TEXT NOT NULL);
CREATE INDEX verdict_by_job ON verdict (job);
CREATE TABLE concern (job TEXT NOT NULL, system TEXT NOT NULL, code TEXT NOT NULL, severity TEXT NOT NULL);
CREATE INDEX concern_by_job ON concern (job);

CREATE TABLE state (key TEXT PRIMARY KEY, value TEXT NOT NULL);
"""

_UNCHANGING = """
CREATE TRIGGER {table}_is_never_changed BEFORE UPDATE ON {table}
BEGIN SELECT RAISE(ABORT, 'a {table} is never changed'); END;
CREATE TRIGGER {table}_is_never_removed BEFORE DELETE ON {table}
BEGIN SELECT RAISE(ABORT, 'a {table} is never removed'); END;
"""

# The jobs told last come first, a page at a time; and which are to be worked out again is asked before every list.
_THIRD = """
CREATE UNIQUE INDEX tally_by_newest ON tally (newest);
CREATE INDEX settled_by_rules ON settled (rules);
"""

# One script a step; a store's `PRAGMA user_version` says how many it has had. Add at the end, change none.
MIGRATIONS: tuple[str, ...] = (
    _FIRST + "".join(_UNCHANGING.format(table=table) for table in ("recording", "note", "transcript")),
    SECOND,
    _THIRD,
)


def version(db: Database) -> int:
    """How many steps the store has had; 0 for an empty one."""
    return db.execute("PRAGMA user_version").fetchone()[0]


def migrate(db: Database, steps: Sequence[str] = MIGRATIONS) -> None:
    """Bring the store up to the newest step, each step whole or not at all.

    Raises StoreError for a store that a later superheard has written.
    """
    if version(db) > len(steps):
        raise StoreError(
            f"This store was written by a newer superheard (its version {version(db)}, this one knows {len(steps)}). "
            "Update superheard; nothing was changed."
        )
    while version(db) < len(steps):
        db.execute("BEGIN IMMEDIATE")
        try:
            done = version(db)  # another process may have been first
            if done < len(steps):
                db.executescript(steps[done])
                db.execute(f"PRAGMA user_version = {done + 1}")
            db.commit()
        except BaseException:
            db.rollback()
            raise

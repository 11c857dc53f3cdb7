"""What the server keeps for itself, beside the store: paired devices, and recordings that are hard to hear.

In `server.db` of the home folder, or in memory where nothing is written to disk. No job and no note is in here.
"""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from sqlite_utils import Database

from assistant.log.trouble import BUSY_S, told_plainly

DATABASE = "server.db"

_TABLES = """
CREATE TABLE IF NOT EXISTS device (
    id TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    role TEXT NOT NULL,                  -- tech | office | calendar
    token_sha256 TEXT NOT NULL UNIQUE,   -- of the token; the token itself is on the device alone
    made_at TEXT NOT NULL,
    seen_at TEXT NOT NULL,
    revoked_at TEXT
);
CREATE TABLE IF NOT EXISTS hearing (
    note TEXT PRIMARY KEY,
    tries INTEGER NOT NULL,              -- begun, whether or not finished
    reason TEXT                          -- why it will not be tried again; none while it will
);
CREATE TABLE IF NOT EXISTS spoken (
    client_id TEXT NOT NULL,             -- of a note that was heard while it was spoken
    device TEXT NOT NULL,                -- that made it; empty for this machine
    note TEXT NOT NULL,
    samples INTEGER NOT NULL,            -- of its sound, as its client counts, that are in the recording
    PRIMARY KEY (client_id, device)
);
"""


class Kept:
    """The server's own tables. Safe from several threads. Raises StoreError when the disk will not have it."""

    def __init__(self, home: Path | None):
        self.path = home / DATABASE if home else Path(":memory:")
        self._lock = threading.Lock()
        with told_plainly(self.path):
            if home:
                home.mkdir(parents=True, exist_ok=True)
                os.close(os.open(self.path, os.O_CREAT | os.O_RDWR, 0o600))  # before SQLite makes it readable to all
            self._db = Database(sqlite3.connect(self.path, timeout=BUSY_S, check_same_thread=False))
            self._db.executescript(_TABLES)

    @contextmanager
    def open(self) -> Iterator[Database]:
        """The tables, for one thread at a time; what is written inside is kept together or not at all."""
        with self._lock, told_plainly(self.path), self._db.conn:
            yield self._db

    def close(self) -> None:
        self._db.close()


def now() -> str:
    return datetime.now().astimezone().isoformat(timespec="seconds")

"""The database of a store: one connection that writes, and others that read meanwhile without waiting for it."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sqlite_utils import Database

from assistant.log import schema
from assistant.log.trouble import BUSY_S, told_plainly

_IDLE_READERS = 8  # kept open for the next reader


class Connection:
    """The database at `path`, or one in memory (path None). Safe from several threads.

    Raises StoreError, saying what to do, when the disk or the database will not have it.
    """

    def __init__(self, path: Path | None):
        self.path: Path = path or Path(":memory:")
        self._in_memory = path is None
        self._lock = threading.RLock()  # of the connection that writes
        self._here = threading.local()  # .reader: this thread's connection while it reads; .writes: how deep it writes
        self._idle: list[sqlite3.Connection] = []
        self._closed = False
        with self._plainly():
            # Autocommit leaves transactions to us.
            conn = sqlite3.connect(self.path, timeout=BUSY_S, check_same_thread=False, isolation_level=None)
            self.db = Database(conn)
            try:
                self._prepare()
            except BaseException:
                conn.close()
                raise

    def _prepare(self) -> None:
        if not self._in_memory:
            self.db.execute("PRAGMA journal_mode = WAL")
        self.db.execute("PRAGMA synchronous = FULL")
        self.db.execute("PRAGMA foreign_keys = ON")
        schema.migrate(self.db)

    def close(self) -> None:
        with self._lock:
            self._closed = True
            self.close_readers()
            self.db.close()

    def close_readers(self) -> None:
        """Let go of the connections nobody reads from just now."""
        while self._idle:
            with suppress(IndexError):
                self._idle.pop().close()

    def vacuum(self) -> None:
        """Write the whole database anew, so that nothing of deleted rows is left in it."""
        with self._lock, self._plainly():
            self.db.execute("VACUUM")

    def emptied(self) -> bool:
        """Bring all that was written into the database and leave the log beside it empty; whether nobody hinders it."""
        with self._lock, self._plainly():
            return not self.db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()[0][0]

    def _plainly(self):
        return told_plainly(self.path)

    @contextmanager
    def writing(self) -> Iterator[Database]:
        """All that is written inside, or none of it; waits for whoever else is writing.

        Inside another `writing` it is part of that one.
        """
        with self._lock:
            if self.db.conn.in_transaction:
                yield self.db
                return
            with self._plainly():
                self.db.execute("BEGIN IMMEDIATE")
                self._here.writes = True
                try:
                    yield self.db
                    self.db.commit()
                except BaseException:
                    self.db.rollback()
                    raise
                finally:
                    self._here.writes = False

    @contextmanager
    def reading(self) -> Iterator[None]:
        """All that is read inside is of one moment, and waits for nobody who writes.

        Inside `writing` it sees what has been written there.
        """
        if getattr(self._here, "reader", None) or getattr(self._here, "writes", False):
            yield
            return
        if self._in_memory:  # there is only the one connection
            with self._lock:
                yield
            return
        with self._plainly():
            conn = self._reader()
            self._here.reader = conn
            try:
                conn.execute("BEGIN")
                yield
            finally:
                self._here.reader = None
                self._put_back(conn)

    def _reader(self) -> sqlite3.Connection:
        with suppress(IndexError):
            return self._idle.pop()
        conn = sqlite3.connect(self.path, timeout=BUSY_S, check_same_thread=False, isolation_level=None)
        conn.execute("PRAGMA query_only = ON")
        return conn

    def _put_back(self, conn: sqlite3.Connection) -> None:
        try:
            if conn.in_transaction:
                conn.execute("ROLLBACK")
        except sqlite3.Error:
            conn.close()
            return
        if self._closed or len(self._idle) >= _IDLE_READERS:
            conn.close()
        else:
            self._idle.append(conn)

    def rows(self, sql: str, *values: object) -> list[dict]:
        """What `sql` finds, as dictionaries."""
        with self._plainly(), self.reading():
            reader = getattr(self._here, "reader", None)
            inside_writing = reader is None or getattr(self._here, "writes", False)
            return _found(self.db.conn if inside_writing else reader, sql, values)


def _found(conn: sqlite3.Connection, sql: str, values: tuple) -> list[dict]:
    found = conn.execute(sql, values)
    names = [column[0] for column in found.description]
    return [dict(zip(names, row, strict=True)) for row in found]

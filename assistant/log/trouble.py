"""What a disk or a database can do to a store, in words and with what to do about it."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from assistant.errors import StoreError

BUSY_S = 10  # how long to wait for another command that is writing

_BY_SQLITE = {
    sqlite3.SQLITE_BUSY: "locked",
    sqlite3.SQLITE_LOCKED: "locked",
    sqlite3.SQLITE_READONLY: "read_only",
    sqlite3.SQLITE_PERM: "read_only",
    sqlite3.SQLITE_CANTOPEN: "read_only",
    sqlite3.SQLITE_FULL: "full",
    sqlite3.SQLITE_CORRUPT: "damaged",
    sqlite3.SQLITE_NOTADB: "damaged",
    sqlite3.SQLITE_IOERR: "refused",
}
_BY_ERRNO = {
    errno.EACCES: "read_only",
    errno.EPERM: "read_only",
    errno.EROFS: "read_only",
    errno.ENOSPC: "full",
    errno.EDQUOT: "full",
    errno.EFBIG: "refused",
    errno.EIO: "refused",
    errno.ENOTDIR: "no_folder",
    errno.EEXIST: "no_folder",
}
_SAYS = {
    "locked": "{path} is in use by another program. Wait until it is done, then try again; nothing was changed.",
    "read_only": "{path} cannot be written. Give this user the right to write there, or choose another folder "
    "with --home.",
    "full": "The disk that holds {path} is full. Make room, then tell the note again; notes told before are safe.",
    "refused": "The disk did not take what was written to {path} ({error}); it may be full or failing. "
    "Notes told before are safe. `superheard check --full` says more.",
    "damaged": "{path} is damaged. `superheard check --mend` sets it aside and saves what can be read; "
    "recordings lie beside it and are not touched.",
    "no_folder": "{path} cannot be a folder for jobs: a file is in the way. Choose another with --home.",
    "other": "{path} cannot be used: {error}. `superheard check` says more.",
}


@contextmanager
def told_plainly(path: Path | str) -> Iterator[None]:
    """Turn an error of the disk or of SQLite into a StoreError about `path` that says what to do."""
    try:
        yield
    except sqlite3.Error as err:
        raise _store_error(_kind(err), path, err) from err
    except OSError as err:
        raise _store_error(_BY_ERRNO.get(err.errno or 0, "other"), err.filename or path, err) from err


def is_damage(error: sqlite3.Error) -> bool:
    """Whether the database itself is damaged, as against locked or out of reach."""
    return _kind(error) == "damaged"


def _kind(error: sqlite3.Error) -> str:
    return _BY_SQLITE.get((getattr(error, "sqlite_errorcode", None) or 0) & 0xFF, "other")


def _store_error(kind: str, path: Path | str, error: Exception) -> StoreError:
    return StoreError(_SAYS[kind].format(path=path, error=error))

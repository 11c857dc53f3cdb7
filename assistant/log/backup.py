"""A copy of a store in one file, made while others write, and a store made of such a copy.

The file is a tar: superheard.db, recordings/ab/…, attachments/ab/…, and last backup.json, which lists each with its
size and SHA-256, and counts the rows. A copy is whole or absent, and so is what is restored.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import shutil
import sqlite3
import tarfile
import tempfile
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from sqlite_utils import Database

from assistant.errors import BackupError
from assistant.log import checking, recordings, schema
from assistant.log.attachments import FOLDER as PHOTOS
from assistant.log.store import DATABASE, RECORDINGS, Store, now
from assistant.log.trouble import BUSY_S, told_plainly

MANIFEST = "backup.json"
_FORMAT = 1
_MEMBER = re.compile(rf"{re.escape(DATABASE)}|({RECORDINGS}|{PHOTOS})/([0-9a-f]{{2}})/\2[0-9a-f]*\.[a-z0-9]{{1,8}}")
_PIECE = 1 << 20  # bytes


@dataclass(frozen=True, slots=True)
class Copied:
    """What a backup holds, or what was restored of it."""

    made_at: str  # ISO date-time with zone
    jobs: int
    notes: int
    files: int  # recordings and photos
    missing: tuple[str, ...] = ()  # of those, which the store spoke of and which were not on the disk, or not whole


def back_up(home: Path, target: Path) -> Copied:
    """Copy the store in `home` into the file `target`, as it is at one moment. Others may go on writing.

    Raises BackupError where there is no store or `target` is there already; StoreError where a disk will not have it.
    """
    if not (home / DATABASE).exists():
        raise BackupError(f"There is no store in {home}.")
    if target.exists():
        raise BackupError(f"{target} is there already; a backup never writes over another.")
    part = target.with_name(f".{target.name}.part")
    with told_plainly(target), tempfile.TemporaryDirectory(dir=target.parent, prefix=".backup-") as folder:
        try:
            database = Path(folder) / DATABASE
            _copy_database(home / DATABASE, database)
            with part.open("wb") as file:
                with tarfile.open(fileobj=file, mode="w") as tar:
                    copied = _fill(tar, home, database)
                file.flush()
                os.fsync(file.fileno())
            os.replace(part, target)
            recordings.flush_folder(target.parent)
        finally:
            part.unlink(missing_ok=True)
    return copied


def restore(source: Path, home: Path) -> Copied:
    """Make a store in `home`, which must be new or empty, of the backup `source`, and prove it.

    Every file is compared with its hash, the database is checked through, and its rows are counted, before anything
    stands in `home`. Raises BackupError for a backup that is not whole; StoreError where the disk will not have it.
    """
    if home.exists() and (not home.is_dir() or any(home.iterdir())):
        raise BackupError(f"{home} is not empty; a backup is restored into a new folder.")
    with told_plainly(home):
        home.parent.mkdir(parents=True, exist_ok=True)
        folder = Path(tempfile.mkdtemp(dir=home.parent, prefix=".restoring-"))
    try:
        with told_plainly(home):
            manifest = _unpacked(source, folder)
        copied = _proven(source, folder, manifest)
        with told_plainly(home):
            if home.exists():
                home.rmdir()
            os.replace(folder, home)
            recordings.flush_folder(home.parent)
        return copied
    finally:
        shutil.rmtree(folder, ignore_errors=True)


# ---------------------------------------------------------------- making one


def _copy_database(source: Path, target: Path) -> None:
    with (
        closing(sqlite3.connect(source, timeout=BUSY_S)) as live,
        closing(sqlite3.connect(target)) as copy,
    ):
        live.backup(copy)  # all pages in one go, so that it is of one moment
        copy.isolation_level = None
        schema.migrate(Database(copy))  # one of an earlier version; the store itself stays as it is
        copy.execute("PRAGMA journal_mode = DELETE")  # one file


def _fill(tar: tarfile.TarFile, home: Path, database: Path) -> Copied:
    listed, missing = [], []
    with database.open("rb") as file:
        listed.append(_added(tar, DATABASE, file, database.stat().st_size))
    for name, sha256 in _files(database):
        entry = _added_if_whole(tar, home / name, name, sha256)
        if entry:
            listed.append(entry)
        else:
            missing.append(name)
    counts = counted(database)
    copied = Copied(now(), counts["job"], counts["note"], len(listed) - 1, tuple(missing))
    manifest = {"format": _FORMAT, "made_at": copied.made_at, "counts": counts, "files": listed, "missing": missing}
    raw = json.dumps(manifest, indent=1).encode()
    _added(tar, MANIFEST, io.BytesIO(raw), len(raw))
    return copied


def _files(database: Path) -> list[tuple[str, str]]:
    """Every recording and photo the copied database speaks of, as its place in the home and its hash."""
    kept = "SELECT sha256, suffix FROM recording WHERE sha256 NOT IN (SELECT sha256 FROM expired)"
    with closing(sqlite3.connect(database)) as conn:
        rows = [(RECORDINGS, *row) for row in conn.execute(kept)]
        rows += [(PHOTOS, *row) for row in conn.execute("SELECT DISTINCT sha256, suffix FROM attachment")]
    return [(recordings.place_of(Path(f), sha256, suffix).as_posix(), sha256) for f, sha256, suffix in sorted(rows)]


def _added_if_whole(tar: tarfile.TarFile, path: Path, name: str, sha256: str) -> dict | None:
    try:
        if not recordings.is_whole(path, sha256):
            return None
        with path.open("rb") as file:
            return _added(tar, name, file, os.fstat(file.fileno()).st_size)
    except FileNotFoundError:  # deleted for good since the database was copied
        return None


def _added(tar: tarfile.TarFile, name: str, file, size: int) -> dict:
    """Put a file into the tar and say what it was as it was put there."""
    member = tarfile.TarInfo(name)
    member.size, member.mode = size, 0o600
    reading = _Hashing(file)
    tar.addfile(member, reading)
    return {"name": name, "bytes": size, "sha256": reading.hash.hexdigest()}


class _Hashing:
    """A file that is hashed as it is read."""

    def __init__(self, file):
        self._file, self.hash = file, hashlib.sha256()

    def read(self, size: int = -1) -> bytes:
        piece = self._file.read(size)
        self.hash.update(piece)
        return piece


def counted(database: Path) -> dict[str, int]:
    """How many rows each table of what was told has."""
    with closing(sqlite3.connect(database)) as conn:
        there = {row[0] for row in conn.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        tables = [table for table in schema.TOLD if table in there]
        return {table: conn.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in tables}


# ---------------------------------------------------------------- proving one


def _unpacked(source: Path, folder: Path) -> dict:
    """Unpack what belongs into a backup, checking each file against its hash; the manifest."""
    hashes: dict[str, tuple[int, str]] = {}
    manifest = None
    try:
        with tarfile.open(source, mode="r:") as tar:
            for member in tar:
                file = tar.extractfile(member) if member.isreg() else None
                if file is not None and member.name == MANIFEST and member.size < 1 << 30:
                    manifest = json.loads(file.read())
                elif file is not None and _MEMBER.fullmatch(member.name):
                    hashes[member.name] = (member.size, _written(file, folder / member.name))
                else:
                    raise BackupError(f"{source} holds {member.name!r}, which is no part of a backup.")
    except (tarfile.TarError, EOFError, ValueError) as err:
        raise BackupError(f"{source} is no backup, or is cut short: {err}.") from err
    if not isinstance(manifest, dict) or manifest.get("format") != _FORMAT:
        raise BackupError(f"{source} is no backup that this superheard can read, or is cut short.")
    promised = {each["name"]: (each["bytes"], each["sha256"]) for each in manifest["files"]}
    wrong = sorted(name for name in promised.keys() | hashes.keys() if promised.get(name) != hashes.get(name))
    if wrong:
        raise BackupError(f"{source} is damaged: {wrong[0]} is not what was put in ({len(wrong)} files in all).")
    return manifest


def _written(file, path: Path) -> str:
    path.parent.mkdir(parents=True, exist_ok=True)
    summed = hashlib.sha256()
    with path.open("wb") as out:
        while piece := file.read(_PIECE):
            summed.update(piece)
            out.write(piece)
        out.flush()
        os.fsync(out.fileno())
    return summed.hexdigest()


def _proven(source: Path, folder: Path, manifest: dict) -> Copied:
    """What was unpacked, once the database is found whole and to hold what the backup says. Raises BackupError."""
    with told_plainly(folder / DATABASE):
        counts = counted(folder / DATABASE)
    if counts != manifest["counts"]:
        raise BackupError(f"{source} is damaged: it holds {counts}, and {manifest['counts']} were put in.")
    Store(folder).close()  # brings a backup made by an earlier version up to date
    missing = tuple(manifest["missing"])
    faults = [fault for fault in checking.status(folder, full=True).faults if not _is_known(fault, folder, missing)]
    if faults:
        raise BackupError(f"{source} does not come to a whole store: {faults[0]}")
    return Copied(manifest["made_at"], counts["job"], counts["note"], len(manifest["files"]) - 1, missing)


def _is_known(fault: str, folder: Path, missing: tuple[str, ...]) -> bool:
    """Whether a fault is of a file that was missing when the backup was made already."""
    return any(fault.startswith(str(folder / name)) for name in missing)

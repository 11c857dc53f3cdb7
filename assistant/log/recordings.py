"""Recordings on disk, each under the SHA-256 of its bytes: recordings/ab/ab12….ogg.

A recording is whole or absent: it is written beside its place, flushed, then renamed, and the folder is
flushed too, so that after a power cut the name is there with all its bytes or not at all.
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
from pathlib import Path


def place_of(folder: Path, sha256: str, suffix: str) -> Path:
    """Where the recording with that hash is kept. `suffix` with or without its dot; odd ones become "bin"."""
    ending = suffix.lower().lstrip(".")
    return folder / sha256[:2] / f"{sha256}.{ending if re.fullmatch(r'[a-z0-9]{1,8}', ending) else 'bin'}"


def keep(folder: Path, sha256: str, suffix: str, raw: bytes) -> Path:
    """Write a recording, unless it is there unharmed. Back only when it is safe on the disk. Raises OSError."""
    path = place_of(folder, sha256, suffix)
    if is_whole(path, sha256):
        return path
    missing = [each for each in (path.parent, *path.parent.parents) if not each.exists()]
    path.parent.mkdir(parents=True, exist_ok=True)
    for made in missing:
        flush_folder(made.parent)
    handle, part = tempfile.mkstemp(dir=path.parent, prefix=".part-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, path)
    except BaseException:
        Path(part).unlink(missing_ok=True)
        raise
    flush_folder(path.parent)
    return path


def is_whole(path: Path, sha256: str) -> bool:
    """Whether the file is there and its bytes are the ones its name promises."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest() == sha256
    except FileNotFoundError:
        return False


def flush_folder(folder: Path) -> None:
    if os.name == "nt":  # there a folder cannot be opened, and a rename is flushed with the file
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)

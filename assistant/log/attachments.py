"""Photos kept with a note: whole files under the SHA-256 of their bytes, as recordings are. They are not read."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path

from assistant.errors import AttachmentError, NoSuchAttachment, StoreError
from assistant.log import recordings
from assistant.log.store import Store, Told, now
from assistant.log.trouble import told_plainly

FOLDER = "attachments"
_COLUMNS = "sha256, suffix, media_type, bytes, note, by, at"
_HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"hevx", b"mif1", b"msf1")


@dataclass(frozen=True, slots=True)
class Attachment:
    """A photo of a note."""

    sha256: str  # of its bytes
    suffix: str  # "jpg"
    media_type: str  # "image/jpeg"
    bytes: int
    note: str  # id of the note
    by: str  # who added it
    at: str  # ISO date-time with zone


def kind_of(raw: bytes) -> tuple[str, str] | None:
    """Suffix and media type of a photo, by its first bytes; None for what is no photo we keep."""
    if raw.startswith(b"\xff\xd8\xff"):
        return "jpg", "image/jpeg"
    if raw.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png", "image/png"
    if raw.startswith(b"RIFF") and raw[8:12] == b"WEBP":
        return "webp", "image/webp"
    if raw[4:8] == b"ftyp" and raw[8:12] in _HEIF_BRANDS:
        return "heic", "image/heic"
    return None


def add(store: Store, note: Told, raw: bytes, by: str, most_bytes: int) -> Attachment:
    """Keep a photo with a note, once, safe on the disk. Raises AttachmentError for what is none or too large."""
    if len(raw) > most_bytes:
        raise AttachmentError(f"The photo has {len(raw) / 1e6:.1f} MB; at most {most_bytes / 1e6:g} MB are taken.")
    kind = kind_of(raw)
    if kind is None:
        raise AttachmentError("That is no photo of a kind that is kept: JPEG, PNG, WebP or HEIC.")
    sha256 = hashlib.sha256(raw).hexdigest()
    if store.home:
        with told_plainly(store.home):
            recordings.keep(store.home / FOLDER, sha256, kind[0], raw)
    row = {"sha256": sha256, "suffix": kind[0], "media_type": kind[1], "bytes": len(raw), "note": note.id, "by": by}
    with store.writing() as db:
        db.table("attachment").insert(row | {"at": now()}, ignore=True)
        if store.home and not recordings.place_of(store.home / FOLDER, sha256, kind[0]).exists():
            recordings.keep(store.home / FOLDER, sha256, kind[0], raw)  # it was being deleted just now
        found = _found(store, "note = ? AND sha256 = ?", note.id, sha256)
    return found[0]


def of_job(store: Store, job: str) -> list[Attachment]:
    """A job's photos, oldest first."""
    return _found(store, "note IN (SELECT id FROM note WHERE job = ?)", job)


def of_hash(store: Store, sha256: str) -> Attachment:
    """The photo of that hash, with the first note it was added to. Raises NoSuchAttachment."""
    found = _found(store, "sha256 = ?", sha256)
    if not found:
        raise NoSuchAttachment(sha256)
    return found[0]


def file_of(store: Store, sha256: str) -> Path:
    """A photo's file. Raises NoSuchAttachment; StoreError where it is gone from the disk."""
    photo = of_hash(store, sha256)
    path = recordings.place_of(store.home / FOLDER, sha256, photo.suffix) if store.home else None
    if path is None or not path.exists():
        raise StoreError(f"The photo {sha256[:12]} is not on this disk{f' (it was {path})' if path else ''}.")
    return path


def _found(store: Store, where: str, *values: object) -> list[Attachment]:
    sql = f"SELECT {_COLUMNS} FROM attachment WHERE {where} ORDER BY seq"
    return [Attachment(**row) for row in store.rows(sql, *values)]

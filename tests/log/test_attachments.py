"""Photos are kept whole beside the recordings, known by their first bytes, and never changed."""

from __future__ import annotations

import hashlib
import sqlite3

import pytest

from assistant import Assistant
from assistant.errors import AttachmentError, NoSuchAttachment, NoSuchNote, StoreError
from assistant.log import recordings
from assistant.settings import Settings

JPEG = b"\xff\xd8\xff\xe0" + bytes(200)
KINDS = {
    "image/jpeg": JPEG,
    "image/png": b"\x89PNG\r\n\x1a\n" + bytes(50),
    "image/webp": b"RIFF\x20\0\0\0WEBPVP8 " + bytes(50),
    "image/heic": b"\0\0\0\x18ftypheic" + bytes(50),
}


@pytest.fixture
def assistant(tmp_path):
    with Assistant(tmp_path, settings=Settings(max_photo_mb=0.01)) as opened:
        opened.note = opened.accept("Head is 345 psi.", job="a").note
        yield opened


@pytest.mark.parametrize("media_type", KINDS)
def test_a_photo_is_kept_as_it_was_sent(assistant, media_type):
    raw = KINDS[media_type]
    kept = assistant.attach(assistant.note, raw, "Ana")
    assert (kept.media_type, kept.bytes, kept.note, kept.by) == (media_type, len(raw), assistant.note, "Ana")
    assert kept.sha256 == hashlib.sha256(raw).hexdigest()
    file = assistant.attachment_file(kept.sha256)
    assert file.read_bytes() == raw and file.suffix == "." + kept.suffix
    assert assistant.attachments("a") == [kept] == [assistant.attachment(kept.sha256)]


def test_the_same_photo_twice_is_once_and_with_another_note_one_file(assistant):
    first = assistant.attach(assistant.note, JPEG, "Ana")
    assert assistant.attach(assistant.note, JPEG, "Bo") == first
    other = assistant.accept("Suction is 118 psi.", job="b").note
    assert assistant.attach(other, JPEG, "Bo").sha256 == first.sha256
    assert len(list((assistant.home / "attachments").rglob("*.jpg"))) == 1
    assert len(assistant.attachments("a")) == len(assistant.attachments("b")) == 1


@pytest.mark.parametrize(
    "raw", [b"", b"GIF89a" + bytes(20), b"<svg onload=x>", b"\xff\xd8", b"RIFF\0\0\0\0WAVE", b"%PDF"]
)
def test_what_is_no_photo_is_refused_and_nothing_is_written(assistant, raw):
    with pytest.raises(AttachmentError, match="no photo"):
        assistant.attach(assistant.note, raw, "Ana")
    assert not (assistant.home / "attachments").exists()


def test_one_too_large_is_refused(assistant):
    with pytest.raises(AttachmentError, match="0.01 MB"):
        assistant.attach(assistant.note, JPEG + bytes(10_000), "Ana")


def test_what_is_not_there_is_a_clear_error(assistant):
    with pytest.raises(NoSuchNote):
        assistant.attach("abc", JPEG, "Ana")
    with pytest.raises(NoSuchAttachment):
        assistant.attachment_file("0" * 64)
    kept = assistant.attach(assistant.note, JPEG, "Ana")
    assistant.attachment_file(kept.sha256).unlink()
    with pytest.raises(StoreError, match="not on this disk"):
        assistant.attachment_file(kept.sha256)


def test_a_full_disk_is_a_clear_error_and_leaves_no_part(assistant, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(recordings.os, "fsync", full)
    with pytest.raises(StoreError, match="full"):
        assistant.attach(assistant.note, JPEG, "Ana")
    assert [file for file in (assistant.home / "attachments").rglob("*") if file.is_file()] == []
    assert assistant.attachments("a") == []


def test_its_row_is_never_changed_or_removed(assistant):
    assistant.attach(assistant.note, JPEG, "Ana")
    for sql in ("UPDATE attachment SET by = 'x'", "DELETE FROM attachment"):
        with pytest.raises(sqlite3.IntegrityError, match="never"):
            assistant._store.db.execute(sql)

"""What a file is, by its first bytes: the type that is written on it proves nothing."""

from __future__ import annotations

import re

HEAD = 64  # bytes that are looked at

# Containers that recorders and phones make. What begins like one and is none fails when it is decoded.
_SOUND = re.compile(
    rb"RIFF....WAVE|RF64....WAVE|fLaC|OggS|ID3|\xff[\xe2-\xfb]|....ftyp|\x1aE\xdf\xa3|#!AMR|caff"
    rb"|FORM....AIF[FC]|\.snd|\x30\x26\xb2\x75\x8e\x66\xcf\x11|riff\x2e\x91\xcf\x11",
    re.DOTALL,
)

MEDIA_TYPE = {
    ".wav": "audio/wav", ".flac": "audio/flac", ".mp3": "audio/mpeg", ".m4a": "audio/mp4", ".ogg": "audio/ogg",
    ".webm": "audio/webm", ".aac": "audio/aac", ".aiff": "audio/aiff", ".amr": "audio/amr", ".caf": "audio/x-caf",
    ".wma": "audio/x-ms-wma", ".w64": "audio/x-w64", ".au": "audio/basic",
}  # fmt: skip
SHOWN = frozenset({"image/jpeg", "image/png", "image/webp"})  # what every browser shows; others are downloaded


def is_sound(head: bytes) -> bool:
    """Whether a file that begins like that can be a recording."""
    return _SOUND.match(head) is not None

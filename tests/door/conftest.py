"""A stand-in for the recogniser, shared by the door's tests."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field

import pytest

from tests.door.sounds import spoken


@dataclass
class SlowEars:
    """A recogniser that hears what it is told to, and is as slow as the test wants."""

    says: str = "Head pressure is 345 psi."
    listened: list[str] = field(default_factory=list)
    listening: threading.Event = field(default_factory=threading.Event)  # set once it has begun
    go_on: threading.Event = field(default_factory=threading.Event)  # it waits for this
    fails: Exception | None = None
    at_once: int = 0
    most_at_once: int = 0


@pytest.fixture
def slow_ears(monkeypatch):
    ears = SlowEars()
    ears.go_on.set()

    def transcribe(recording, _, progress=None):
        ears.at_once += 1
        ears.most_at_once = max(ears.most_at_once, ears.at_once)
        try:
            ears.listening.set()
            assert ears.go_on.wait(20)
            if ears.fails:
                raise ears.fails
            ears.listened.append(recording.sha256)
            if progress:
                progress(1.0)
            return spoken(ears.says, recording.duration_s)
        finally:
            ears.at_once -= 1

    monkeypatch.setattr("assistant.hear.transcript.load_ears", lambda *_: object())
    monkeypatch.setattr("assistant.hear.transcript.transcribe", transcribe)
    return ears

"""Recordings and transcripts made up for the door's tests."""

from __future__ import annotations

import io
import wave

import numpy as np

from assistant.records import Transcript, Word


def tone(hertz: float) -> bytes:
    """A second of a tone as a wav file: a recording whose bytes differ with its pitch."""
    return wav(8000 * np.sin(2 * np.pi * hertz * np.arange(16_000) / 16_000))


def wav(sound: np.ndarray) -> bytes:
    """Samples [16 kHz mono, 16 bit] as a wav file."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16_000)
        file.writeframes(sound.astype("<i2").tobytes())
    return out.getvalue()


def spoken(text: str, duration_s: float | None = None, model: str = "stand-in") -> Transcript:
    """A transcript of those words, each half a second long."""
    words = tuple(Word(word, place * 0.5, place * 0.5 + 0.4, 0.9) for place, word in enumerate(text.split()))
    return Transcript(" ".join(text.split()), words, (), duration_s, model)

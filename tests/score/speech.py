"""The corpus as it was spoken: its recordings, with noise mixed in, through the project's own recogniser.

`tests/corpus/audio` holds each note of the corpus read by one of ten synthetic voices, quiet. The noise is a
running condenser, mixed in here from a fixed seed, so that every run hears the same thing.
"""

from __future__ import annotations

import time
import zlib
from pathlib import Path

import click
import numpy as np

from tests.score.cases import Set

AUDIO = Path(__file__).parent.parent / "corpus" / "audio"
LEVELS = ("quiet", "10", "5", "0")  # decibels by which the voice is louder than the condenser


def samples_at(speech: np.ndarray, name: str, level: str) -> np.ndarray:
    """`speech` [16 kHz mono] beside the condenser at a level; the same name and level give the same samples."""
    from tests.hear.nonspeech import RATE, condenser, with_noise

    if level == "quiet":
        return speech
    noise = condenser(len(speech) / RATE + 1, np.random.default_rng(zlib.crc32(name.encode())))
    return with_noise(speech, noise[: len(speech)], float(level))


def transcribe_all(cases: Set, level: str, into: Path) -> None:
    """Write `<id>.txt` for every case that has a recording. What it took goes to standard error."""
    from assistant.hear.recording import read_recording
    from assistant.hear.transcript import load_ears, transcribe
    from tests.hear.nonspeech import as_recording

    ears, heard_s, start = load_ears(), 0.0, time.perf_counter()
    for case in cases.cases:
        file = AUDIO / f"{case.id}.ogg"
        if not file.is_file():
            continue
        recording = read_recording(file)
        heard_s += recording.duration_s
        mixed = as_recording(samples_at(recording.samples, case.id, level))
        (into / f"{case.id}.txt").write_text(transcribe(mixed, ears).text, "utf-8")
    took = time.perf_counter() - start
    click.echo(f"{heard_s:.0f} s of speech heard in {took:.0f} s: {heard_s / took:.1f} times real time.", err=True)

"""The corpus as it was spoken: its recordings, with noise mixed in, through the project's own recogniser.

`tests/corpus/audio` holds each note of the corpus read by one of ten synthetic voices, quiet. The noise is a
running condenser, mixed in here from a fixed seed, so that every run hears the same thing. Nothing that was heard
is kept from one run to the next unless it is asked for: `<id>.txt` to look at, `<id>.json` with each word's times and
probability, to be scored again without hearing.
"""

from __future__ import annotations

import json
import time
import zlib
from dataclasses import asdict, dataclass
from pathlib import Path

import click
import numpy as np

from tests.score.cases import Set

AUDIO = Path(__file__).parent.parent / "corpus" / "audio"
LEVELS = ("quiet", "10", "5", "0")  # decibels by which the voice is louder than the condenser


@dataclass(slots=True)
class Hearing:
    """How much was heard, and what the recogniser took for it; loading it, decoding and mixing are not counted."""

    level: str
    recordings: int = 0
    words: int = 0
    speech_s: float = 0.0
    took_s: float = 0.0

    def add(self, words: int, speech_s: float, took_s: float) -> None:
        self.recordings += 1
        self.words += words
        self.speech_s += speech_s
        self.took_s += took_s

    def words_per_second(self) -> float:
        return self.words / self.took_s if self.took_s else 0.0

    def real_time_factor(self) -> float:
        """Seconds of work for a second of speech."""
        return self.took_s / self.speech_s if self.speech_s else 0.0

    def plain(self) -> dict[str, str | float]:
        return asdict(self) | {
            "words_per_second": self.words_per_second(),
            "real_time_factor": self.real_time_factor(),
        }

    def __str__(self) -> str:
        beside = "quiet" if self.level == "quiet" else f"{self.level} dB over a condenser"
        return (
            f"{self.recordings} recordings, {beside}: {self.words} words of {self.speech_s:.0f} s of speech in "
            f"{self.took_s:.0f} s, {self.words_per_second():.1f} words a second, "
            f"real-time factor {self.real_time_factor():.3f}"
        )


def samples_at(speech: np.ndarray, name: str, level: str) -> np.ndarray:
    """`speech` [16 kHz mono] beside the condenser at a level; the same name and level give the same samples."""
    from tests.hear.nonspeech import RATE, condenser, with_noise

    if level == "quiet":
        return speech
    noise = condenser(len(speech) / RATE + 1, np.random.default_rng(zlib.crc32(name.encode())))
    return with_noise(speech, noise[: len(speech)], float(level))


def transcribe_all(cases: Set, level: str, into: Path) -> Hearing:
    """Write what is heard of every case that has a recording. Each one is told on standard error as it is done."""
    from assistant.hear.recording import read_recording
    from assistant.hear.transcript import load_ears, transcribe
    from assistant.records import plain
    from tests.hear.nonspeech import as_recording

    ears, hearing = load_ears(), Hearing(level)
    files = {case.id: file for case in cases.cases if (file := AUDIO / f"{case.id}.ogg").is_file()}
    for name, file in files.items():
        recording = read_recording(file)
        mixed = as_recording(samples_at(recording.samples, name, level))
        start = time.perf_counter()
        heard = transcribe(mixed, ears)
        took = time.perf_counter() - start
        hearing.add(len(heard.words), recording.duration_s, took)
        (into / f"{name}.txt").write_text(heard.text + "\n", "utf-8")
        (into / f"{name}.json").write_text(json.dumps(plain(heard)), "utf-8")
        click.echo(f"{hearing.recordings}/{len(files)} {name}: {recording.duration_s:.0f} s in {took:.1f} s", err=True)
    return hearing

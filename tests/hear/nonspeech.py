"""Sounds in which nobody says anything, made by rule and seed, and a long run of the ears over them.

    python -m tests.hear.nonspeech --minutes 30

hears that much non-speech and prints what was written down: the right answer is nothing, and a number
is the worst one. Every sound is float32, mono, 16 kHz, and the same for the same seed everywhere.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import numpy as np

from assistant.hear.recording import Recording, read_recording
from assistant.hear.transcript import load_ears, transcribe
from assistant.log.settle import start_job
from assistant.records import Transcript
from assistant.understand.read import read

RATE = 16_000
HERE = Path(__file__).parent

NUMBER = re.compile(
    r"\d|\b(?:zero|oh|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|(?:thir|four|fif|six|seven|eigh|nine)"
    r"teen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|hundred|thousand|half|quarters?|thirds?|eighths?"
    r"|sixteenths?|point|minus|double|dozen|couple|pair|single|first|second|fourth|fifth)\b",
    re.IGNORECASE,
)


def coloured(seconds: float, rng: np.random.Generator, slope: float) -> np.ndarray:
    """Noise whose power falls as frequency to the `slope`: 0 white, 1 pink, 2 brown; peak 1."""
    count = int(seconds * RATE)
    spectrum = np.fft.rfft(rng.standard_normal(count))
    hertz = np.maximum(np.fft.rfftfreq(count, 1 / RATE), 20.0)
    return level(np.fft.irfft(spectrum * hertz ** (-slope / 2), count))


def level(sound: np.ndarray, peak: float = 0.5) -> np.ndarray:
    """`sound` scaled to that peak, as float32; silence stays silence."""
    top = np.abs(sound).max(initial=0.0)
    return (sound * (peak / top if top else 0.0)).astype(np.float32)


def clock(seconds: float) -> np.ndarray:
    return np.arange(int(seconds * RATE)) / RATE


def swing(seconds: float, rng: np.random.Generator, per_second: float) -> np.ndarray:
    """A slow random swing between 0 and 1 that turns about `per_second` times a second."""
    knots = rng.uniform(0, 1, max(2, int(seconds * per_second) + 2))
    return np.interp(np.linspace(0, len(knots) - 1, int(seconds * RATE)), np.arange(len(knots)), knots)


def silence(seconds: float, rng: np.random.Generator) -> np.ndarray:
    return np.zeros(int(seconds * RATE), np.float32)


def hiss(seconds: float, rng: np.random.Generator) -> np.ndarray:
    return coloured(seconds, rng, 0.0) * np.float32(rng.uniform(0.02, 1))


def fan(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """A blower: pink rush, the blades' beat and its overtones, breathing slowly."""
    beat, t = rng.uniform(60, 180), clock(seconds)
    blades = sum(np.sin(2 * np.pi * beat * n * t + rng.uniform(0, 6)) / n for n in range(1, 6))
    return level(coloured(seconds, rng, 1.0) * (0.7 + 0.3 * swing(seconds, rng, 0.5)) + 0.08 * blades)


def condenser(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """An outdoor unit: twice-mains hum with overtones, fan rush, and the compressor's rattle."""
    t = clock(seconds)
    hum = sum(np.sin(2 * np.pi * 120 * n * t + rng.uniform(0, 6)) / n**1.2 for n in range(1, 9))
    rattle = coloured(seconds, rng, 0.5) * (0.5 + 0.5 * np.sin(2 * np.pi * rng.uniform(25, 30) * t))
    return level(0.25 * hum / np.abs(hum).max() + 0.6 * coloured(seconds, rng, 1.2) + 0.15 * rattle)


def hum(seconds: float, rng: np.random.Generator) -> np.ndarray:
    t, base = clock(seconds), rng.choice([50.0, 60.0, 120.0])
    return level(sum(np.sin(2 * np.pi * base * n * t) / n for n in range(1, 12)))


def tones(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Beeps of changing pitch and length with pauses, as meters and alarms make them."""
    t, on = clock(seconds), swing(seconds, rng, 3) > 0.5
    pitch = np.repeat(rng.uniform(300, 3000, int(seconds * 2) + 1), RATE // 2)[: len(t)]
    return level(np.sin(2 * np.pi * np.cumsum(pitch) / RATE) * on)


def music(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Plucked chords over a beat, in a major scale."""
    out, scale = np.zeros(int(seconds * RATE)), 220 * 2 ** (np.array([0, 2, 4, 5, 7, 9, 11, 12]) / 12)
    note = clock(0.6)
    for start in range(0, len(out) - len(note), int(0.3 * RATE)):
        for pitch in rng.choice(scale, 3):
            voice = sum(np.sin(2 * np.pi * pitch * n * note) / n**2 for n in range(1, 6))
            out[start : start + len(note)] += voice * np.exp(-note * 4)
    beat = (clock(seconds) % 0.6 < 0.03) * rng.standard_normal(len(out))
    return level(out / np.abs(out).max(initial=1e-9) + 0.3 * beat)


def speech_rhythm(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Noise shaped like a voice's average spectrum that comes and goes at the rate of syllables."""
    syllables = np.clip(np.sin(2 * np.pi * rng.uniform(3, 5) * clock(seconds)), 0, 1) * swing(seconds, rng, 1.5)
    return level(coloured(seconds, rng, 1.0) * syllables)


def buzz_rhythm(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """A buzz at the pitch of a voice with wandering formants, as a voice without words."""
    t = clock(seconds)
    pitch = 2 * np.pi * np.cumsum(90 + 60 * swing(seconds, rng, 2)) / RATE
    formants = [300 + 500 * swing(seconds, rng, 4), 900 + 1200 * swing(seconds, rng, 4)]
    out = np.zeros(len(t))
    for n in range(1, 25):
        hertz = n * 120
        weight = sum(np.exp(-(((hertz - formant) / 250) ** 2)) for formant in formants)
        out += weight * np.sin(n * pitch)
    return level(out * (swing(seconds, rng, 5) > 0.35))


def clatter(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Tools set down and doors: short decaying knocks over a quiet room."""
    out, ring = 0.02 * coloured(seconds, rng, 1.0), clock(0.25)
    for start in rng.integers(0, max(1, len(out) - len(ring)), max(1, int(seconds * 2))):
        knock = np.sin(2 * np.pi * rng.uniform(200, 2500) * ring) + rng.standard_normal(len(ring))
        out[start : start + len(ring)] += knock * np.exp(-ring * rng.uniform(15, 60))
    return level(out)


def wind(seconds: float, rng: np.random.Generator) -> np.ndarray:
    return level(coloured(seconds, rng, 2.0) * swing(seconds, rng, 1.0) ** 2)


@cache
def voices() -> tuple[np.ndarray, ...]:
    """The recordings kept beside the tests, each at the same loudness; babble is made of them."""
    paths = [path for folder in ("audio", "human") for path in sorted((HERE / folder).iterdir())]
    found = [read_recording(path).samples for path in paths if path.suffix in (".ogg", ".flac")]
    return tuple(sound / np.sqrt(np.mean(sound**2)) for sound in found if len(sound) > 2 * RATE)


def crowd(seconds: float, rng: np.random.Generator, people: int, step: int) -> np.ndarray:
    """So many voices at equal loudness, each from another moment and a little retuned; `step` -1 is backwards."""
    out, pool = np.zeros(int(seconds * RATE)), voices()
    for _ in range(people):
        voice = pool[rng.integers(len(pool))][::step]
        places = rng.integers(len(voice)) + np.arange(len(out)) * rng.uniform(0.8, 1.25)
        out += voice[(places % len(voice)).astype(int)]
    return level(out)


def babble(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """A full room, in which no word can be made out."""
    return crowd(seconds, rng, int(rng.integers(16, 40)), 1)


def backwards(seconds: float, rng: np.random.Generator) -> np.ndarray:
    """Voices played backwards: a voice's sound and rhythm, and no word in any language."""
    return crowd(seconds, rng, int(rng.integers(1, 7)), -1)


SOUNDS: dict[str, Callable[[float, np.random.Generator], np.ndarray]] = {
    sound.__name__: sound
    for sound in (
        silence, hiss, fan, condenser, hum, tones, music, speech_rhythm, buzz_rhythm, clatter, wind, babble, backwards,
    )
}  # fmt: skip


def with_noise(speech: np.ndarray, noise: np.ndarray, decibels: float) -> np.ndarray:
    """`speech` over `noise` of the same length, so many decibels louder in mean power; kept below full scale."""
    gain = np.sqrt(np.mean(speech**2) / (np.mean(noise**2) * 10 ** (decibels / 10)))
    mixed = speech + noise * gain
    return (mixed / max(1.0, float(np.abs(mixed).max()))).astype(np.float32)


def as_recording(samples: np.ndarray) -> Recording:
    """A recording of these samples, without a file behind it."""
    return Recording(sha256="", raw=b"", suffix=".wav", duration_s=len(samples) / RATE, samples=samples)


def run(minutes: float, piece_s: float = 30.0, seed: int = 0) -> Iterator[tuple[str, float, str, int]]:
    """(sound, seconds, text written down, stretches cut) for each piece, until so many minutes are heard."""
    ears = load_ears()
    pieces = max(1, round(minutes * 60 / piece_s))
    names = list(SOUNDS)
    for number in range(pieces):
        name = names[number % len(names)]
        rng = np.random.default_rng([seed, number])
        samples = level(SOUNDS[name](piece_s, rng), peak=rng.uniform(0.02, 1.0))  # from far away to clipping
        transcript = transcribe(as_recording(samples), ears)
        yield name, piece_s, transcript.text, len(transcript.unclear)


def readings_in(text: str) -> int:
    """How many readings the language stage would write down for a transcript."""
    return len(read(Transcript(text), "noise", "2026-01-01", start_job("noise")).readings)


def main() -> None:
    options = argparse.ArgumentParser(description="Hear generated non-speech and print what was written down.")
    options.add_argument("--minutes", type=float, default=30.0)
    options.add_argument("--seed", type=int, default=0)
    asked = options.parse_args()
    heard, words, numbers, cut, readings = 0.0, 0, 0, 0, 0
    for name, seconds, text, unclear in run(asked.minutes, seed=asked.seed):
        heard, words, cut = heard + seconds, words + len(text.split()), cut + unclear
        numbers += len(NUMBER.findall(text))
        readings += readings_in(text)
        if text:
            print(f"{name}: {text}")
    found = f"{words} words, {numbers} numbers, {readings} readings, {cut} stretches cut as unclear"
    print(f"{heard / 60:.1f} minutes of non-speech: {found}")


if __name__ == "__main__":
    main()

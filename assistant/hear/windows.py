"""Where in a recording somebody speaks, as windows the recogniser can hear in one go.

Each window is heard exactly once. Left to itself the recogniser walks on by the time stamps it guesses and
hears the last tenths of a second of a note again, as a window of their own; out of those it makes up
sentences, and once, in trials, a number.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

RATE = 16_000
LONGEST_S = 28.0  # the recogniser's own window is 30 s; the rest is room for the padding
PAUSE_S = 0.3  # a pause at which a long stretch may be parted
APART_S = 2.0  # speech further apart than this is heard in separate windows, and
PARTED_S = 0.1  # further apart than this once a window is
PARTED_FROM_S = 8.0  # so long: what was said before a real pause need not wait for the rest, nor the answer for it
PAD_S = 0.4  # kept before and after speech; with 0.25 or 0.3 a phrase of three words was not heard
_BLOCK_S = 600.0  # voice detection works through this much at once, which bounds its memory
_EDGE_S = 30.0  # how far before the end of a block its quietest moment is looked for


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of the recording with speech in it, at most 30 s."""

    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """Some of a recording's sound, found by where it stands in the whole: `stretch[first:last]`."""

    first: int  # sample of the recording that `samples` begins with
    samples: np.ndarray  # float32, mono, 16 kHz

    def __getitem__(self, at: slice) -> np.ndarray:
        return self.samples[at.start - self.first : at.stop - self.first]


def speech_windows(samples: np.ndarray) -> tuple[Window, ...]:
    """Windows of speech in float32 mono samples at 16 kHz, in order, not overlapping; none if nobody speaks.

    Method: Silero voice activity detection, as faster-whisper carries it. It alone rejects nearly all of
    fan noise, hum, tones and music.
    """
    return tuple(window for _, (window,) in stretches([samples], 1))


def stretches(sound: Iterable[np.ndarray], together: int) -> Iterator[tuple[Stretch, tuple[Window, ...]]]:
    """The windows of speech in a sound that comes in pieces, `together` at a time, with the sound they are in.

    At no time is more of the sound held than two blocks, and as much as the windows that are waited for take.
    """
    held: tuple[Window, ...] = ()  # the last of them may go on, and fewer than `together` wait for more
    kept, first = np.zeros(0, np.float32), 0
    for block in _blocks(sound):
        kept, at = np.concatenate([kept, block]), first + len(kept)
        held = packed([*held, *_spans(block, at / RATE)])
        while len(held) > together:
            yield Stretch(first, kept), held[:together]
            held = held[together:]
        wanted = int(held[0].start_s * RATE) if held else first + len(kept)
        kept, first = kept[wanted - first :], wanted
    if held:
        yield Stretch(first, kept), held


def packed(spans: Iterable[Window]) -> tuple[Window, ...]:
    """Spans of speech, in order, as the windows to hear them in: those close together in one."""
    windows: list[Window] = []
    for span in spans:
        last = windows[-1] if windows else None
        if last and span.start_s - last.end_s < apart_s(last) and span.end_s - last.start_s <= LONGEST_S + 2 * PAD_S:
            windows[-1] = Window(last.start_s, span.end_s)
        else:
            windows.append(span)
    return tuple(windows)


def apart_s(window: Window) -> float:
    """How far behind a window speech has to begin to be in a window of its own, what is kept around each counted."""
    return PARTED_S if window.end_s - window.start_s >= PARTED_FROM_S else APART_S


def padded(spans: Sequence[tuple[int, int]], length: int) -> list[Window]:
    """Spans of bare speech, in samples of a sound of `length`, with what is kept around each; none overlap."""
    pad, found = int(PAD_S * RATE), []
    for at, (start, end) in enumerate(spans):
        before = start - spans[at - 1][1] if at else 2 * pad
        after = spans[at + 1][0] - end if at + 1 < len(spans) else 2 * pad
        start = max(0, start - (before // 2 if before < 2 * pad else pad))
        end = min(length, end + (after // 2 if after < 2 * pad else pad))
        found.append(Window(start / RATE, end / RATE))
    return found


def _blocks(sound: Iterable[np.ndarray]) -> Iterator[np.ndarray]:
    """Blocks of at most `_BLOCK_S`, parted at the quietest moment near each end so that no word is split."""
    block, frame = int(_BLOCK_S * RATE), RATE // 10
    near = min(int(_EDGE_S * RATE), block // 2) // frame * frame
    waiting, length = [], 0
    for piece in sound:
        for start in range(0, len(piece), block):  # a piece may be a whole recording
            waiting.append(piece[start : start + block])
            length += len(waiting[-1])
            while length > block:
                held = np.concatenate(waiting)
                loudness = np.abs(held[block - near : block]).reshape(-1, frame).sum(axis=1)
                edge = block - near + int(loudness.argmin()) * frame + frame // 2
                yield held[:edge]
                waiting, length = [held[edge:]], length - edge
    if length:
        yield np.concatenate(waiting)


def _spans(samples: np.ndarray, offset_s: float) -> list[Window]:
    from faster_whisper.vad import VadOptions, get_speech_timestamps  # slow to import, and only hearing needs it

    options = VadOptions(
        max_speech_duration_s=LONGEST_S,
        min_silence_duration_ms=int(PAUSE_S * 1000),
        speech_pad_ms=int(PAD_S * 1000),
    )
    found = get_speech_timestamps(samples, options)
    return [Window(offset_s + span["start"] / RATE, offset_s + span["end"] / RATE) for span in found]

"""Where somebody speaks, found while the sound is still coming.

Silero voice activity detection as faster-whisper carries it, and the same rule for beginning and end of speech as
its own function has, which wants the whole recording. Fed piece by piece this gives the same spans, so that a
note that is heard live is parted as its recording would be (tests/hear/test_voice.py compares the two).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

RATE = 16_000
CHUNK = 512  # samples that get one probability: 32 ms
_CONTEXT = 64  # samples of the chunk before that Silero sees again
BEGINS = 0.5  # probability from which somebody speaks
_ENDS = 0.35  # and below which nobody does
_BREATH = int(0.098 * RATE)  # the least silence at which speech without a pause is parted, where it must be


class Voice:
    """How likely it is that somebody speaks, for each 32 ms of one stream."""

    def __init__(self) -> None:
        from faster_whisper.vad import get_vad_model  # slow to import, and only hearing needs it

        self._session = get_vad_model().session
        self._h = self._c = np.zeros((1, 1, 128), np.float32)
        self._context = np.zeros((1, _CONTEXT), np.float32)
        self._rest = np.zeros(0, np.float32)

    def take(self, samples: np.ndarray) -> np.ndarray:
        """The probabilities of the chunks that `samples` (float32, mono, 16 kHz) make whole; the rest waits."""
        samples = np.concatenate([self._rest, samples])
        whole = len(samples) // CHUNK
        self._rest = samples[whole * CHUNK :]
        if not whole:
            return np.zeros(0, np.float32)
        chunks = samples[: whole * CHUNK].reshape(whole, CHUNK)
        before = np.concatenate([self._context, chunks[:-1, -_CONTEXT:]])
        found, self._h, self._c = self._session.run(
            None, {"input": np.concatenate([before, chunks], axis=1), "h": self._h, "c": self._c}
        )
        self._context = chunks[-1:, -_CONTEXT:]
        return found.reshape(-1)

    def finish(self) -> float:
        """The probability of what is left, with silence behind it."""
        return float(self.take(np.zeros(CHUNK - len(self._rest), np.float32))[0])


@dataclass(slots=True)
class Spans:
    """Where speech began and ended, in samples; fed one probability after another.

    pause    samples of silence that end a span
    longest  samples at which one without such a pause is parted, at its last breath if it has one
    """

    pause: int
    longest: int
    closed: list[tuple[int, int]] = field(default_factory=list)
    start: int | None = None  # of the span that is open
    silent_from: int = 0  # since when the open span is silent; 0: it is not
    at: int = 0  # samples taken
    _breath: int = 0  # where the open span could be parted
    _after_breath: int = 0

    def take(self, probability: float) -> None:
        """The next 32 ms."""
        at, self.at = self.at, self.at + CHUNK
        if probability >= BEGINS and self.silent_from:
            self.silent_from = 0
            if self._after_breath < self._breath:
                self._after_breath = at
        if probability >= BEGINS and self.start is None:
            self.start = at
            return
        if self.start is not None and at - self.start > self.longest and self._parted(at):
            return
        if probability < _ENDS and self.start is not None:
            self.silent_from = self.silent_from or at
            if at - self.silent_from > _BREATH:
                self._breath = self.silent_from
            if at - self.silent_from >= self.pause:
                self._close(self.silent_from, None)

    def _parted(self, at: int) -> bool:
        """Close a span that is too long; whether this chunk is done with."""
        if not self._breath:
            self._close(at, None)
            return True
        self._close(self._breath, self._after_breath if self._after_breath >= self._breath else None)
        return False

    def _close(self, end: int, start: int | None) -> None:
        self.closed.append((self.start, end))
        self.start = start
        self.silent_from = self._breath = self._after_breath = 0

    @property
    def has_speech(self) -> bool:
        return self.start is not None or bool(self.closed)

    @property
    def silence(self) -> int:
        """Samples since somebody last spoke; 0 if somebody does, or nobody has."""
        if self.start is not None:
            return self.at - self.silent_from if self.silent_from else 0
        return self.at - self.closed[-1][1] if self.closed else 0

    def so_far(self) -> list[tuple[int, int]]:
        """Every span, the open one as far as there is speech in it."""
        return self.all(self.silent_from or self.at)

    def all(self, length: int) -> list[tuple[int, int]]:
        """Every span, if the sound ended at `length` samples."""
        return [*self.closed, (self.start, length)] if self.start is not None else list(self.closed)

"""A note that is heard while it is spoken: fed sound as it comes, it knows when speech begins and ends, and which
windows are worth decoding already.

It gives the words that `transcribe` gives for the finished recording, because it parts the sound by the same rule and
keeps, for each window of the end, one decoding of just that window. A pause may be the end, so the window before it
is decoded as if it were; if the speaker goes on, that was for nothing, and the longer window is decoded in its turn.

Nothing here decodes or waits: the caller takes `wanted()` to a recogniser and brings back `take_heard()`.
"""

from __future__ import annotations

import io
import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace

import av
import numpy as np

from assistant.hear.gates import Heard, sift
from assistant.hear.voice import BEGINS, CHUNK, RATE, Spans, Voice
from assistant.hear.windows import LONGEST_S, PAD_S, PAUSE_S, Window, apart_s, packed, padded
from assistant.records import Transcript

LONGEST_NOTE_S = 600.0  # a recording is searched for speech in blocks of this; a longer note goes on as the next
_LAST_S = 30.0  # of the longest note, in which it is ended at the first pause
_PIECE = RATE // 10  # samples dealt with at once
_BEFORE_S = 1.0  # of sound kept from before somebody speaks
_SPEAKS_S = 0.25  # of speech before it is believed; a door or a dropped spanner is shorter
_PATIENCE = 2.5  # times the end pause: given to a sentence that is not at its end
_UNFINISHED = frozenset(
    "a an and are at but by for from has have i is it's its just like of on or over so than that the then to uh um was"
    " with".split()
)
_BYTES = 2  # of a sample


@dataclass(frozen=True, slots=True)
class Began:
    """Somebody speaks. The note's sound begins at sample `at` of what was fed; what came before is forgotten."""

    at: int


@dataclass(frozen=True, slots=True)
class Ended:
    """The note is over: its sound ends before sample `at` of what was fed, the rest belongs to the next."""

    at: int
    why: str  # pause | longest | or what `end` was given
    rest: bytes = b""


class LiveNote:
    """One note, while it is spoken.

    end_pause_s  [s]  silence that ends it; None: only `end` does, and every sample is part of it (push-to-talk)
    longest_s    [s]  of sound; then it ends by itself

    Safe from two threads, one that feeds and one that decodes.
    """

    def __init__(self, end_pause_s: float | None, longest_s: float = LONGEST_NOTE_S):
        self._end_pause, self._longest = end_pause_s, longest_s
        self._lock = threading.Lock()
        self._sound = bytearray()  # 16-bit samples; before the note has begun, the last moment only
        self._dropped = 0  # samples forgotten before it
        self._voice, self._spans = Voice(), _spans()
        self._waits = end_pause_s is not None
        self._spoke = False
        self._spoken_chunks = 0
        self._known: dict[Window, tuple[Heard, ...]] = {}
        self._text, self._text_to_s = "", 0.0
        self.ended: Ended | None = None

    @property
    def received(self) -> int:
        """Samples taken so far, those that were forgotten too."""
        return self._dropped + len(self._sound) // _BYTES

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to keep: nobody has spoken, or with push-to-talk nothing has come."""
        return self._waits or not self._sound

    @property
    def silence_s(self) -> float:
        """Seconds since somebody last spoke; 0 while somebody does, and before."""
        return self._spans.silence / RATE

    @property
    def text(self) -> str:
        """The words up to the last pause that was decoded."""
        return self._text

    # ------------------------------------------------------------ sound in

    def feed(self, pcm: bytes) -> list[Began | Ended]:
        """Take 16-bit little-endian mono samples at 16 kHz, and tell what they showed.

        What comes after the end is not taken, and given back with it.
        """
        found: list[Began | Ended] = []
        with self._lock:
            for at in range(0, len(pcm), _PIECE * _BYTES):
                if self.ended is None:
                    found += self._take(pcm[at : at + _PIECE * _BYTES])
                else:
                    return [each for each in found if each is not self.ended] + [replace(self.ended, rest=pcm[at:])]
        return found

    def _take(self, piece: bytes) -> list[Began | Ended]:
        self._sound += piece
        chances = self._voice.take(_floats(piece))
        if self._waits:
            return self._wait(chances)
        for chance in chances:
            self._spans.take(float(chance))
        began = not self._spoke and self._spans.has_speech
        self._spoke = self._spoke or began
        return [*([Began(self._dropped)] if began else []), *self._end_if_over()]

    def _wait(self, chances: np.ndarray) -> list[Began | Ended]:
        """Nobody has spoken: does somebody now? If so the note begins a moment before, as its recording will."""
        for chance in chances:
            self._spoken_chunks = self._spoken_chunks + 1 if chance >= BEGINS else 0
        if self._spoken_chunks * CHUNK >= _SPEAKS_S * RATE:
            voice, spans = Voice(), _spans()
            for chance in voice.take(_floats(self._sound)):
                spans.take(float(chance))
            if spans.has_speech:
                self._voice, self._spans = voice, spans
                self._waits, self._spoke = False, True
                return [Began(self._dropped)]
        surplus = max(0, len(self._sound) - int((_BEFORE_S + _SPEAKS_S) * RATE) * _BYTES)
        del self._sound[:surplus]
        self._dropped += surplus // _BYTES
        return []

    def end(self, why: str) -> Ended:
        """The note is over, whoever says so. Ended before, it stays as it was."""
        with self._lock:
            return self.ended or self._end(why)

    def _end_if_over(self) -> list[Ended]:
        if self.ended:
            return []
        pause_s, lasted_s = self._spans.silence / RATE, len(self._sound) / _BYTES / RATE
        if lasted_s >= self._longest or (pause_s >= PAUSE_S and lasted_s >= self._longest - _LAST_S):
            return [self._end("longest")]
        if self._waits or self._end_pause is None or not self._spoke or pause_s < self._end_pause:
            return []
        # As long as the words are not known no answer is possible: until then the speaker may go on.
        over = pause_s >= self._end_pause * _PATIENCE
        return [self._end("pause")] if over or (self._all_known() and not self._is_unfinished()) else []

    def _end(self, why: str) -> Ended:
        if not self._waits:
            last = self._voice.finish()
            self._spans.take(last)
        self.ended = Ended(self.received, why)
        return self.ended

    def _is_unfinished(self) -> bool:
        """Whether the words break off where a sentence cannot end: "suction is", then a look at the gauge."""
        last = self._text.lower().split()[-1:] or [""]
        return last[0].strip(".,…-") in _UNFINISHED

    # ------------------------------------------------------------ windows out, words in

    def wanted(self, provisional: bool = True) -> Window | None:
        """The next window to decode; None if there is none now.

        provisional  also the last one, at a pause that may or may not be the end
        """
        with self._lock:
            windows = self._windows()
            sure = len(windows) if self._is_settled(windows) else len(windows) - 1
            if provisional and self._spans.silence >= PAD_S * RATE:
                sure = len(windows)
            return next((window for window in windows[:sure] if window not in self._known), None)

    def wants(self, window: Window) -> bool:
        """Whether a window that was wanted still is: the speaker has not gone on since."""
        with self._lock:
            return window in self._windows() and window not in self._known

    def is_sure(self, window: Window) -> bool:
        """Whether what follows can no longer change that window."""
        with self._lock:
            windows = self._windows()
            return self._is_settled(windows) or window != windows[-1]

    def undecoded_s(self) -> float:
        """Seconds of speech that will not change any more and are not decoded."""
        with self._lock:
            windows = self._windows()
            windows = windows if self._is_settled(windows) else windows[:-1]
            return sum(window.end_s - window.start_s for window in windows if window not in self._known)

    def samples(self, window: Window) -> np.ndarray:
        """The sound up to the end of a window, as decoding takes it: float32, zero before the window."""
        first, last = int(window.start_s * RATE), int(window.end_s * RATE)
        found = np.zeros(last, np.float32)
        with self._lock:
            found[first:] = _floats(self._sound[first * _BYTES : last * _BYTES])
        return found

    def take_heard(self, window: Window, heard: Sequence[Heard]) -> list[Ended]:
        """What the recogniser offered for a window; that may be what shows the note to be over."""
        with self._lock:
            self._known[window] = tuple(heard)
            if window.end_s >= self._text_to_s:  # a decoding for nothing may come in after the one that follows it
                earlier = [w for w in self._windows() if w.end_s <= window.start_s]
                self._text = " ".join(word.text for w in (*earlier, window) for word in self._trusted(w)[0])
                self._text_to_s = window.end_s
            return [] if self._waits else self._end_if_over()

    @property
    def is_heard(self) -> bool:
        """Whether it is over, and every word known."""
        with self._lock:
            return self.ended is not None and self._all_known()

    def transcript(self, model: str) -> Transcript:
        """The words of the whole note, which is over and heard; `model` is the name of what heard it."""
        with self._lock:
            parts = [self._trusted(window) for window in self._windows()]
        words = tuple(word for kept, _ in parts for word in kept)
        unclear = tuple(gap for _, cut in parts for gap in cut)
        text = " ".join(word.text for word in words)
        return Transcript(text, words, unclear, len(self._sound) / _BYTES / RATE, model)

    def recording(self) -> bytes:
        """The sound, losslessly, as a FLAC file; empty if there is none. The same sound gives the same bytes."""
        return as_flac(bytes(self._sound)) if self._sound and not self._waits else b""

    def _trusted(self, window: Window):
        sifted = [sift(heard) for heard in self._known.get(window, ())]
        return [w for kept, _ in sifted for w in kept], [gap for _, cut in sifted for gap in cut]

    def _windows(self) -> tuple[Window, ...]:
        """The windows of what is there, as they are if nothing followed."""
        if self._waits:
            return ()
        length = len(self._sound) // _BYTES
        return packed(padded(self._spans.all(length) if self.ended else self._spans.so_far(), length))

    def _is_settled(self, windows: Sequence[Window]) -> bool:
        """Whether what follows can no longer reach into the last window."""
        if self.ended is not None or not windows:
            return True
        return self._spans.silence >= (apart_s(windows[-1]) + 2 * PAD_S) * RATE

    def _all_known(self) -> bool:
        return all(window in self._known for window in self._windows())


def as_flac(pcm: bytes) -> bytes:
    """16-bit mono samples at 16 kHz as the bytes of a FLAC file."""
    out = io.BytesIO()
    with av.open(out, "w", format="flac", options={"fflags": "+bitexact"}) as file:
        stream = file.add_stream("flac", rate=RATE, layout="mono", options={"flags": "+bitexact"})
        frame = av.AudioFrame.from_ndarray(np.frombuffer(pcm, "<i2")[None, :], format="s16", layout="mono")
        frame.rate = RATE
        file.mux(stream.encode(frame))
        file.mux(stream.encode(None))
    return out.getvalue()


def _spans() -> Spans:
    # The library's own sum for the longest speech without a pause, so that it is parted at the same place.
    return Spans(int(PAUSE_S * RATE), int(LONGEST_S * RATE - CHUNK - 2 * PAD_S * RATE))


def _floats(pcm: bytes | bytearray) -> np.ndarray:
    return np.frombuffer(pcm, "<i2").astype(np.float32) / 32768

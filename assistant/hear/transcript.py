"""A Recording becomes a Transcript: faster-whisper behind one function, and nothing invented.

What keeps it honest, besides the windows (windows.py) and the gates (gates.py):
- the text that biases the recogniser holds no number, because in noise it leaks into what is written down;
- no window is conditioned on the text of the one before, so one mistake cannot feed the next;
- decoding is at temperature zero only: the same recording always gives the same words. Higher
  temperatures, the usual second try for a window that went wrong, draw words by lot.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from assistant.errors import ModelError
from assistant.hear.gates import Heard, sift
from assistant.hear.recording import Recording
from assistant.hear.windows import Window, speech_windows
from assistant.records import Transcript, Unclear, Word
from models import fetch

if TYPE_CHECKING:
    from faster_whisper import BatchedInferencePipeline
    from faster_whisper.transcribe import Word as OfferedWord

# Measured on twelve spoken notes, 88 numbers, one processor core: 5 beams heard 87 at 6.4 times real time, 1 beam
# 86 at 7.7 times. faster-whisper's own settings on the same machine: 86 at 5.0 times.
BEAM = 5
_MOST_THREADS = 4  # more gain nothing on a model this small
_NEEDED = ("model.bin", "config.json", "tokenizer.json")  # of a model that is named by its folder


@dataclass(frozen=True, slots=True)
class Ears:
    """A loaded recogniser. Load it once and hear many recordings with it."""

    name: str  # as it was asked for; goes into every transcript
    pipeline: BatchedInferencePipeline = field(repr=False)
    hotwords: str = field(repr=False)


def load_ears(
    model: str = "base", device: str = "cpu", compute_type: str = "int8", threads: int = 0, cache: Path | None = None
) -> Ears:
    """A recogniser that is ready to hear.

    model         "base", "tiny.en", the folder of any faster-whisper model, or its hub name (which downloads it)
    device        "cpu", "cuda" or "auto"
    compute_type  "int8" on a processor; "float16" suits a graphics card
    threads       of the processor; 0: as many as there are, at most four
    cache         folder to keep put-together models in; None: the user's cache

    Raises ModelError, naming the file at fault and the command that mends it.
    """
    from faster_whisper import BatchedInferencePipeline, WhisperModel  # slow to import; nothing else needs it

    place = _find(model, cache)
    try:
        whisper = WhisperModel(
            str(place),
            device=device,
            compute_type=compute_type,
            cpu_threads=threads or min(_MOST_THREADS, os.cpu_count() or 1),
        )
    except Exception as err:  # the hub, the loader and the tokenizer each raise their own kinds
        raise ModelError(_will_not_load(model, place, err)) from err
    return Ears(model, BatchedInferencePipeline(whisper), fetch.hotwords())


def transcribe(recording: Recording, ears: Ears, progress: Callable[[float], None] | None = None) -> Transcript:
    """The words of a recording, each with its times and probability, and what had to be cut.

    progress  called with the share that is done, 0 to 1, after each window

    A recording in which nobody speaks gives an empty transcript. Raises ModelError if the recogniser fails.
    """
    words: list[Word] = []
    unclear: list[Unclear] = []
    for window in speech_windows(recording.samples):
        for heard in _hear(recording.samples, window, ears):
            kept, cut = sift(heard)
            words += kept
            unclear += cut
        if progress:
            progress(min(1.0, window.end_s / recording.duration_s))
    if progress:
        progress(1.0)
    text = " ".join(word.text for word in words)
    return Transcript(text, tuple(words), tuple(unclear), recording.duration_s, ears.name)


def _hear(samples: np.ndarray, window: Window, ears: Ears) -> list[Heard]:
    """What the recogniser offers for one window, untouched."""
    try:
        segments, _ = ears.pipeline.transcribe(
            samples,
            language="en",
            beam_size=BEAM,
            temperature=0.0,
            hotwords=ears.hotwords,
            vad_filter=False,  # the window has been found already
            clip_timestamps=[{"start": window.start_s, "end": window.end_s}],
            word_timestamps=True,
            without_timestamps=True,  # the words are timed by attention, better than by guessed stamps
            batch_size=1,
        )
        segments = list(segments)
    except (RuntimeError, ValueError) as err:
        raise ModelError(f"The recogniser {ears.name!r} failed: {err}. Check it with: {fetch.MEND}") from err
    return [
        Heard(
            words=tuple(_words(segment.words or (), window)),
            start_s=window.start_s,
            end_s=window.end_s,
            log_probability=segment.avg_logprob,
            no_speech=segment.no_speech_prob,
            compression=segment.compression_ratio,
        )
        for segment in segments
    ]


def _words(offered: Iterable[OfferedWord], window: Window) -> list[Word]:
    """The recogniser's words as ours: no spaces inside, times within the window and in order.

    It offers "94" and ".5" apart, and only a space in front tells a new word; a joined one is as doubtful as its
    most doubtful piece.
    """
    words: list[Word] = []
    for piece in offered:
        text = "".join(piece.word.split())
        start = min(max(float(piece.start), words[-1].start_s if words else window.start_s), window.end_s)
        end = round(min(max(float(piece.end), start), window.end_s), 2)
        probability = float(piece.probability)
        if words and text and not piece.word.startswith(" "):
            last = words.pop()
            words.append(Word(last.text + text, last.start_s, end, min(last.probability, probability)))
        elif text:
            words.append(Word(text, round(start, 2), end, probability))
    return words


def _find(model: str, cache: Path | None) -> str | Path:
    """The folder or hub name to load."""
    if model in fetch.known_models():
        return fetch.put_together(model, cache)
    folder = Path(model).expanduser()
    if folder.is_dir():
        missing = [name for name in _NEEDED if not (folder / name).is_file()]
        if missing:
            raise ModelError(f"{folder / missing[0]} is missing: the folder holds no whole faster-whisper model.")
        return folder
    return model


def _will_not_load(model: str, place: str | Path, err: Exception) -> str:
    reason = str(err).strip().split("\n")[0].rstrip(".")
    if model in fetch.known_models():
        return f"{place} does not load: {reason}. Mend it with: {fetch.MEND}"
    if isinstance(place, Path):
        return f"{place} does not load: {reason}. Copy the model there again, or use one of " + (
            ", ".join(fetch.known_models()) + "."
        )
    return (
        f"No model {model!r}: it is neither a folder nor one that the hub gave ({reason}). "
        f"There are: {', '.join(fetch.known_models())}."
    )

"""A Recording becomes a Transcript: faster-whisper behind one function, and nothing invented.

What keeps it honest, besides the windows (windows.py) and the gates (gates.py):
- the text that biases the recogniser holds no number, because in noise it leaks into what is written down;
- no window is conditioned on the text of the one before, so one mistake cannot feed the next;
- decoding is at temperature zero only: the same recording always gives the same words. Higher
  temperatures, the usual second try for a window that went wrong, draw words by lot.
"""

from __future__ import annotations

import os
import platform
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path

import numpy as np

from assistant.errors import ModelError
from assistant.hear.decoding import Decoder, decode, decoder
from assistant.hear.gates import Heard, sift
from assistant.hear.recording import SoundFile, sound_of
from assistant.hear.windows import Stretch, Window, stretches
from assistant.records import Transcript, Unclear, Word
from models import fetch

_MOST_THREADS = 4  # more gain nothing on a model this small
_BATCH = {"cpu": 1, "cuda": 16}  # windows decoded in one go; on a processor more than one gains nothing (measured)
_NEEDED = ("model.bin", "config.json", "tokenizer.json")  # of a model that is named by its folder


@dataclass(frozen=True, slots=True)
class Ears:
    """A loaded recogniser. Load it once and hear many recordings with it."""

    name: str  # as it was asked for; goes into every transcript
    decoder: Decoder = field(repr=False)


def load_ears(
    model: str = "base", device: str = "cpu", compute_type: str = "int8", threads: int = 0, cache: Path | None = None
) -> Ears:
    """A recogniser that is ready to hear.

    model         "base", "tiny.en", the folder of any faster-whisper model, or its hub name (which downloads it)
    device        "cpu", "cuda" or "auto"
    compute_type  "int8" on a processor; "float16" suits a graphics card
    threads       of the processor; 0: as many as there are, at most four. Where one window gains nothing by several,
                  so many windows are heard beside each other, one thread each
    cache         folder to keep put-together models in; None: the user's cache

    Raises ModelError, naming the file at fault and the command that mends it.
    """
    from faster_whisper import WhisperModel  # slow to import; nothing else needs it

    place = _find(model, cache)
    threads, beside = threads or _threads(), beside_each_other(device, threads)
    try:
        whisper = WhisperModel(
            str(place),
            device=device,
            compute_type=compute_type,
            cpu_threads=threads // beside,
            num_workers=beside,
        )
    except Exception as err:  # the hub, the loader and the tokenizer each raise their own kinds
        raise ModelError(_will_not_load(model, place, err)) from err
    return Ears(model, decoder(whisper, fetch.hotwords(), _BATCH[whisper.model.device], beside))


def one_by_one(ears: Ears) -> Callable[[np.ndarray, Window], list[Heard]]:
    """Hears one window after another with the weights of `ears`, beside whatever else they are used for."""
    return lambda samples, window: hear(samples, [window], ears)[0]


def transcribe(recording: SoundFile, ears: Ears, progress: Callable[[float], None] | None = None) -> Transcript:
    """The words of a recording, each with its times and probability, and what had to be cut.

    recording  decoded as it is heard, so that hours take no more memory than twenty minutes
    progress   called with the share that is done, 0 to 1, after each window

    A recording in which nobody speaks gives an empty transcript. Raises ModelError if the recogniser fails.
    """
    words: list[Word] = []
    unclear: list[Unclear] = []
    for samples, windows in stretches(sound_of(recording), ears.decoder.at_once):
        for heard in chain.from_iterable(hear(samples, windows, ears)):
            kept, cut = sift(heard)
            words += kept
            unclear += cut
        if progress:
            progress(min(1.0, windows[-1].end_s / recording.duration_s))
    if progress:
        progress(1.0)
    text = " ".join(word.text for word in words)
    return Transcript(text, tuple(words), tuple(unclear), recording.duration_s, ears.name)


def hear(samples: np.ndarray | Stretch, windows: Sequence[Window], ears: Ears) -> list[list[Heard]]:
    """What the recogniser offers for each window, untouched. Raises ModelError if it fails."""
    try:
        return decode(samples, windows, ears.decoder)
    except (RuntimeError, ValueError) as err:
        raise ModelError(f"The recogniser {ears.name!r} failed: {err}. Check it with: {fetch.MEND}") from err


def beside_each_other(device: str, threads: int) -> int:
    """How many windows are heard at once, each with its share of the `threads` (0: as many as suit)."""
    return (threads or _threads()) if device == "cpu" and _one_thread_is_enough() else 1


def _threads() -> int:
    return min(_MOST_THREADS, os.cpu_count() or 1)


def _one_thread_is_enough() -> bool:
    """Whether a window is heard no sooner by several threads of this processor.

    CTranslate2 spreads whole-number arithmetic over threads with Intel's library, the one that also has 16 bits, and on
    ARM. With the other one, on an AMD processor, two threads took 20 % longer over a window than one (measured).
    """
    import ctranslate2

    return platform.machine() in ("x86_64", "AMD64") and "int16" not in ctranslate2.get_supported_compute_types("cpu")


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

"""Windows of speech through the recogniser: several at once where that pays, and little silence decoded for nothing.

Whisper was trained on stretches of 30 s and pipelines pad every window to that, so that much of the work on a note of
a few seconds goes into silence. Its encoder takes shorter stretches as well, down to about ten seconds.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from itertools import chain
from typing import TYPE_CHECKING

import numpy as np

from assistant.hear.gates import Heard
from assistant.hear.windows import RATE, Window
from assistant.records import Word

if TYPE_CHECKING:
    from faster_whisper import WhisperModel
    from faster_whisper.tokenizer import Tokenizer
    from faster_whisper.transcribe import TranscriptionOptions
    from faster_whisper.transcribe import Word as OfferedWord

# Measured on the corpus's 48 recordings: 5 beams gave readings F1 0.986 quiet and beside a condenser at 10 dB, 3 beams
# 0.986 and 0.978, none beyond the answers either way; a note spoken live was answered 0.4 s sooner with 3.
BEAM = 3
# What a window is padded to. Measured on people reading and on spoken notes: from 10 s up the words are those of the
# usual 30 s; padded to 2 or 3 s only, short phrases came out empty.
LEAST_S = 10
TAIL_S = 1  # of silence behind a long window
_MOST_S = 30  # what the recogniser can take
_FRAMES_PER_S = 100


@dataclass(frozen=True, slots=True)
class Decoder:
    """The recogniser with everything that stays the same from window to window."""

    model: WhisperModel = field(repr=False)
    tokenizer: Tokenizer = field(repr=False)
    options: TranscriptionOptions = field(repr=False)
    batch: int  # windows decoded in one go: one on a processor, where more gain nothing
    beside: int  # how many such decodings run beside each other

    @property
    def at_once(self) -> int:
        """Windows that are worth giving to `decode` together."""
        return self.batch * self.beside


def decoder(model: WhisperModel, hotwords: str, batch: int = 1, beside: int = 1) -> Decoder:
    """A decoder for English at temperature 0, biased by `hotwords`."""
    from faster_whisper.tokenizer import Tokenizer
    from faster_whisper.transcribe import TranscriptionOptions, get_suppressed_tokens

    tokenizer = Tokenizer(model.hf_tokenizer, model.model.is_multilingual, task="transcribe", language="en")
    options = TranscriptionOptions(
        beam_size=BEAM,
        best_of=1,
        patience=1,
        length_penalty=1,
        repetition_penalty=1,
        no_repeat_ngram_size=0,
        log_prob_threshold=None,  # the gates judge, not the library
        no_speech_threshold=None,
        compression_ratio_threshold=None,
        condition_on_previous_text=False,
        prompt_reset_on_temperature=0.5,
        temperatures=[0.0],
        initial_prompt=None,
        prefix=None,
        suppress_blank=True,
        suppress_tokens=get_suppressed_tokens(tokenizer, [-1]),
        without_timestamps=True,  # the words are timed by attention, better than by guessed stamps
        max_initial_timestamp=0.0,
        word_timestamps=True,
        prepend_punctuations="\"'“¿([{-",
        append_punctuations="\"'.。,，!！?？:：”)]}、",
        multilingual=False,
        max_new_tokens=None,
        clip_timestamps=[],
        hallucination_silence_threshold=None,
        hotwords=hotwords,
    )
    return Decoder(model, tokenizer, options, batch, beside)


def decode(samples: np.ndarray, windows: Sequence[Window], with_: Decoder) -> list[list[Heard]]:
    """For each window what the recogniser offers, untouched. Safe from several threads.

    samples  float32 mono at 16 kHz, the whole recording
    windows  at most `with_.at_once` of them, each at most 30 s

    Raises RuntimeError or ValueError where the recogniser fails.
    """
    batches = [windows[at : at + with_.batch] for at in range(0, len(windows), with_.batch)]
    if len(batches) == 1:
        return _decode_batch(samples, windows, with_)
    with ThreadPoolExecutor(len(batches), "hearing") as pool:
        return list(chain.from_iterable(pool.map(lambda batch: _decode_batch(samples, batch, with_), batches)))


def _decode_batch(samples: np.ndarray, windows: Sequence[Window], with_: Decoder) -> list[list[Heard]]:
    from faster_whisper import BatchedInferencePipeline

    frames = max(map(_padded_s, windows)) * _FRAMES_PER_S
    stacked = np.stack([_features(samples, window, frames, with_) for window in windows])
    about = [{"offset": window.start_s, "duration": window.end_s - window.start_s} for window in windows]
    # A pipeline of its own, because it carries the last moment of speech over to the next call.
    offered = BatchedInferencePipeline(with_.model).forward(stacked, with_.tokenizer, about, with_.options)
    return [
        [_heard(segment, window) for segment in segments] for segments, window in zip(offered, windows, strict=True)
    ]


def _padded_s(window: Window) -> int:
    """How long the recogniser is told that a window is, in whole seconds."""
    return min(_MOST_S, max(LEAST_S, math.ceil(window.end_s - window.start_s) + TAIL_S))


def _features(samples: np.ndarray, window: Window, frames: int, with_: Decoder) -> np.ndarray:
    """The window's sound as the recogniser takes it: [mel bands, frames], silence behind."""
    piece = samples[int(window.start_s * RATE) : int(window.end_s * RATE)]
    found = with_.model.feature_extractor(piece)[:, :frames]
    return np.pad(found, ((0, 0), (0, frames - found.shape[1])))


def _heard(segment: dict, window: Window) -> Heard:
    from faster_whisper.transcribe import Word as OfferedWord

    return Heard(
        words=tuple(_words((OfferedWord(**word) for word in segment["words"]), window)),
        start_s=window.start_s,
        end_s=window.end_s,
        log_probability=segment["avg_logprob"],
        no_speech=segment["no_speech_prob"],
        compression=segment["compression_ratio"],
    )


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

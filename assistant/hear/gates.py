"""What the recogniser offered but cannot be trusted: which stretches to cut, and why.

A recogniser asked to hear a fan writes a fluent sentence. These gates are why none of that is ever read.
Each limit lies between what was measured on both sides with the base model: 48 notes, quiet and beside a
condenser down to as loud as the voice, and phrases of one to four words cut out of them; against generated
fans, hum, tones, music, babble and voices played backwards. Mean log probability was -0.58 or better on the
first and -0.95 or worse on the second; no-speech at most 0.5 on the first, mean word probability at least 0.33.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from assistant.records import Unclear, Word

LEAST_LOG_PROBABILITY = -0.75  # mean over a window's tokens, natural logarithm
LEAST_WORD_PROBABILITY = 0.3  # mean over a window's words
NO_SPEECH = 0.6  # the recogniser's own guess that nobody speaks; believed only
NO_SPEECH_LOG_PROBABILITY = -0.5  # where the words are no better than this
MOST_COMPRESSION = 2.4  # how far the text packs, the recogniser's own limit; real notes gave at most 1.6
MOST_WORDS_PER_S = 7.0  # faster than anybody speaks; real notes gave at most 4.5
LOOP_TIMES = 4  # the same words so often in a row, and
LOOP_WORDS = 6  # so many words in all, were not spoken

_LABEL = re.compile(r"[(\[*♪][^)\]*♪]*[)\]*♪]?")
_BARE = re.compile(r"[^\w']+")


@dataclass(frozen=True, slots=True)
class Heard:
    """What the recogniser offered for one window."""

    words: tuple[Word, ...]
    start_s: float
    end_s: float
    log_probability: float  # mean over tokens, natural logarithm
    no_speech: float  # 0 to 1
    compression: float  # length of the text over its compressed length

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)


def sift(heard: Heard) -> tuple[tuple[Word, ...], tuple[Unclear, ...]]:
    """The words of a window that can be trusted, and the stretches that were cut, each with its reason."""
    if not heard.words:
        return (), ()
    why = _whole_window(heard)
    if why:
        return (), (Unclear(heard.start_s, heard.end_s, heard.text, why),)
    return _cut_runs(heard.words)


def _whole_window(heard: Heard) -> str | None:
    """Why nothing in the window can be trusted; None if it can."""
    mean = sum(word.probability for word in heard.words) / len(heard.words)
    if heard.no_speech > NO_SPEECH and heard.log_probability < NO_SPEECH_LOG_PROBABILITY:
        return "no_speech"
    if heard.compression > MOST_COMPRESSION:
        return "loop"
    if heard.log_probability < LEAST_LOG_PROBABILITY or mean < LEAST_WORD_PROBABILITY:
        return "low_confidence"
    if len(heard.words) > MOST_WORDS_PER_S * max(heard.end_s - heard.start_s, 1.0):
        return "low_confidence"
    return None


def _cut_runs(words: tuple[Word, ...]) -> tuple[tuple[Word, ...], tuple[Unclear, ...]]:
    """Cut sound labels such as "(fan whirring)" and words said over and over out of a good window."""
    why = _labels(words)
    for start, end in _loops(words):
        why[start:end] = ["loop"] * (end - start)
    kept, cut, at = [], [], 0
    while at < len(words):
        end = at + 1
        while end < len(words) and why[end] == why[at]:
            end += 1
        stretch = words[at:end]
        if why[at]:
            text = " ".join(word.text for word in stretch)
            cut.append(Unclear(stretch[0].start_s, stretch[-1].end_s, text, why[at]))
        else:
            kept += stretch
        at = end
    return tuple(kept), tuple(cut)


def _labels(words: tuple[Word, ...]) -> list[str | None]:
    """For each word, "no_speech" if it lies inside brackets, asterisks or notes."""
    text = " ".join(word.text for word in words)
    inside = [(found.start(), found.end()) for found in _LABEL.finditer(text)]
    why, at = [], 0
    for word in words:
        end = at + len(word.text)
        why.append("no_speech" if any(start < end and at < stop for start, stop in inside) else None)
        at = end + 1
    return why


def _loops(words: tuple[Word, ...]) -> list[tuple[int, int]]:
    """Index ranges in which one to eight words are repeated too often to have been spoken."""
    bare = [_BARE.sub("", word.text).casefold() for word in words]
    found, at = [], 0
    while at < len(bare):
        for size in range(1, 9):
            times = 1
            while bare[at : at + size] == bare[at + times * size : at + (times + 1) * size]:
                times += 1
            if times >= LOOP_TIMES and times * size >= LOOP_WORDS:
                found.append((at, at + times * size))
                at += times * size - 1
                break
        at += 1
    return found

"""Which job a question is about, by a name that need not be exact: "at the bakery", "the two story"."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from assistant.converse.history import JobHistory
from assistant.converse.patterns import plain_words
from assistant.converse.vocabulary import finding_named, not_a_job, quantities_named
from assistant.converse.when import MONTHS

_LEAST_LIKE = 84  # of 100, for a spoken name to be a job's; common practice, no source
_PLACE = re.compile(r" (?:at|over at|from) (?:the|that) ([a-z]+)")
_SMALL_WORDS = frozenset("the a an at on in of job house place and to for my".split())


@dataclass(frozen=True, slots=True)
class NamedJob:
    """The job a question names, if any, and the question's words without the name."""

    job: str | None
    rest: str
    unknown: str | None = None  # a place that was named and is no job of ours


def job_named(words: str, jobs: Mapping[str, JobHistory]) -> NamedJob:
    """The job whose name or site sounds most like some words of the question; of equals the longest name."""
    from rapidfuzz import fuzz

    tokens = words.split()
    best: tuple[float, int, str, int, int] | None = None
    for job, history in jobs.items():
        for name in _names(job, history):
            size = len(name.split())
            for width in {size, size + 1, max(1, size - 1)}:
                for start in range(len(tokens) - width + 1):
                    if tokens[start] in _SMALL_WORDS:
                        continue
                    like = fuzz.ratio(name, " ".join(tokens[start : start + width]))
                    rank = (like, len(name), job, start, start + width)
                    if like >= _LEAST_LIKE and (best is None or rank[:2] > best[:2]):
                        best = rank
    best = best or _by_one_word(tokens, jobs)
    if best:
        start = best[3]
        while start and tokens[start - 1] in ("the", "at", "for", "over", "on", "of", "in", "from", "that"):
            start -= 1
        return NamedJob(best[2], " ".join(tokens[:start] + tokens[best[4] :]))
    return NamedJob(None, words, _unknown_place(words))


def _unknown_place(words: str) -> str | None:
    """A place the question names that is no job: "at the bakery", but not "at the coil"."""
    for place in _PLACE.finditer(f" {words}"):
        name = place.group(1)
        if not (name in not_a_job() or name in MONTHS or quantities_named(name)[0] or finding_named(name)):
            return name
    return None


def _names(job: str, history: JobHistory) -> list[str]:
    sites = [log.job.site for log in history.logs[-1:] if log.job.site]
    names = [plain_words(name) for name in [job, *sites]]
    return [name for name in dict.fromkeys(names) if len(name) > 2]


def _by_one_word(tokens: list[str], jobs: Mapping[str, JobHistory]) -> tuple[float, int, str, int, int] | None:
    """A job told by one word of its name after "at the": "the library" for library-annex, if only one job has it."""
    from rapidfuzz import fuzz

    for place, token in enumerate(tokens):
        if len(token) < 3 or place < 1 or tokens[place - 1] not in ("the", "at", "for"):
            continue
        having = {
            job
            for job, history in jobs.items()
            for word in plain_words(job).split()
            if word not in _SMALL_WORDS and fuzz.ratio(word, token) >= _LEAST_LIKE
        }
        if len(having) == 1:
            return (100.0, len(token), having.pop(), place, place + 1)
    return None

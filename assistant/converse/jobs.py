"""Which job a question is about, by a name that need not be exact: "at the bakery", "the two story"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from assistant.converse.history import JobHistory
from assistant.converse.vocabulary import finding_named, not_a_job, quantities_named
from assistant.converse.when import MONTHS
from assistant.understand.patterns import plain_words

_LEAST_LIKE = 84  # of 100, for a spoken name to be a job's; common practice, no source
_PLACE = re.compile(r" (?:at|over at|from) (?:the|that) ([a-z]+(?: [a-z]+)?)(?=$| in | on | last | back | this )")
_SMALL_WORDS = frozenset("the a an at on in of job house place and to for my".split())


@dataclass(frozen=True, slots=True)
class NamedJob:
    """The job a question names, if any, and the question's words without the name."""

    job: str | None
    rest: str
    unknown: str | None = None  # a place that was named and is no job of ours


Found = tuple[float, int, str, int, int]  # likeness, length of the name, job, first and past the last word of it


def job_named(words: str, jobs: Mapping[str, JobHistory], *, sites: bool = True) -> NamedJob:
    """The job whose name sounds most like some words of the question; of equals the longest name.

    With `sites` also the site's own name, for which every job has to be looked at.
    """
    tokens = words.split()
    best = _most_like(tokens, ((job, plain_words(job)) for job in jobs)) or _by_one_word(tokens, jobs)
    if best is None and sites:
        best = _most_like(tokens, _site_names(jobs))
    if best:
        start = best[3]
        while start and tokens[start - 1] in ("the", "at", "for", "over", "on", "of", "in", "from", "that"):
            start -= 1
        return NamedJob(best[2], " ".join(tokens[:start] + tokens[best[4] :]))
    return NamedJob(None, words, _unknown_place(words))


def job_called(name: str, jobs: Mapping[str, JobHistory]) -> str | None:
    """The job a spoken name means ("the bakery" for marlows-bakery); None where none sounds like it."""
    wanted = set(plain_words(name).split())
    having = [job for job in jobs if wanted <= set(plain_words(job).split())]
    return having[-1] if having else job_named(plain_words(name), jobs, sites=False).job


def _most_like(tokens: list[str], names: Iterable[tuple[str, str]]) -> Found | None:
    """The job with the name that most resembles as many words of the question, or one more or less."""
    from rapidfuzz import fuzz

    best: Found | None = None
    for job, name in names:
        size = len(name.split())
        for width in {size, size + 1, max(1, size - 1)} if len(name) > 2 else ():
            for start in range(len(tokens) - width + 1):
                if tokens[start] in _SMALL_WORDS:
                    continue
                like = fuzz.ratio(name, " ".join(tokens[start : start + width]))
                if like >= _LEAST_LIKE and (best is None or (like, len(name)) > best[:2]):
                    best = (like, len(name), job, start, start + width)
    return best


def _site_names(jobs: Mapping[str, JobHistory]) -> Iterator[tuple[str, str]]:
    for job, history in jobs.items():
        if history.latest and history.latest.job.site:
            yield job, plain_words(history.latest.job.site)


def _unknown_place(words: str) -> str | None:
    """A place the question names that is no job: "at the bakery", but not "at the coil"."""
    for place in _PLACE.finditer(f" {words}"):
        name = place.group(1)
        known = not_a_job() | set(MONTHS)
        if not (known.intersection(name.split()) or quantities_named(name)[0] or finding_named(name)):
            return name
    return None


def _by_one_word(tokens: list[str], jobs: Iterable[str]) -> Found | None:
    """A job told by one word of its name after "at the": "the library" for library-annex, if only one job has it."""
    from rapidfuzz import fuzz

    for place, token in enumerate(tokens):
        if len(token) < 3 or place < 1 or tokens[place - 1] not in ("the", "at", "for"):
            continue
        having = {
            job
            for job in jobs
            for word in plain_words(job).split()
            if word not in _SMALL_WORDS and fuzz.ratio(word, token) >= _LEAST_LIKE
        }
        if len(having) == 1:
            return (100.0, len(token), having.pop(), place, place + 1)
    return None

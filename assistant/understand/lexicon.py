"""Every list of wordings the language stage looks for, found in one pass over a note.

The lists are registered when the modules that use them are loaded, and all go into one spaCy PhraseMatcher: it costs
what the words of the note cost, however many lists there are. A list that is not said costs a look-up. (A tree of our
own finds the same somewhat sooner, because no Doc is made; it is not worth keeping in place of a library.)
"""

from __future__ import annotations

import functools
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise
from operator import itemgetter

from assistant.understand.tokens import read_tokens

Spans = list[tuple[int, int]]  # tokens from .. to, in order, the longest first where several start together
_Match = tuple[int, int, int]  # the list's number, tokens from .. to


@dataclass(frozen=True, eq=False, slots=True)
class Wordings:
    """A list of wordings to be found in notes; a key by itself, so that looking one up costs little."""

    said: tuple[str, ...]


_LISTS: dict[tuple[str, ...], Wordings] = {}


def wordings(said: Iterable[str]) -> Wordings:
    """A list that every note read from now on is searched for; asked for again, the same one."""
    key = tuple(said)
    if key not in _LISTS:
        _LISTS[key] = Wordings(key)
        _matcher.cache_clear()
    return _LISTS[key]


def lists_of(table: dict[str, list[str]]) -> dict[str, Wordings]:
    """A table of wordings by key, each list registered."""
    return {key: wordings(said) for key, said in table.items()}


def words_of(said: str) -> tuple[str, ...]:
    """A wording as tokens in lower case."""
    return tuple(read_tokens(said).lower)


@functools.cache
def _matcher() -> tuple[Callable[[list[str]], list[_Match]], dict[int, Wordings]]:
    """What finds all lists in words, and the list by the number it calls each."""
    from assistant.understand.spacy_parts import Doc, PhraseMatcher, Vocab  # slow to load, and only reading needs it

    vocab = Vocab()
    matcher = PhraseMatcher(vocab)
    lists = {}
    for place, each in enumerate(_LISTS.values()):
        matcher.add(str(place), [Doc(vocab, words=list(words_of(said))) for said in each.said])
        lists[vocab.strings[str(place)]] = each
    return lambda words: matcher(Doc(vocab, words=words)), lists


def find_wordings(words: list[str]) -> dict[Wordings, Spans]:
    """Where each list is said in `words` (lower case); a list that is not said is left out."""
    match, lists = _matcher()
    matches = match(words)
    matches.sort(key=itemgetter(2), reverse=True)  # of those that start together the longest comes first
    matches.sort(key=itemgetter(1))
    found: dict[Wordings, Spans] = defaultdict(list)
    for name, start, end in matches:
        found[lists[name]].append((start, end))
    return found


def longest(spans: Spans) -> Spans:
    """`spans` without those that overlap a longer one; of equals the earlier stays."""
    if len(spans) < 2 or all(end <= start for (_, end), (start, _) in pairwise(spans)):
        return spans
    kept: Spans = []
    used: set[int] = set()
    for start, end in sorted(spans, key=lambda span: (span[0] - span[1], span[0])):
        if start not in used and end - 1 not in used:
            kept.append((start, end))
            used.update(range(start, end))
    return sorted(kept)

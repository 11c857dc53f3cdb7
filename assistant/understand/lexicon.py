"""Every list of wordings the language stage looks for, found in one pass over a note.

The lists are registered when the modules that use them are loaded, and put into one tree by their words: at each
token of a note the tree is followed as far as the words go, which is seldom further than one. A list that is not said
costs a look-up. (One spaCy PhraseMatcher for all lists finds the same at more than twice the cost: most of it goes
into making a Doc of words we have already.)
"""

from __future__ import annotations

import functools
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from assistant.understand.tokens import read_tokens

Spans = list[tuple[int, int]]  # tokens from .. to, in order, the longest first where several start together


@dataclass(frozen=True, eq=False, slots=True)
class Wordings:
    """A list of wordings to be found in notes; a key by itself, so that looking one up costs little."""

    said: tuple[str, ...]


_LISTS: dict[tuple[str, ...], Wordings] = {}
_ENDS = ""  # no token is empty: under it stand the lists that have a wording ending here


def wordings(said: Iterable[str]) -> Wordings:
    """A list that every note read from now on is searched for; asked for again, the same one."""
    key = tuple(said)
    if key not in _LISTS:
        _LISTS[key] = Wordings(key)
        _tree.cache_clear()
    return _LISTS[key]


def lists_of(table: dict[str, list[str]]) -> dict[str, Wordings]:
    """A table of wordings by key, each list registered."""
    return {key: wordings(said) for key, said in table.items()}


def words_of(said: str) -> tuple[str, ...]:
    """A wording as tokens in lower case."""
    return tuple(read_tokens(said).lower)


@functools.cache
def _tree() -> dict:
    tree: dict = {}
    for each in _LISTS.values():
        for said in each.said:
            node = tree
            for word in words_of(said):
                node = node.setdefault(word, {})
            ends = node.setdefault(_ENDS, [])
            if each not in ends:
                ends.append(each)
    return tree


def find_wordings(words: list[str]) -> dict[Wordings, Spans]:
    """Where each list is said in `words` (lower case); a list that is not said is left out."""
    found: dict[Wordings, Spans] = defaultdict(list)
    tree, count = _tree(), len(words)
    for start, word in enumerate(words):
        node = tree.get(word)
        if node is None:
            continue
        said: list[tuple[int, list[Wordings]]] = []
        end = start + 1
        while node is not None:
            if _ENDS in node:
                said.append((end, node[_ENDS]))
            node = node.get(words[end]) if end < count else None
            end += 1
        for end, lists in reversed(said):
            for each in lists:
                found[each].append((start, end))
    return found


def longest(spans: Spans) -> Spans:
    """`spans` without those that overlap a longer one; of equals the earlier stays."""
    if all(spans[i][1] <= spans[i + 1][0] for i in range(len(spans) - 1)):
        return spans
    kept: Spans = []
    used: set[int] = set()
    for start, end in sorted(spans, key=lambda span: (span[0] - span[1], span[0])):
        if start not in used and end - 1 not in used:
            kept.append((start, end))
            used.update(range(start, end))
    return sorted(kept)

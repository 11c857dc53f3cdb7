"""Small helpers over the vocabulary tables: find any of a list of wordings in a stretch of tokens."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable

from assistant.understand.lexicon import Spans, Wordings
from assistant.understand.passage import Passage


def find_all(passage: Passage, says: Wordings, start: int = 0, end: int | None = None) -> Spans:
    """Token spans of any wording inside start..end, in order, the longest at each place."""
    spans = passage.wordings.get(says)
    if spans is None:
        return []
    stop = len(passage.lower) if end is None else end
    found: Spans = []
    free = start  # the first token behind what was found
    for place in range(bisect_left(spans, (start,)), len(spans)):
        a, b = spans[place]
        if a >= stop:
            break
        if free <= a and b <= stop:
            found.append((a, b))
            free = b
    return found


def says_any(passage: Passage, says: Wordings, start: int = 0, end: int | None = None) -> bool:
    """Whether any wording stands inside start..end."""
    spans = passage.wordings.get(says)
    if spans is None:
        return False
    if end is None and not start:
        return True
    stop = len(passage.lower) if end is None else end
    for place in range(bisect_left(spans, (start,)), len(spans)):
        a, b = spans[place]
        if a >= stop:
            return False
        if b <= stop:
            return True
    return False


def none_said(passage: Passage, lists: Iterable[Wordings]) -> bool:
    """Whether the whole note says none of several lists: then no sentence of it needs to be asked."""
    return passage.wordings.keys().isdisjoint(lists)


def which(passage: Passage, table: dict[str, Wordings], start: int, end: int) -> str | None:
    """The first key of `table` one of whose wordings is said in start..end."""
    return next((key for key, says in table.items() if says_any(passage, says, start, end)), None)

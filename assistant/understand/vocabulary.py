"""Small helpers over the vocabulary tables: find any of a list of wordings in a stretch of tokens."""

from __future__ import annotations

import bisect
import functools

from spacy.matcher import PhraseMatcher

from assistant.understand.passage import Passage, as_doc, vocabulary


@functools.lru_cache(maxsize=256)
def _matcher(says: tuple[str, ...]) -> PhraseMatcher:
    matcher = PhraseMatcher(vocabulary(), attr="LOWER")
    matcher.add("say", [as_doc(said) for said in says])
    return matcher


def find_all(
    passage: Passage, says: list[str] | tuple[str, ...], start: int = 0, end: int | None = None
) -> list[tuple[int, int]]:
    """Token spans of any wording inside start..end, in order, the longest at each place."""
    spans = _spans(passage, tuple(says))
    stop = len(passage.doc) if end is None else end
    found: list[tuple[int, int]] = []
    for a, b in spans[bisect.bisect_left(spans, (start,)) : bisect.bisect_left(spans, (stop,))]:
        if b <= stop and (not found or a >= found[-1][1]):
            found.append((a, b))
    return found


def _spans(passage: Passage, says: tuple[str, ...]) -> list[tuple[int, int]]:
    """Each list of wordings is matched once per passage, however many sentences ask for it; the longest first."""
    seen = passage.doc.user_data.setdefault("wordings", {})
    if says not in seen:
        spans = ((a, b) for _, a, b in _matcher(says)(passage.doc))
        seen[says] = sorted(spans, key=lambda span: (span[0], -span[1]))
    return seen[says]


def says_any(passage: Passage, says: list[str] | tuple[str, ...], start: int = 0, end: int | None = None) -> bool:
    return bool(find_all(passage, says, start, end))


def which(passage: Passage, table: dict[str, list[str]], start: int, end: int) -> str | None:
    """The first key of `table` one of whose wordings is said in start..end."""
    return next((key for key, says in table.items() if says_any(passage, says, start, end)), None)

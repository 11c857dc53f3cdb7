"""How somebody answers an offer: the words for yes, for no, and for not yet."""

from __future__ import annotations

from assistant.understand.lexicon import wordings
from assistant.understand.passage import Passage
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, which

_TABLE = load_table("agreements.toml")
ANSWER = {kind: wordings(_TABLE["answer"][kind]) for kind in ("offered", "pending", "declined", "approved", "people")}
STATUSES = {status: ANSWER[status] for status in ("pending", "declined", "approved")}  # the first said counts
_BARE = {status: frozenset(_TABLE["bare"][status]) for status in ("approved", "declined")}
_BESIDE_A_BARE_ANSWER = frozenset(_TABLE["bare"]["beside"])
_GOES_ON_BEHIND = frozenset(_TABLE["bare"]["goes_on_behind"])
_SUPPOSED = frozenset(_TABLE["bare"]["supposed"])


def status_in(passage: Passage, start: int, end: int) -> str | None:
    """What a clause answers; what is only supposed ("if it's a yes") answers nothing."""
    status = which(passage, STATUSES, start, end)
    if status is None:
        return bare_answer(passage.lower[start:end])
    cue = find_all(passage, STATUSES[status], start, end)[0]
    ours = {"i", "we"}.intersection(passage.words(max(start, cue[0] - 2), cue[0]))  # "so I won't do the first fire"
    return status if not ours and _SUPPOSED.isdisjoint(passage.lower[start : cue[0]]) else None


def cut_at_commas(passage: Passage, start: int, end: int) -> list[tuple[int, int]]:
    edges = [start, *[at + 1 for at in range(start, end) if passage.lower[at] in (",", ";")], end]
    return [(a, b) for a, b in zip(edges, edges[1:], strict=False) if b > a]


def bare_answer(words: list[str]) -> str | None:
    """ "… , yes." and "… , no to that too": an answer that is nothing but one."""
    said = [word for word in words if word not in _BESIDE_A_BARE_ANSWER]
    return next((status for status, says in _BARE.items() if len(said) == 1 and said[0] in says), None)


def answered_bare(passage: Passage, start: int, end: int) -> bool:
    """Whether a clause is nothing but a yes or no; a "no" before another number, or before "scratch that", is none."""
    clauses = cut_at_commas(passage, start, end)
    for place, (a, b) in enumerate(clauses):
        if bare_answer(passage.lower[a:b]):
            follow = passage.words(*clauses[place + 1])[:1] if place + 1 < len(clauses) else ["."]
            return bool(_GOES_ON_BEHIND.intersection(follow))
    return False

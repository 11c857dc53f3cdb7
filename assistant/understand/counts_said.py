"""How many of a thing, and in what: "two rolls of", "a bucket and a half", "half a tub", "a dozen", "a couple of"."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.understand.number import Number
from assistant.understand.passage import Passage
from assistant.understand.tokens import load_table

_LIST = load_table("materials.toml")["list"]
CONTAINERS = frozenset(_LIST["counted_in"])
ADJECTIVES = frozenset(_LIST["adjectives"])
_SHORT = _LIST["short_for"]
_ARTICLES = frozenset({"a", "an", "one", "another"})
_TWO = frozenset({"couple", "pair"})
_BY = (["by"], ["x"])
_HALF = {("and", "a", "half"): 0.5, ("and", "a", "quarter"): 0.25}
_MOST = 500


@dataclass(frozen=True, slots=True)
class Count:
    """Words that count: what is counted begins at `end`."""

    start: int
    end: int
    value: float
    article: bool = False  # "a collar": one, though no number was said


def counts_in(passage: Passage, start: int, end: int) -> list[Count]:
    """Every count in start..end, in order; a size ("eight inch", "ten by six", "three quarter") is none."""
    numbers = {number.start: number for number in passage.numbers_in(start, end)}
    found: list[Count] = []
    at = start
    while at < end:
        count = _count_at(passage, at, numbers.get(at), end)
        if count:
            found.append(count)
        at = max(at + 1, count.end if count else at, numbers[at].end if at in numbers and not count else at)
    return found


def _count_at(passage: Passage, at: int, number: Number | None, end: int) -> Count | None:
    word = passage.lower[at]
    if number is not None and word != "half":
        return _counting(passage, number)
    follow = passage.words(at + 1, min(end, at + 3))
    if word == "half" and follow[:1] in (["a"], ["dozen"]):
        dozen = "dozen" in follow[:2]
        return Count(at, at + 1 + (follow.index("dozen") + 1 if dozen else 1), 6.0 if dozen else 0.5)
    if word in _ARTICLES and follow[:1] == ["half"]:
        return Count(at, at + 3, 6.0) if follow[1:] == ["dozen"] else Count(at, at + 2, 0.5)
    if word in _ARTICLES and follow[:1] and follow[0] in {*_TWO, "dozen"}:
        at, word, follow = at + 1, follow[0], passage.words(at + 2, min(end, at + 3))
        return Count(at - 1, at + 1 + (follow == ["of"]), 12.0 if word == "dozen" else 2.0)
    if word in _TWO or word == "dozen":
        return Count(at, at + 1 + (follow[:1] == ["of"]), 12.0 if word == "dozen" else 2.0)
    if word == "both":
        return Count(at, at + 1, 2.0)
    return Count(at, at + 1, 1.0, article=True) if word in _ARTICLES else None


def _counting(passage: Passage, number: Number) -> Count | None:
    """A number that counts; of "two sixteen by twenty" and "two ten inch", run together, only the two."""
    sized = passage.words(number.end, number.end + 1) in _BY or (
        number.end in passage.units and "in" in passage.units[number.end].kinds
    )
    if passage.words(number.start - 1, number.start) in _BY or number.kind not in ("cardinal", "decimal"):
        return None
    if sized:
        split = len(number.parts) == 2 and number.parts[0] <= 24 and number.value > 100
        return Count(number.start, number.start + 1, number.parts[0]) if split else None
    if number.value > _MOST or number.value <= 0:
        return None
    if passage.words(number.end, number.end + 1) == ["dozen"]:
        return Count(number.start, number.end + 1, 12 * number.value)
    return Count(number.start, number.end, number.value)


def held_in(passage: Passage, count: Count, end: int) -> tuple[int, str, float] | None:
    """(where the thing begins, its unit, how many): behind "two", "two rolls of", "a bucket and a half of", "ten feet
    of"; None where something else is counted, like hours."""
    at = past_adjectives(passage, count.end, end)
    spoken = passage.units.get(at)
    if spoken and "ft" in spoken.kinds[:1]:
        return (spoken.end + 1, "ft", count.value) if passage.words(spoken.end, spoken.end + 1) == ["of"] else None
    if spoken and " ".join(passage.words(at, at + 1)) not in _SHORT:
        of = passage.words(spoken.end, spoken.end + 1) == ["of"]
        return (spoken.end + 1, spoken.kinds[0], count.value) if of and spoken.kinds[0] in ("lb", "m") else None
    if at >= end or passage.lower[at] not in CONTAINERS:
        return at, "ea", count.value
    unit, value, at = singular(_SHORT.get(passage.lower[at], passage.lower[at])), count.value, at + 1
    if more := _HALF.get(tuple(passage.words(at, at + 3))):
        value, at = value + more, at + 3
    if passage.words(at, at + 1) == ["of"]:
        return at + 1, unit, value
    several = value != 1 or passage.lower[at - 1] in _SHORT  # "two rolls foil tape", but no "box fan"
    return (at, unit, value) if several else (count.end, "ea", count.value)


def past_adjectives(passage: Passage, at: int, end: int) -> int:
    while at < end and passage.lower[at] in ADJECTIVES:
        at += 1
    return at


def singular(word: str) -> str:
    if word.endswith(("xes", "ches")):
        return word[:-2]
    return word[:-1] if word.endswith("s") and not word.endswith("ss") and len(word) > 3 else word

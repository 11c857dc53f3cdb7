"""When two values, or two wordings, count as the same."""

from __future__ import annotations

import re
from typing import Any

from text_to_num import alpha2digit

VALUE_TOLERANCE = 0.005  # of the gold value, as the corpus's rules say
_SHARED_WORDS = 0.5  # of the shorter text's words: two wordings of one thing

_DIGITS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
# Words a listener takes for each other in a task; a keyword is met by any word of its line.
_SYNONYMS = tuple(
    frozenset(line.split())
    for line in (
        "recheck check verify read look test",
        "fix repair mend replace reseal",
        "fire light lit start ignite",
        "start startup commission",
        "call phone ring",
        "back return revisit come again",
        "left leave gone out empty",
        "again repeat redo re",
        "utility power",
        "register registration file",
        "tell let notify call",
        "late behind delay",
        "insulation insulate wrap",
        "remove take off",
        "inspect inspector inspection",
        "bag cover",
    )
)
_SMALL_WORDS = {"a", "an", "and", "at", "by", "for", "from", "in", "inch", "into", "more", "new", "of", "on", "one"}
_SMALL_WORDS |= {"the", "to", "up", "with"}
_ENDINGS = ("ations", "ation", "ings", "ing", "ers", "er", "ors", "or", "ions", "ion", "ed", "es", "s", "e", "y")


def same_value(got: float | None, gold: float | None) -> bool:
    if got is None or gold is None:
        return got is gold
    return abs(got - gold) <= VALUE_TOLERANCE * abs(gold) + 1e-9


def same_sizes(got: list[float] | None, gold: list[float]) -> bool:
    """A twenty by fourteen is a fourteen by twenty."""
    got = sorted(got or ())
    return len(got) == len(gold) and all(map(same_value, got, sorted(gold)))


def same_moment(got: str | None, gold: str | None) -> bool:
    """Equal; a gold that names only the day is met by any time of that day."""
    if got is None or gold is None:
        return got is gold
    return got[:10] == gold if len(gold) == 10 else got[:16] == gold[:16]


def has_keywords(text: str | None, keywords: list[str]) -> bool:
    """Every word of every keyword occurs in `text`, as such, in another form, or as an obvious synonym."""
    there = {stem(word) for word in _words(text or "")}
    return all(there & _meant(word) for keyword in keywords for word in _words(keyword))


def alike(got: str | None, gold: str | None) -> bool:
    """Two wordings of one thing: at least half the content words of the shorter are in the other."""
    left, right = _content(got or ""), _content(gold or "")
    if not left or not right:
        return left == right
    return len(left & right) >= _SHARED_WORDS * min(len(left), len(right))


def stem(word: str) -> str:
    """The word without its commonest endings: "sealed", "sealing" and "seals" are one."""
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            word = word[: -len(ending)]
            break
    return word[:-1] if len(word) > 3 and word[-1] == word[-2] else word


def numbers_in(say: str) -> list[float]:
    """Every number in a reply, in digits or in words; a refrigerant's name is none."""
    text = re.sub(r"(?<=\d),(?=\d{3})", "", say.lower())
    text = re.sub(r"(?<=[a-z])-(?=[a-z])", " ", text)
    text = re.sub(r"\b(point|hundred|[a-z]+teen|[a-z]+ty|one|two|three) oh\b", r"\1 zero", text)
    text = re.sub(rf"\b({'|'.join(_DIGITS)}) and a half", lambda half: f"{_DIGITS.index(half[1]) + 1}.5", text)
    text = alpha2digit(text, "en")
    text = re.sub(r"\bpoint (\d[\d ]*)", lambda digits: f"0.{digits[1].replace(' ', '')} ", text)
    text = re.sub(r"(\d) and a half", r"\1.5", text)
    text = re.sub(r"\b([1-9]) ([1-9]\d)\b(?!\.)", r"\1\2", text)  # "three eighty", as pressures are said
    text = re.sub(r"(minus|negative) (?=\d)", "-", text)
    return [float(number) for number in re.findall(r"(?<![\w.-])-?\d*\.?\d+(?!\w)", text)]


def values_in(say: str) -> list[float]:
    """The numbers of a reply that could be taken for a value: not a refrigerant's name, a date, or "unit 2"."""
    text = re.sub(r"\br[- ]?\d+[a-z]?\b", " ", say, flags=re.I)
    text = re.sub(r"\d{4}-\d\d-\d\d(t[\d:]+)?", " ", text, flags=re.I)
    text = re.sub(rf"\b({_MONTHS})\w* \d+|\b\d+(st|nd|rd|th)\b|\b\d+:\d\d\b", " ", text, flags=re.I)
    text = re.sub(r"\b(unit|system|number) (\d+|one|two|three|four)\b", " ", text, flags=re.I)
    return numbers_in(text)


_MONTHS = "january|february|march|april|may|june|july|august|september|october|november|december"


def matches(got: dict[str, Any], gold: dict[str, Any], keys: dict[str, Any]) -> bool:
    """Whether every key of `gold` that `keys` has a comparison for is met by `got`."""
    return all(compare(got.get(key), gold[key]) for key, compare in keys.items() if key in gold)


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z0-9]+", alpha2digit(text.lower().replace("-", " "), "en").replace("'s", ""))


def _content(text: str) -> set[str]:
    return {stem(word) for word in _words(text)} - {stem(word) for word in _SMALL_WORDS}


def _meant(word: str) -> set[str]:
    root = stem(word)
    lines = (line for line in _SYNONYMS if root in {stem(other) for other in line})
    return {root}.union(*({stem(other) for other in line} for line in lines))

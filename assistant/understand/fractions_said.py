"""Decimals and fractions as they are said: "point five two", "three eighths", "3/8", "and a half"."""

from __future__ import annotations

from assistant.understand.cardinals import CARDINAL_WORDS, OH, SMALL, TEENS, TENS, Piece, pieces_at
from assistant.understand.number import Number, following, written_in_digits

DENOMINATORS = {
    "half": 2, "halves": 2, "third": 3, "thirds": 3, "quarter": 4, "quarters": 4, "fourths": 4,
    "eighth": 8, "eighths": 8, "tenths": 10, "hundredths": 100, "sixteenth": 16, "sixteenths": 16, "thirtyseconds": 32,
}  # fmt: skip
_LINES = frozenset({"suction", "liquid", "vapor", "vapour", "line", "lines", "copper"})


def decimals_at(words: list[str], at: int) -> tuple[int, str] | None:
    """(end, digits) of what follows "point": "five two" is "52", "oh three" is "03", "sixty four" is "64"."""
    digits, end = "", at
    while end < len(words):
        word = words[end]
        if word in OH:
            digits += "0"
        elif word in SMALL:
            digits += str(SMALL.index(word))
        elif word in TEENS:
            digits += str(10 + TEENS.index(word))
        elif word in TENS:
            follow = end + 2 if following(words, end) == "-" else end + 1
            tens = 2 + TENS.index(word)
            if follow < len(words) and words[follow] in SMALL[1:]:
                digits += f"{tens}{SMALL.index(words[follow])}"
                end = follow
            else:
                digits += f"{tens}0"
        elif written_in_digits(word):
            digits += word
        else:
            break
        end += 1
    return (end, digits) if digits else None


def fraction_at(words: list[str], pieces: list[Piece]) -> Number | None:
    """ "three eighths", "3/8", "1 1/2", "three-quarter"."""
    last = pieces[-1]
    at = last.end
    if words[at : at + 1] == ["-"] and (following(words, at) or "") in DENOMINATORS:
        at += 1
    denominator = DENOMINATORS.get(words[at]) if at < len(words) else None
    if denominator and len(pieces) <= 2 and 0 < last.value < denominator + 1 and words[at] != "half":
        whole = pieces[0].value if len(pieces) == 2 else 0
        return Number(pieces[0].start, at + 1, ((whole + last.value / denominator, 1.0),), "fraction", (last.value,))
    eighths = _as_eighths(words, last)
    if eighths and len(pieces) == 1:
        return eighths
    if last.end + 1 < len(words) and words[last.end] == "/" and written_in_digits(words[last.end + 1]):
        below = float(words[last.end + 1])
        if below in (2, 3, 4, 8, 16, 32, 64) and last.value < below:
            whole = pieces[0].value if len(pieces) == 2 else 0
            return Number(
                pieces[0].start, last.end + 2, ((whole + last.value / below, 1.0),), "fraction", (last.value,)
            )
    return None


def _as_eighths(words: list[str], piece: Piece) -> Number | None:
    """ "7-8 suction", "3-8's liquid", "3'8' liquid", "3, 8, liquid": seven and three eighths beside a line's name."""
    at = piece.end
    if words[at : at + 1] not in (["-"], ["'"], [","]) or not written_in_digits((words[at + 1 : at + 2] or [""])[0]):
        return None
    below, end = float(words[at + 1]), at + 2
    if words[end : end + 1] in (["'s"], ["'"]):
        end += 1
    line = end + 1 if words[end : end + 1] == [","] else end
    if below not in (4, 8, 16) or not 0 < piece.value < below or not _LINES.issuperset(words[line : line + 1] or [""]):
        return None
    return Number(piece.start, line, ((piece.value / below, 0.8),), "fraction", (piece.value,))


def and_a_fraction(words: list[str], at: int) -> tuple[int, float] | None:
    """(end, fraction) of "and a half", "and three quarters", "and 1/2" after a number."""
    if at < len(words) and words[at] == "-":  # "two-and-a-half"
        at += 1
    if at >= len(words) or words[at] != "and":
        return None
    at += 1
    if words[at : at + 1] == ["-"]:
        at += 1
    if at < len(words) and words[at] in ("a", "an"):
        at += 1
        if words[at : at + 1] == ["-"]:
            at += 1
        if at < len(words) and words[at] in ("half", "quarter", "third", "eighth"):
            return at + 1, 1 / DENOMINATORS[words[at]]
        return None
    if at < len(words) and words[at] == "half":
        return at + 1, 0.5
    pieces = pieces_at(words, at) if at < len(words) else []
    fraction = fraction_at(words, pieces) if len(pieces) == 1 else None
    return (fraction.end, fraction.value) if fraction and fraction.value < 1 else None


def ends_a_number(words: list[str], at: int) -> bool:
    before = words[at - 1] if at else "."
    return before in CARDINAL_WORDS or before in DENOMINATORS or written_in_digits(before[0])

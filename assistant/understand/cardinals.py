"""Standard cardinals, piece by piece: "twelve hundred", "one hundred and five", "36,000", "80 thousand".

text2num reads the words; here is found how far they go.
"""

from __future__ import annotations

import functools
from typing import NamedTuple

from text_to_num import text2num

from assistant.understand.number import MOST_SIGNS, following

SMALL = "zero one two three four five six seven eight nine".split()
TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
CARDINAL_WORDS = frozenset([*SMALL, *TEENS, *TENS, "hundred", "thousand", "million", "fourty"])
OH = frozenset({"oh", "o", "zero", "nought"})
ONE_WORD = (
    {word: float(n) for n, word in enumerate((*SMALL, *TEENS))}
    | {word: 10.0 * n for n, word in enumerate(TENS, 2)}
    | {"fourty": 40.0}
)
_UNITS = {word: float(n) for n, word in enumerate(SMALL) if n}
ARTICLES = frozenset({"a", "an"})
SCALE = {"hundred": 100, "thousand": 1000, "million": 1_000_000, "k": 1000}
SCALES = frozenset({"hundred", "thousand", "million"})
DIGITS = frozenset("0123456789")


class Piece(NamedTuple):
    start: int
    end: int
    value: float
    digits: bool  # written as digits
    oh: bool = False
    two_decimals: bool = False  # "5.50"


def pieces_at(words: list[str], at: int) -> list[Piece]:
    """Standard cardinals standing side by side from `at`, with nothing between them."""
    found: list[Piece] = []
    while at < len(words) and len(found) < 5:
        piece = _piece_at(words, at, first=not found)
        if piece is None:
            break
        found.append(piece)
        at = piece.end
        if at + 1 < len(words) and words[at] == "-":
            # "ninety-four": a hyphen inside a number joins; "14-20" between digits does not
            mixed = words[at + 2 : at + 3] == ["/"]  # "2-1/2"
            if mixed or not piece.digits and (words[at + 1] in CARDINAL_WORDS or words[at + 1] in OH):
                at += 1
    return without_an_oh(found)


def without_an_oh(pieces: list[Piece]) -> list[Piece]:
    """Pieces up to the last that is no "oh": there is one inside a number, and none at its end."""
    return without_an_oh(pieces[:-1]) if len(pieces) > 1 and pieces[-1].oh else pieces


def _piece_at(words: list[str], at: int, first: bool) -> Piece | None:
    word = words[at]
    if word[0] in DIGITS or (word[0] == "." and word[1:2] in DIGITS):
        if len(word) > MOST_SIGNS:
            return None
        value = float(word.replace(",", ""))
        if scale := SCALE.get(following(words, at)):
            return Piece(at, at + 2, value * scale, True)
        return Piece(at, at + 1, value, True, two_decimals="." in word and len(word) - word.index(".") == 3)
    if word in OH and word != "zero":
        return None if first else Piece(at, at + 1, 0, False, oh=True)
    if word in ARTICLES and first and following(words, at) in SCALES:
        longest = _longest_cardinal(words, at + 1)
        return longest and Piece(at, longest[0], longest[1], False)
    if word not in CARDINAL_WORDS:
        return None
    longest = _longest_cardinal(words, at)
    if longest and words[longest[0] : longest[0] + 1] == ["k"]:
        return Piece(at, longest[0] + 1, 1000 * longest[1], False)  # "an eighty K furnace"
    return longest and Piece(at, longest[0], longest[1], False)


def _longest_cardinal(words: list[str], at: int) -> tuple[int, float] | None:
    """(end, value) of the longest standard cardinal from `at`."""
    end = at
    while end < len(words) and (words[end] in CARDINAL_WORDS or words[end] in ("and", "-")) and end - at < 12:
        end += 1
    value = ONE_WORD.get(words[at])
    if value and SCALES.isdisjoint(words[at:end]):  # without a hundred there is only "thirty" and "thirty four"
        unit = at + 1
        while unit < end and words[unit] == "-":
            unit += 1
        small = _UNITS.get(words[unit]) if value >= 20 and unit < end else None
        return (unit + 1, value + small) if small else (at + 1, value)
    while end > at:
        if words[end - 1] not in ("and", "-"):
            value = _standard(tuple(word for word in words[at:end] if word != "-"))
            if value is not None:
                return end, value
        end -= 1
    return None


@functools.lru_cache(maxsize=4096)
def _standard(words: tuple[str, ...]) -> float | None:
    if words[0] == "and" or ("and" in words and SCALES.isdisjoint(words)):
        return None
    try:
        return float(text2num(" ".join(words).replace("fourty", "forty"), "en"))
    except ValueError:
        return None

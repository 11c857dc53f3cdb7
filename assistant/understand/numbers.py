"""Numbers the way a mechanic says them.

text2num reads the standard cardinals ("twelve hundred", "one hundred and five"); what is ours is the
trade's habit of setting them side by side ("one eighteen" is 118, "seven one" may be 7.1), decimals
begun with "point", halves and eighths, and digits a recogniser has broken ("3 45"). A number keeps every
value its sounds could mean; the quantity it belongs to decides later, and doubt lowers the confidence.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import replace

from assistant.understand.cardinals import (
    ARTICLES,
    CARDINAL_WORDS,
    DIGITS,
    OH,
    ONE_WORD,
    SCALE,
    SCALES,
    Piece,
    pieces_at,
    without_an_oh,
)
from assistant.understand.fractions_said import (
    DENOMINATORS,
    and_a_fraction,
    decimals_at,
    ends_a_number,
    fraction_at,
)
from assistant.understand.number import Number, following, written_in_digits
from assistant.understand.tokens import Tokens

_UNIT_ORDINALS = "first second third fourth fifth sixth seventh eighth ninth".split()
_ORDINALS = (
    {word: n for n, word in enumerate(_UNIT_ORDINALS, 1)}
    | {
        word: n
        for n, word in enumerate(
            "tenth eleventh twelfth thirteenth fourteenth fifteenth sixteenth seventeenth eighteenth"
            " nineteenth".split(),
            10,
        )
    }
    | {"twentieth": 20, "thirtieth": 30}
)
_MINUS = frozenset({"minus", "negative"})
_SIGNS = frozenset("-−–")
_POINT_OR_DIGIT = DIGITS | {"."}
# Words that begin a number without being a standard cardinal, and all that can begin one at all.
_OTHER_OPENERS = frozenset({*_ORDINALS, *OH, "inch", "point", "half", "buck", "quarter"})
_OPENERS = frozenset({*_MINUS, *_SIGNS, *CARDINAL_WORDS, *_OTHER_OPENERS, *ARTICLES, "plus"})
# What may stand behind a number and still belong to it: a fraction or decimals.
_GOES_ON = frozenset({*DENOMINATORS, "point", "and", "-", "'", ",", "/"})
# What a lone "one" can count; anywhere else it stands for something already named.
_COUNTED_BY_ONE = frozenset(
    "inch ton amp amps volt foot feet pound ounce hour minute second day psi micron microns degree percent man guy"
    " person roll rolls run runs return takeoff by x in ft".split()
)
# How much to believe a reading of the sounds that needs a habit, against the plain one (from judgement).
_SIDE_BY_SIDE, _DROPPED_POINT, _BROKEN_DIGITS = 0.97, 0.6, 0.9


def find_numbers(said: Tokens, spelling: Container[int] = ()) -> list[Number]:
    """Every number in `said`, in order, none overlapping.

    spelling  tokens that only spell another word: the "2" of "inH2O"
    """
    words = said.lower
    found, after = [], 0
    for at in [at for at, word in enumerate(words) if word in _OPENERS or word[0] in _POINT_OR_DIGIT and word != "."]:
        if at < after or at in spelling or (words[at] in ARTICLES and following(words, at) not in SCALES):
            continue
        number = _number_at(said, at)
        if number and not _is_a_pronoun(words, number):
            found.append(number)
            after = number.end
    return found


def numbers_from(said: Tokens, start: int, known: list[Number]) -> list[Number]:
    """What is left of a number that `start` cuts in two ("unit two" out of "unit two three forty")."""
    cut = next((n for n in known if n.start < start < n.end), None)
    if cut is None:
        return []
    rest = _number_at(said, start)
    return [rest] if rest else []


def _is_a_pronoun(words: list[str], number: Number) -> bool:
    """ "The new one", "one of them": no number. "Minimum's one", "one amp" and "one eighteen" are."""
    at = number.start
    if words[at] != "one" or number.end != at + 1:
        return False
    follow, before = following(words, at), words[at - 1] if at else "."
    if before in ("is", "'s", "at", "was", "reads", "says", "minimum", "maximum", "plus", "about"):
        goes_on = follow is not None and follow.isalpha() and follow not in ("and", "but", "so", "on", "now", "at")
        return goes_on and follow not in _COUNTED_BY_ONE
    return follow not in _COUNTED_BY_ONE


def _number_at(said: Tokens, at: int) -> Number | None:
    words = said.lower
    if words[at] in _MINUS and words[at + 1 : at + 2] and words[at + 1] in OH and (small := decimals_at(words, at + 1)):
        return Number(at, small[0], ((-float(f"0.{small[1]}"), 0.9),), "decimal")  # "negative oh two"
    if words[at] in _MINUS and at + 1 < len(words):
        number = _unsigned_at(words, at + 1)
        return number and replace(number, start=at, values=tuple((-v, p) for v, p in number.values))
    if words[at] in _SIGNS and at + 1 < len(words) and not said.spaced(at) and (at == 0 or said.spaced(at - 1)):
        number = _unsigned_at(words, at + 1) if words[at + 1][0] in _POINT_OR_DIGIT else None
        return number and replace(number, start=at, values=tuple((-v, p) for v, p in number.values))
    if words[at] == "plus" and at + 1 < len(words):
        number = _unsigned_at(words, at + 1)
        return number and replace(number, start=at)
    return _unsigned_at(words, at)


def _unsigned_at(words: list[str], at: int) -> Number | None:
    word = words[at]
    if word in _OTHER_OPENERS and (word != "zero" or following(words, at) == "point"):
        return _other_at(words, at)
    if (word in ("twenty", "thirty") or word[0] in DIGITS) and (ordinal := _ordinal_at(words, at)):
        return ordinal
    if alone := _alone_at(words, at):
        return alone
    pieces = pieces_at(words, at)
    if not pieces:
        return None
    start, end = pieces[0].start, pieces[-1].end
    goes_on = end < len(words) and words[end] in _GOES_ON
    if goes_on and (fraction := fraction_at(words, pieces)):
        return fraction
    values = _join(pieces)
    if goes_on and words[end] == "point" and values and (decimal := decimals_at(words, end + 1)):
        value = float(f"{values[0][0]:.0f}.{decimal[1]}")
        return Number(start, decimal[0], ((value, 1.0),), "decimal", tuple(p.value for p in pieces))
    while not values:
        # "one eighteen three forty five" is two numbers: the longest run that makes one, then the rest by itself
        pieces = without_an_oh(pieces[:-1])
        values, end = _join(pieces), pieces[-1].end
    added = and_a_fraction(words, end)
    if added and len(pieces) == 2 and values[0][0] % 1:
        # "forty five seven and a half" is two numbers, no 45.7 and a half
        pieces = pieces[:1]
        values, end, added = _join(pieces), pieces[0].end, None
    if added:
        return Number(start, added[0], tuple((v + added[1], p) for v, p in values), "decimal")
    kind = "decimal" if any("." in words[p.start] for p in pieces) else "cardinal"
    return Number(start, end, values, kind, tuple(p.value for p in pieces))


def _alone_at(words: list[str], at: int) -> Number | None:
    """A number of one word, with nothing behind it that could belong to it: most numbers are."""
    word, follow = words[at], words[at + 1] if at + 1 < len(words) else " "
    if (
        follow in _GOES_ON
        or follow in SCALE
        or follow in CARDINAL_WORDS
        or follow in OH
        or follow[0] in _POINT_OR_DIGIT
    ):
        return None
    if value := ONE_WORD.get(word):
        return Number(at, at + 1, ((value, 1.0),), "cardinal", (value,))
    if written_in_digits(word):
        value = float(word)
        return Number(at, at + 1, ((value, 1.0),), "cardinal", (value,))
    return None


def _other_at(words: list[str], at: int) -> Number | None:
    """Ordinals, decimals without a whole, and fractions without a number: "third", "point five", "half an inch"."""
    word = words[at]
    if word in _ORDINALS and word != "second":
        return Number(at, at + 1, ((float(_ORDINALS[word]), 1.0),), "ordinal")
    if word == "inch" and not ends_a_number(words, at) and (added := and_a_fraction(words, at + 1)):
        return Number(at, added[0], ((1 + added[1], 1.0),), "fraction", plain_article=True)  # "inch and an eighth"
    if word == "point" or (word in OH and following(words, at) == "point"):
        decimal = decimals_at(words, at + 1 if word == "point" else at + 2)
        return decimal and Number(at, decimal[0], ((float(f"0.{decimal[1]}"), 1.0),), "decimal")
    if word == "half":
        of_one = words[at + 1 : at + 2] in (["a"], ["an"]) and words[at + 2 : at + 3] in (["inch"], ["ton"], ["degree"])
        return Number(at, at + 2 if of_one else at + 1, ((0.5, 1.0),), "fraction")  # "half an inch"
    if word == "buck" and (rest := pieces_at(words, at + 1)) and 10 <= rest[0].value < 100:
        return Number(at, rest[0].end, ((100 + rest[0].value, _SIDE_BY_SIDE),), "cardinal")  # "a buck eighteen"
    if word == "quarter" and (at == 0 or words[at - 1] != "the"):
        return Number(at, at + 1, ((0.25, 1.0),), "fraction", plain_article=True)
    return None


def _join(pieces: list[Piece]) -> tuple[tuple[float, float], ...]:
    """The values that pieces set side by side can mean; empty when they make no one number."""
    if len(pieces) == 1:
        return _with_a_clock_point(pieces[0])
    values = [piece.value for piece in pieces]
    trust = _BROKEN_DIGITS if pieces[0].digits else _SIDE_BY_SIDE
    if any(value != int(value) for value in values):
        return ()
    if pieces[1].oh and len(pieces) == 3 and values[2] < 10:  # "one oh four"
        return ((values[0] * 100 + values[2], trust),)
    if len(pieces) >= 3 and all(value < 10 for value in values):  # "one one eight"
        return ((float("".join(f"{value:.0f}" for value in values)), trust),)
    if len(pieces) == 2:
        first, second = values
        if 1 <= first < 100 and 10 <= second < 100 and not (first >= 20 and first % 10 == 0 and second < 10):
            return ((first * 100 + second, trust),)
        if first < 10 and second < 10:  # "seven one": a dropped point is likelier than 71
            return ((first + second / 10, _DROPPED_POINT), (first * 10 + second, _DROPPED_POINT / 2))
        if 10 <= first < 1000 and 0 < second < 10:  # "twenty one five"
            return ((first + second / 10, _DROPPED_POINT),)
        if first >= 1000 and first % 1000 == 0 and second < 1000:  # "two thousand / fifty" left apart
            return ((first + second, trust),)
    if len(pieces) == 3 and values[0] < 10 and values[1] >= 20 and values[1] % 10 == 0 and values[2] < 10:
        return ((values[0] * 100 + values[1] + values[2], trust),)
    return ()


def _with_a_clock_point(piece: Piece) -> tuple[tuple[float, float], ...]:
    """ "5.50" may be how a recogniser wrote "five fifty"."""
    if piece.two_decimals and 1 <= piece.value < 100:
        return ((piece.value, 0.9), (float(round(piece.value * 100)), _DROPPED_POINT))
    return ((piece.value, 1.0),)


def _ordinal_at(words: list[str], at: int) -> Number | None:
    """ "twenty fifth", "3rd"; those of one word are looked up."""
    word = words[at]
    if word in ("twenty", "thirty"):
        follow = at + 2 if words[at + 1 : at + 2] == ["-"] else at + 1
        if follow < len(words) and words[follow] in _UNIT_ORDINALS:
            return Number(
                at, follow + 1, ((20.0 + 10 * (word == "thirty") + _ORDINALS[words[follow]], 1.0),), "ordinal"
            )
    if written_in_digits(word) and following(words, at) in ("st", "nd", "rd", "th"):
        return Number(at, at + 2, ((float(word), 1.0),), "ordinal")
    return None

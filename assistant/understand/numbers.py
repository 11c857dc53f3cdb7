"""Numbers the way a mechanic says them.

text2num reads the standard cardinals ("twelve hundred", "one hundred and five"); what is ours is the
trade's habit of setting them side by side ("one eighteen" is 118, "seven one" may be 7.1), decimals
begun with "point", halves and eighths, and digits a recogniser has broken ("3 45"). A number keeps every
value its sounds could mean; the quantity it belongs to decides later, and doubt lowers the confidence.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace
from typing import NamedTuple

from text_to_num import text2num

from assistant.understand.tokens import Tokens

_SMALL = "zero one two three four five six seven eight nine".split()
_TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
_CARDINAL_WORDS = frozenset([*_SMALL, *_TEENS, *_TENS, "hundred", "thousand", "million", "fourty"])
_OH = frozenset({"oh", "o", "zero", "nought"})
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
_DENOMINATORS = {
    "half": 2, "halves": 2, "third": 3, "thirds": 3, "quarter": 4, "quarters": 4, "fourths": 4,
    "eighth": 8, "eighths": 8, "tenths": 10, "hundredths": 100, "sixteenth": 16, "sixteenths": 16, "thirtyseconds": 32,
}  # fmt: skip
_MINUS = frozenset({"minus", "negative"})
_ONE_WORD = (
    {word: float(n) for n, word in enumerate((*_SMALL, *_TEENS))}
    | {word: 10.0 * n for n, word in enumerate(_TENS, 2)}
    | {"fourty": 40.0}
)
_UNITS = {word: float(n) for n, word in enumerate(_SMALL) if n}
_SIGNS = frozenset("-−–")
_ARTICLES = frozenset({"a", "an"})
_SCALE = {"hundred": 100, "thousand": 1000, "million": 1_000_000, "k": 1000}
_SCALES = frozenset({"hundred", "thousand", "million"})
_DIGITS = frozenset("0123456789")
_POINT_OR_DIGIT = _DIGITS | {"."}
# Words that begin a number without being a standard cardinal, and all that can begin one at all.
_OTHER_OPENERS = frozenset({*_ORDINALS, *_OH, "inch", "point", "half", "buck", "quarter"})
_OPENERS = frozenset({*_MINUS, *_SIGNS, *_CARDINAL_WORDS, *_OTHER_OPENERS, *_ARTICLES, "plus"})
# What may stand behind a number and still belong to it: a fraction or decimals.
_GOES_ON = frozenset({*_DENOMINATORS, "point", "and", "-", "'", ",", "/"})
# What a lone "one" can count; anywhere else it stands for something already named.
_COUNTED_BY_ONE = frozenset(
    "inch ton amp amps volt foot feet pound ounce hour minute second day psi micron microns degree percent man guy"
    " person roll rolls run runs return takeoff by x in ft".split()
)
_LINES = frozenset({"suction", "liquid", "vapor", "vapour", "line", "lines", "copper"})
# How much to believe a reading of the sounds that needs a habit, against the plain one (from judgement).
_SIDE_BY_SIDE, _DROPPED_POINT, _BROKEN_DIGITS = 0.97, 0.6, 0.9


@dataclass(frozen=True, slots=True)
class Number:
    """A number in the text. `values` are (value, likelihood), the likeliest first."""

    start: int  # first token
    end: int  # one past the last token
    values: tuple[tuple[float, float], ...]
    kind: str = "cardinal"  # cardinal | decimal | fraction | ordinal
    parts: tuple[float, ...] = ()  # the standard cardinals it was put together from
    plain_article: bool = False  # "a half", "an hour": no number word was said
    places: int = 0  # decimals a recogniser wrote it with; 0 for what was typed
    ends: tuple[float, float] | None = None  # of the range it may also be
    rivals: bool = False  # its sounds fit two values; where both fit the quantity, it has to be asked

    @property
    def value(self) -> float:
        return self.values[0][0]


def find_numbers(said: Tokens) -> list[Number]:
    """Every number in `said`, in order, none overlapping."""
    words = said.lower
    found, after = [], 0
    for at in [at for at, word in enumerate(words) if word in _OPENERS or word[0] in _POINT_OR_DIGIT and word != "."]:
        if at < after or (words[at] in _ARTICLES and _next(words, at) not in _SCALES):
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
    follow, before = _next(words, at), words[at - 1] if at else "."
    if before in ("is", "'s", "at", "was", "reads", "says", "minimum", "maximum", "plus", "about"):
        goes_on = follow is not None and follow.isalpha() and follow not in ("and", "but", "so", "on", "now", "at")
        return goes_on and follow not in _COUNTED_BY_ONE
    return follow not in _COUNTED_BY_ONE


def _number_at(said: Tokens, at: int) -> Number | None:
    words = said.lower
    if words[at] in _MINUS and words[at + 1 : at + 2] and words[at + 1] in _OH and (small := _decimals(words, at + 1)):
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
    if word in _OTHER_OPENERS and (word != "zero" or _next(words, at) == "point"):
        return _other_at(words, at)
    if (word in ("twenty", "thirty") or word[0] in _DIGITS) and (ordinal := _ordinal_at(words, at)):
        return ordinal
    if alone := _alone_at(words, at):
        return alone
    pieces = _pieces(words, at)
    if not pieces:
        return None
    start, end = pieces[0].start, pieces[-1].end
    goes_on = end < len(words) and words[end] in _GOES_ON
    if goes_on and (fraction := _fraction(words, pieces)):
        return fraction
    values = _join(pieces)
    if goes_on and words[end] == "point" and values and (decimal := _decimals(words, end + 1)):
        value = float(f"{values[0][0]:.0f}.{decimal[1]}")
        return Number(start, decimal[0], ((value, 1.0),), "decimal", tuple(p.value for p in pieces))
    while not values:
        # "one eighteen three forty five" is two numbers: the longest run that makes one, then the rest by itself
        pieces.pop()
        values, end = _join(pieces), pieces[-1].end
    if added := _and_a_fraction(words, end):
        return Number(start, added[0], tuple((v + added[1], p) for v, p in values), "decimal")
    kind = "decimal" if any("." in words[p.start] for p in pieces) else "cardinal"
    return Number(start, end, values, kind, tuple(p.value for p in pieces))


def _alone_at(words: list[str], at: int) -> Number | None:
    """A number of one word, with nothing behind it that could belong to it: most numbers are."""
    word, follow = words[at], words[at + 1] if at + 1 < len(words) else " "
    if (
        follow in _GOES_ON
        or follow in _SCALE
        or follow in _CARDINAL_WORDS
        or follow in _OH
        or follow[0] in _POINT_OR_DIGIT
    ):
        return None
    if value := _ONE_WORD.get(word):
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
    if word == "inch" and not _ends_a_number(words, at) and (added := _and_a_fraction(words, at + 1)):
        return Number(at, added[0], ((1 + added[1], 1.0),), "fraction", plain_article=True)  # "inch and an eighth"
    if word == "point" or (word in _OH and _next(words, at) == "point"):
        decimal = _decimals(words, at + 1 if word == "point" else at + 2)
        return decimal and Number(at, decimal[0], ((float(f"0.{decimal[1]}"), 1.0),), "decimal")
    if word == "half":
        of_one = words[at + 1 : at + 2] in (["a"], ["an"]) and words[at + 2 : at + 3] in (["inch"], ["ton"], ["degree"])
        return Number(at, at + 2 if of_one else at + 1, ((0.5, 1.0),), "fraction")  # "half an inch"
    if word == "buck" and (rest := _pieces(words, at + 1)) and 10 <= rest[0].value < 100:
        return Number(at, rest[0].end, ((100 + rest[0].value, _SIDE_BY_SIDE),), "cardinal")  # "a buck eighteen"
    if word == "quarter" and (at == 0 or words[at - 1] != "the"):
        return Number(at, at + 1, ((0.25, 1.0),), "fraction", plain_article=True)
    return None


# ---------------------------------------------------------------- standard cardinals, piece by piece


class _Piece(NamedTuple):
    start: int
    end: int
    value: float
    digits: bool  # written as digits
    oh: bool = False
    two_decimals: bool = False  # "5.50"


def _pieces(words: list[str], at: int) -> list[_Piece]:
    """Standard cardinals standing side by side from `at`, with nothing between them."""
    found: list[_Piece] = []
    while at < len(words) and len(found) < 5:
        piece = _piece_at(words, at, first=not found)
        if piece is None:
            break
        found.append(piece)
        at = piece.end
        if at + 1 < len(words) and words[at] == "-":
            # "ninety-four": a hyphen inside a number joins; "14-20" between digits does not
            mixed = words[at + 2 : at + 3] == ["/"]  # "2-1/2"
            if mixed or not piece.digits and (words[at + 1] in _CARDINAL_WORDS or words[at + 1] in _OH):
                at += 1
    if len(found) > 1 and found[-1].oh:
        found.pop()
    return found


def _piece_at(words: list[str], at: int, first: bool) -> _Piece | None:
    word = words[at]
    if word[0] in _DIGITS or (word[0] == "." and word[1:2] in _DIGITS):
        value = float(word.replace(",", ""))
        if scale := _SCALE.get(_next(words, at)):
            return _Piece(at, at + 2, value * scale, True)
        return _Piece(at, at + 1, value, True, two_decimals="." in word and len(word) - word.index(".") == 3)
    if word in _OH and word != "zero":
        return None if first else _Piece(at, at + 1, 0, False, oh=True)
    if word in _ARTICLES and first and _next(words, at) in _SCALES:
        longest = _longest_cardinal(words, at + 1)
        return longest and _Piece(at, longest[0], longest[1], False)
    if word not in _CARDINAL_WORDS:
        return None
    longest = _longest_cardinal(words, at)
    return longest and _Piece(at, longest[0], longest[1], False)


def _longest_cardinal(words: list[str], at: int) -> tuple[int, float] | None:
    """(end, value) of the longest standard cardinal from `at`."""
    end = at
    while end < len(words) and (words[end] in _CARDINAL_WORDS or words[end] in ("and", "-")) and end - at < 12:
        end += 1
    value = _ONE_WORD.get(words[at])
    if value and _SCALES.isdisjoint(words[at:end]):  # without a hundred there is only "thirty" and "thirty four"
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
    if words[0] == "and" or ("and" in words and _SCALES.isdisjoint(words)):
        return None
    try:
        return float(text2num(" ".join(words).replace("fourty", "forty"), "en"))
    except ValueError:
        return None


# ---------------------------------------------------------------- the trade's habits


def _join(pieces: list[_Piece]) -> tuple[tuple[float, float], ...]:
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


def _with_a_clock_point(piece: _Piece) -> tuple[tuple[float, float], ...]:
    """ "5.50" may be how a recogniser wrote "five fifty"."""
    if piece.two_decimals and 1 <= piece.value < 100:
        return ((piece.value, 0.9), (float(round(piece.value * 100)), _DROPPED_POINT))
    return ((piece.value, 1.0),)


def _decimals(words: list[str], at: int) -> tuple[int, str] | None:
    """(end, digits) of what follows "point": "five two" is "52", "oh three" is "03", "sixty four" is "64"."""
    digits, end = "", at
    while end < len(words):
        word = words[end]
        if word in _OH:
            digits += "0"
        elif word in _SMALL:
            digits += str(_SMALL.index(word))
        elif word in _TEENS:
            digits += str(10 + _TEENS.index(word))
        elif word in _TENS:
            follow = end + 2 if _next(words, end) == "-" else end + 1
            tens = 2 + _TENS.index(word)
            if follow < len(words) and words[follow] in _SMALL[1:]:
                digits += f"{tens}{_SMALL.index(words[follow])}"
                end = follow
            else:
                digits += f"{tens}0"
        elif written_in_digits(word):
            digits += word
        else:
            break
        end += 1
    return (end, digits) if digits else None


def _fraction(words: list[str], pieces: list[_Piece]) -> Number | None:
    """ "three eighths", "3/8", "1 1/2", "three-quarter"."""
    last = pieces[-1]
    at = last.end
    if words[at : at + 1] == ["-"] and (_next(words, at) or "") in _DENOMINATORS:
        at += 1
    denominator = _DENOMINATORS.get(words[at]) if at < len(words) else None
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


def _as_eighths(words: list[str], piece: _Piece) -> Number | None:
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


def _and_a_fraction(words: list[str], at: int) -> tuple[int, float] | None:
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
            return at + 1, 1 / _DENOMINATORS[words[at]]
        return None
    if at < len(words) and words[at] == "half":
        return at + 1, 0.5
    pieces = _pieces(words, at) if at < len(words) else []
    fraction = _fraction(words, pieces) if len(pieces) == 1 else None
    return (fraction.end, fraction.value) if fraction and fraction.value < 1 else None


def _ends_a_number(words: list[str], at: int) -> bool:
    before = words[at - 1] if at else "."
    return before in _CARDINAL_WORDS or before in _DENOMINATORS or written_in_digits(before[0])


def _ordinal_at(words: list[str], at: int) -> Number | None:
    """ "twenty fifth", "3rd"; those of one word are looked up."""
    word = words[at]
    if word in ("twenty", "thirty"):
        follow = at + 2 if words[at + 1 : at + 2] == ["-"] else at + 1
        if follow < len(words) and words[follow] in _UNIT_ORDINALS:
            return Number(
                at, follow + 1, ((20.0 + 10 * (word == "thirty") + _ORDINALS[words[follow]], 1.0),), "ordinal"
            )
    if written_in_digits(word) and _next(words, at) in ("st", "nd", "rd", "th"):
        return Number(at, at + 2, ((float(word), 1.0),), "ordinal")
    return None


def written_in_digits(word: str) -> bool:
    """Only the digits 0 to 9: a superscript or another script's digit is no number we can be sure of."""
    return word.isascii() and word.isdigit()


def _next(words: list[str], at: int) -> str | None:
    return words[at + 1] if at + 1 < len(words) else None

"""Numbers as a recogniser writes them down: the values their sounds allow, where it chose one way of many.

"Twelve fifteen" comes as "12-15" or "12.15", "one twenty two" as "1-22", "eleven thirty" as "11, 30", "four ten" as
"for 10". A number keeps every value that would have sounded so; the quantity it belongs to decides. Only for what was
heard: somebody who types "12-15" means it.
"""

from __future__ import annotations

from dataclasses import replace

from assistant.understand.bind import best_sense
from assistant.understand.number import Number, written_in_digits
from assistant.understand.passage import Name, Passage
from assistant.understand.tokens import load_table
from assistant.units import quantities, same_kind

_SET_SIDE_BY_SIDE, _RANGE, _HOMOPHONE = 0.9, 0.6, 0.6  # how much to believe each (from judgement)
_HUNDREDS = {"for": 400, "fore": 400, "to": 200, "too": 200, "through": 300, "threw": 300}  # "head through 50"
_NO_POINT = 0.65
_STRAY = 0.4  # of the plain number, where nothing takes the "for" before it
_TAKE_FOR = frozenset(load_table("cues.toml")["spoken"]["take_for"])
_NAMED_WITHIN = 5  # tokens between a name and a number it may name


def settle_spoken_numbers(passage: Passage) -> None:
    """Give the numbers of a heard passage their other values; join those that a sign has broken in two."""
    passage.numbers = _with_hundreds(passage, _joined(passage, [_with_places(passage, n) for n in passage.numbers]))


def _with_places(passage: Passage, number: Number) -> Number:
    """How many decimals a number was written with: "12.15" was perhaps never said with a point."""
    word = passage.lower[number.start]
    single = number.end == number.start + 1 and "." in word and number.kind == "decimal"
    return replace(number, places=len(word) - word.index(".") - 1) if single else number


def _joined(passage: Passage, numbers: list[Number]) -> list[Number]:
    joined: list[Number] = []
    at = 0
    while at < len(numbers):
        first, second = numbers[at], numbers[at + 1] if at + 1 < len(numbers) else None
        whole = second and (
            _hyphenated(passage, first, second)
            or _broken_by_a_comma(passage, numbers, at)
            or _without_its_point(passage, first, second)
        )
        joined.append(whole or first)
        at += 2 if whole else 1
    return joined


def _pair(passage: Passage, first: Number, second: Number) -> float | None:
    """What two numbers make side by side, "12" and "15"; None where they were not written so."""
    if not (_two_digits(passage, first, 1) and _two_digits(passage, second, 2)):
        return None
    if not (passage.free(first.start, first.end) and passage.free(second.start, second.end)):
        return None
    return first.value * 100 + second.value


def _two_digits(passage: Passage, number: Number, least: int) -> bool:
    word = passage.lower[number.start]
    return number.end == number.start + 1 and written_in_digits(word) and least <= len(word) <= 2


def _hyphenated(passage: Passage, first: Number, second: Number) -> Number | None:
    """ "12-15": 1,215, or from 12 to 15 where nothing else fits. "Supplies got 8-10 inch" is left as it is."""
    value = _pair(passage, first, second)
    between = passage.words(first.end, second.start)
    if value is None or between != ["-"] or passage.spaced(first.start) or passage.spaced(first.end):
        return None
    unit = passage.units.get(second.end)
    if (unit and unit.kinds[0] in ("in", "ft", "ton", "V")) or passage.words(second.end, second.end + 1) == ["-"]:
        return None
    low, high = first.value, second.value
    values = ((value, _SET_SIDE_BY_SIDE), *([((low + high) / 2, _RANGE)] if low < high <= 4 * low else []))
    return Number(first.start, second.end, values, "cardinal", ends=(low, high) if len(values) > 1 else None)


def _broken_by_a_comma(passage: Passage, numbers: list[Number], at: int) -> Number | None:
    """ "Grid says 11, 30": 1,130, where the name can be neither 11 nor 30."""
    first, second = numbers[at], numbers[at + 1]
    value = _pair(passage, first, second)
    if value is None or passage.words(first.end, second.start) != [","] or second.end in passage.units:
        return None
    follow = numbers[at + 2] if at + 2 < len(numbers) else None
    again = follow and first.value == second.value and passage.words(second.end, follow.start) == [","]
    name = None if again else _name_before(passage, first)
    whole = Number(first.start, second.end, ((value, _SET_SIDE_BY_SIDE),), "cardinal")
    if name is None or any(_fits(passage, name, part) for part in (first, second)) or not _fits(passage, name, whole):
        return None
    return whole


def _without_its_point(passage: Passage, first: Number, second: Number) -> Number | None:
    """ "Liquid line 96-5", "drawing 22-4": ninety six five is 96.5. "8-9" may be a range as well."""
    tenths = _two_digits(passage, second, 1) and len(passage.lower[second.start]) == 1 and second.value > 0
    whole = first.end == first.start + 1 and written_in_digits(passage.lower[first.start])
    if not (tenths and whole and first.value < 1000 and passage.words(first.end, second.start) == ["-"]):
        return None
    if passage.spaced(first.start) or passage.spaced(first.end) or second.end in passage.units:
        return None
    if not passage.free(first.start, second.end):
        return None
    low, high = first.value, second.value
    values = ((low + high / 10, _NO_POINT), *([((low + high) / 2, _RANGE)] if low < high else []))
    ends = (low, high) if low < high else None
    return Number(first.start, second.end, values, "decimal", ends=ends, rivals=ends is not None)


def _name_before(passage: Passage, number: Number) -> Name | None:
    start = passage.sentences[passage.sentence_of(number.start)][0]
    before = [name for name in passage.names_in(start, number.start) if name.end <= number.start]
    return before[-1] if before and number.start - before[-1].end <= _NAMED_WITHIN else None


def _fits(passage: Passage, name: Name, number: Number) -> bool:
    """Whether a number lies in the everyday range of something its name can mean."""
    sense = best_sense(passage, name.wordings, number, frozenset(), tight=False)
    known = sense and quantities()[sense.quantity]
    return bool(known) and sense.doubt is None and known.likely_low <= sense.value <= known.likely_high


def _with_hundreds(passage: Passage, numbers: list[Number]) -> list[Number]:
    """ "Head through 50", "head for 10", "ten minutes later for 60": three fifty, four ten, four sixty."""
    ends = {name.end for name in passage.names}
    return [_with_hundred(passage, number, ends) for number in numbers]


def _with_hundred(passage: Passage, number: Number, ends: set[int]) -> Number:
    hundreds = _HUNDREDS.get(" ".join(passage.words(number.start - 1, number.start)))
    if hundreds is None or not _two_digits(passage, number, 2) or number.value < 10 or number.end in passage.units:
        return number  # "for 00" is no four hundred
    if _behind_a_pressure(passage, number.start - 1):
        return number
    named = number.start - 1 in ends
    strays = hundreds == 400 and not _TAKE_FOR.issuperset(passage.words(number.start - 2, number.start - 1) or [""])
    if not (named or strays):
        return number  # "calls for 60", "down to 40", "35 to 65"
    plain = _HOMOPHONE if named else _STRAY
    return replace(number, values=((number.value, plain), (hundreds + number.value, _HOMOPHONE)), rivals=True, led=True)


def _behind_a_pressure(passage: Passage, token: int) -> bool:
    """ "Nitrogen 150 psi for 30": how long it was held."""
    behind = (unit for unit in passage.units.values() if unit.end == token and unit.start < token)
    return any(same_kind(unit.kinds[0], "psi") for unit in behind)

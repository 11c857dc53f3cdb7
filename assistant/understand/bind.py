"""Which number belongs to which name.

Within a sentence, names and numbers are matched in order, no pair crossing another, at the least cost: a
name with its number right behind it costs nothing, words between cost something, a name behind its number
("118 on the low side") a little more. What has no cheap partner stays alone: better unread than wrong.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

from assistant.understand.numbers import Number
from assistant.understand.passage import PSEUDO_QUANTITIES, Name, Passage, Wording
from assistant.understand.tokens import load_table
from assistant.units import quantities, same_kind, to_contract

LIMIT = 4.5  # a dearer pair is no pair
_NAME_ALONE, _NUMBER_ALONE = 0.3, 3.6
_COMMA, _CONTENT_WORD, _CROSSING, _PASSING = 1.3, 1.4, 3.0, 0.3
_BEHIND = 0.5  # a name behind its number
_UNIT_AS_A_NAME = 1.0  # "380 microns"
_BESIDE_A_NAME = 3.2  # a unit that could be a name, where a name stands right before: "liquid line's 96 volts"
_WINDOW = 30  # tokens; names and numbers further apart are never a pair


@dataclass(frozen=True, slots=True)
class Sense:
    """What a number means as one quantity, in that quantity's unit."""

    quantity: str
    value: float
    likelihood: float
    cost: float
    doubt: str | None  # value_implausible | unit_mismatch
    spoken_unit: str | None


@dataclass(frozen=True, slots=True)
class Bond:
    number: Number
    sense: Sense
    cost: float
    name: Name | None


def bind(passage: Passage, names: list[Name], numbers: list[Number], favoured: frozenset[str]) -> list[Bond]:
    """The least-cost pairs among the names and numbers of one stretch of speech."""
    if not names or not numbers:
        return []
    columns, rows = len(numbers), len(names)
    costs = [[_pair(passage, name, number, favoured, names, numbers) for number in numbers] for name in names]
    best = [[(float("inf"), None)] * (columns + 1) for _ in range(rows + 1)]
    best[0][0] = (0.0, None)
    for i in range(rows + 1):
        for j in range(columns + 1):
            here = best[i][j][0]
            if i < rows and here + _NAME_ALONE < best[i + 1][j][0]:
                best[i + 1][j] = (here + _NAME_ALONE, (i, j, None))
            if j < columns and here + _NUMBER_ALONE < best[i][j + 1][0]:
                best[i][j + 1] = (here + _NUMBER_ALONE, (i, j, None))
            if i < rows and j < columns and (pair := costs[i][j]) and here + pair[0] < best[i + 1][j + 1][0]:
                best[i + 1][j + 1] = (here + pair[0], (i, j, pair))
    bonds, i, j = [], rows, columns
    while best[i][j][1] is not None:
        previous_i, previous_j, pair = best[i][j][1]
        if pair:
            bonds.append(Bond(numbers[previous_j], pair[1], pair[0], names[previous_i]))
        i, j = previous_i, previous_j
    return bonds[::-1]


def _pair(passage, name: Name, number: Number, favoured, names, numbers) -> tuple[float, Sense] | None:
    distance = _distance(passage, name, number, names, numbers)
    if distance is None:
        return None
    sense = best_sense(passage, name.wordings, number, favoured, tight=distance < 1.6)
    added_to = passage.lower[number.start] == "plus" and name.end <= number.start
    if sense is None or (added_to and sense.quantity == "factory_charge"):
        return None  # "the factory charge plus eight ounces": the ounces are not the factory's
    if sense.doubt == "unit_mismatch" and _has_its_own(passage, number, name, names, numbers):
        return None  # "humidity in the house is 58 percent"
    a_ton = passage.words(number.end, number.end + 2) in (["a", "ton"], ["per", "ton"])
    if a_ton and sense.quantity.endswith("_airflow"):
        return None  # "that's two eighty a ton" is a rate
    vague = 0.7 if name.wordings[0].vague or name.wordings[0].quantity in PSEUDO_QUANTITIES else 0.0
    cost = distance + sense.cost + vague
    return (cost, sense) if cost <= LIMIT else None


def _has_its_own(passage: Passage, number: Number, name: Name, names: list[Name], numbers: list[Number]) -> bool:
    """Whether another name ahead, with no number in between, is one that the number's unit fits."""
    others = (
        other
        for other in names
        if other is not name
        and other.end <= number.start
        and not any(other.end <= n.start < number.start for n in numbers)
    )
    senses = (best_sense(passage, other.wordings, number, frozenset(), tight=True) for other in others)
    return any(sense is not None and sense.doubt is None for sense in senses)


def _distance(passage: Passage, name: Name, number: Number, names, numbers) -> float | None:
    unit = passage.units.get(number.end)
    number_end = unit.end if unit else number.end
    if name.start < number.end and number.start < name.end:
        return None
    if name.end <= number.start:
        start, end, behind = name.end, number.start, False
    elif name.start >= number.end:
        start, end, behind = max(number_end, number.end), name.start, True
        if name.start < number_end <= name.end:  # "380 microns": the unit is the name
            close = any(other is not name and 0 <= number.start - other.end <= 2 for other in names)
            return _BESIDE_A_NAME if close else _UNIT_AS_A_NAME
    else:
        return None
    if end - start > _WINDOW or (name.wordings[0].behind_only and not (behind and end == start)):
        return None
    cost = _BEHIND if behind else 0.0
    filler, after = _fillers()
    named = {i for other in names if other is not name for i in range(other.start, other.end)}
    for token, word in enumerate(passage.lower[start:end], start):
        if token in named:
            continue  # a name passed over is counted below
        if word in (",", ";", "—", "–", "(", ")"):
            cost += _COMMA * (2.5 if behind else 1.0)
        elif word in (".", "?", "!"):
            cost += 2.0
        elif word in ("and", "but", "while"):
            cost += 1.5
        elif word == "so":  # what follows is concluded, not named
            cost += 3.0
        elif behind:
            cost += 0.08 if word in after else _CONTENT_WORD
        else:
            cost += 0.08 if word in filler else _CONTENT_WORD
    cost += _CROSSING * sum(start <= other.start and other.end <= end for other in numbers if other is not number)
    for other in names:
        if other is not name and start <= other.start and other.end <= end:  # "flow grid in the filter slot"
            cost += _CROSSING if best_sense(passage, other.wordings, number, frozenset(), tight=True) else _PASSING
    return cost if cost < LIMIT + 2 else None


def best_sense(
    passage: Passage, wordings: tuple[Wording, ...], number: Number, favoured: frozenset[str], *, tight: bool
) -> Sense | None:
    """The quantity, among those a wording can mean, that the number and its unit fit best."""
    senses = [
        sense
        for wording in wordings
        for quantity in PSEUDO_QUANTITIES.get(wording.quantity, (wording.quantity,))
        if (sense := _sense(passage, wording, quantity, number, favoured, tight))
    ]
    if not senses:
        return None
    fitting = [sense for sense in senses if sense.doubt is None]
    # An impossible value or unit is only believed when nothing else fits and the name stands right beside it.
    if not fitting and not tight:
        return None
    return min(fitting or senses, key=lambda sense: sense.cost)


def _sense(passage, wording: Wording, quantity: str, number: Number, favoured, tight: bool) -> Sense | None:
    known = quantities()[quantity]
    unit = passage.units.get(number.end)
    spoken = unit and _spoken_as(unit.kinds, known.unit)
    bonus = -0.4 if quantity in favoured else 0.0
    if unit is not None and spoken is None:
        if unit.kinds[0] in ("min", "h", "s", "ft", "in") or wording.unit_needed or wording.range_needed:
            return None
        return Sense(quantity, number.value, 0.5, 2.5, "unit_mismatch", unit.kinds[0])
    if wording.unit_needed and unit is None:
        return None
    options = []
    for place, (value, likelihood) in enumerate(number.values):
        if place == 0 and number.places > known.places and spoken is None:
            continue  # nobody reads a temperature to two decimals: "12.15" was "twelve fifteen"
        converted = to_contract(value, spoken, known.unit) if spoken else value
        if unit is None and known.unit == "degF" and 0 < abs(converted) < 1:
            continue  # nobody reads a fraction of a degree
        if known.unit == "inH2O" and quantity != "draft_pressure":
            converted = abs(converted)  # the sign is which side of the blower; the contract keeps the magnitude
        if known.likely_low <= converted <= known.likely_high:
            options.append(Sense(quantity, converted, likelihood, bonus + (1 - likelihood), None, spoken))
        elif known.low <= converted <= known.high:
            if wording.range_needed and (unit is None or wording.vague):
                continue
            options.append(Sense(quantity, converted, likelihood * 0.9, bonus + 1.3 + (1 - likelihood), None, spoken))
        elif not wording.vague and (not wording.range_needed or unit is not None):
            options.append(Sense(quantity, converted, likelihood * 0.5, 2.5, "value_implausible", spoken))
    return min(options, key=lambda sense: (sense.doubt is not None, sense.cost), default=None)


@functools.cache
def _spoken_as(kinds: tuple[str, ...], unit: str) -> str | None:
    """Which of the units a word can mean converts to `unit`."""
    return next((kind for kind in kinds if same_kind(kind, unit)), None)


@functools.cache
def plain_wording(quantity: str, *, range_needed: bool = False) -> Wording:
    """The quantity's own name, where none was said."""
    return Wording(quantity, range_needed=range_needed)


@functools.cache
def _fillers() -> tuple[frozenset[str], frozenset[str]]:
    table = load_table("cues.toml")["filler"]
    return frozenset(table["say"]), frozenset(table["after"])

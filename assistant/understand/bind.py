"""Which number belongs to which name.

Within a sentence, names and numbers are matched in order, no pair crossing another, at the least cost: a
name with its number right behind it costs nothing, words between cost something, a name behind its number
("118 on the low side") a little more. What has no cheap partner stays alone: better unread than wrong.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass

from assistant.understand.number import Number
from assistant.understand.passage import PSEUDO_QUANTITIES, Name, Passage, Unit, Wording
from assistant.understand.tokens import load_table
from assistant.units import quantities, same_kind, to_contract

LIMIT = 4.5  # a dearer pair is no pair
_NAME_ALONE, _NUMBER_ALONE = 0.3, 3.6
_COMMA, _CONTENT_WORD, _CROSSING, _PASSING = 1.3, 1.4, 3.0, 0.3
_BEHIND = 0.5  # a name behind its number
_UNIT_AS_A_NAME = 1.0  # "380 microns"
_BESIDE_A_NAME = 3.2  # a unit that could be a name, where a name stands right before: "liquid line's 96 volts"
_UNUSUAL = 1.3  # what a value outside the everyday range costs
_UNSAID = 0.5  # how much to believe that a hundred or a thousand was left unsaid (from judgement)
_SIGNS = frozenset({",", ";", ".", ":", "-", "/"})
_WINDOW = 30  # tokens; names and numbers further apart are never a pair
_TOO_FAR = LIMIT + 2  # nothing a number means is as much better as that


def _weights(fillers: list[str], comma: float) -> dict[str, float]:
    """What each word between a name and a number costs; any other word is a content word."""
    signs = dict.fromkeys((",", ";", "—", "–", "(", ")"), comma) | dict.fromkeys((".", "?", "!"), 2.0)
    joining = dict.fromkeys(("and", "but", "while"), 1.5) | {"so": 3.0}  # what follows a "so" is concluded, not named
    return dict.fromkeys(fillers, 0.08) | joining | signs


_FILLERS = load_table("cues.toml")["filler"]
_WORDS_BETWEEN = _weights(_FILLERS["say"], _COMMA)
_WORDS_AHEAD = _weights(_FILLERS["after"], _COMMA * 2.5)  # of a name behind its number


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
    # One row for each name: the cheapest way so far to deal with the first numbers, (cost, (pair, the pairs before)).
    best: list[tuple[float, tuple | None]] = [(0.0, None)]
    for _ in numbers:
        best.append((best[-1][0] + _NUMBER_ALONE, None))
    for name in names:
        row = [(best[0][0] + _NAME_ALONE, best[0][1])]
        for place, number in enumerate(numbers):
            cost, pairs = best[place + 1][0] + _NAME_ALONE, best[place + 1][1]
            pair = _pair(passage, name, number, favoured, names, numbers)
            if pair and best[place][0] + pair[0] <= cost:
                cost, pairs = best[place][0] + pair[0], ((number, pair, name), best[place][1])
            if row[-1][0] + _NUMBER_ALONE < cost:
                cost, pairs = row[-1][0] + _NUMBER_ALONE, row[-1][1]
            row.append((cost, pairs))
        best = row
    bonds, pairs = [], best[-1][1]
    while pairs:
        (number, (cost, sense), name), pairs = pairs
        bonds.append(Bond(number, sense, cost, name))
    return bonds[::-1]


def _pair(passage, name: Name, number: Number, favoured, names, numbers) -> tuple[float, Sense] | None:
    distance = _distance(passage, name, number, names, numbers)
    if distance is None:
        return None
    unit = passage.units.get(number.end)
    right_behind = name.start == (unit.end if unit else number.end)
    wordings = name.wordings if right_behind else [wording for wording in name.wordings if not wording.behind_only]
    sense = best_sense(passage, wordings, number, favoured, tight=distance < 1.6)
    added_to = passage.lower[number.start] == "plus" and name.end <= number.start
    if sense is None or (added_to and sense.quantity == "factory_charge"):
        return None  # "the factory charge plus eight ounces": the ounces are not the factory's
    known = unit or unit_ahead(passage, number)
    tells_itself = known and known.implies and (name.start >= number.end or distance >= 1.0)
    if sense.doubt == "unit_mismatch" and (tells_itself or _has_its_own(passage, number, name, names, numbers)):
        return None  # "humidity in the house is 58 percent", "105 CFM coming out", "supply warehouse, 5 ton"
    if sense.doubt is None and sense.cost >= _UNUSUAL and unit is None and distance >= 1.0:
        return None  # out of the everyday range, and not beside its name
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
    if end - start > _WINDOW:
        return None
    cost, weights = (_BEHIND, _WORDS_AHEAD) if behind else (0.0, _WORDS_BETWEEN)
    crossing = _CROSSING * len([n for n in numbers if start <= n.start and n.end <= end and n is not number])
    between = [other for other in names if other.start < end and other.end > start and other is not name]
    named = {token for other in between for token in range(other.start, other.end)} if between else ()
    for token in range(start, end):
        if token not in named and token not in passage.false_starts:  # a name passed over is counted below
            cost += weights.get(passage.lower[token], _CONTENT_WORD)
            if cost + crossing > _TOO_FAR:
                return None
    cost += crossing
    for other in between:
        if start <= other.start and other.end <= end:  # "flow grid in the filter slot"
            cost += _CROSSING if best_sense(passage, other.wordings, number, frozenset(), tight=True) else _PASSING
    return cost if cost < _TOO_FAR else None


def best_sense(
    passage: Passage, wordings: Sequence[Wording], number: Number, favoured: frozenset[str], *, tight: bool
) -> Sense | None:
    """The quantity, among those a wording can mean, that the number and its unit fit best."""
    unit = passage.units.get(number.end) or unit_ahead(passage, number)
    fitting: Sense | None = None
    doubtful: Sense | None = None
    for wording in wordings:
        for quantity in PSEUDO_QUANTITIES.get(wording.quantity) or (wording.quantity,):
            sense = _sense(unit, wording, quantity, number, favoured)
            if sense is None:
                continue
            if sense.doubt is None:
                fitting = sense if fitting is None or sense.cost < fitting.cost else fitting
            else:
                doubtful = sense if doubtful is None or sense.cost < doubtful.cost else doubtful
    # An impossible value or unit is only believed when nothing else fits and the name stands right beside it.
    return fitting or (doubtful if tight else None)


def unit_ahead(passage: Passage, number: Number) -> Unit | None:
    """The unit of "CFM 1880": as it is typed, at the head of its clause and right before the number."""
    unit = passage.units.get(number.start - 1)
    if unit is None or unit.implies is None or unit.end != number.start:
        return None
    opens = unit.start == passage.sentences[passage.sentence_of(unit.start)][0]
    return unit if opens or passage.lower[unit.start - 1] in _SIGNS else None


def _sense(unit: Unit | None, wording: Wording, quantity: str, number: Number, favoured) -> Sense | None:
    known = quantities()[quantity]
    spoken = unit and _spoken_as(unit.kinds, known.unit)
    bonus = -0.4 if quantity in favoured else 0.0
    if known.unit == "in" and unit is not None and unit.kinds[0] == "ft":
        return None  # "ten feet of suction line" is no size
    if unit is not None and spoken is None:
        if unit.kinds[0] in ("min", "h", "s", "ft", "in", "in2") or wording.unit_needed or wording.range_needed:
            return None
        return Sense(quantity, number.value, 0.5, 2.5, "unit_mismatch", unit.kinds[0])
    if wording.unit_needed and unit is None:
        return None
    plain = _in_unit(wording, quantity, number, unit, spoken, bonus)
    if unit is not None or number.carried is None or not same_kind(number.carried, known.unit):
        return plain
    carried = _in_unit(wording, quantity, number, unit, number.carried, bonus)
    if carried is None or carried.doubt or (plain and plain.cost < carried.cost):
        return plain
    return carried if plain is None or known.unit == "degF" or carried.cost < plain.cost else plain


def _in_unit(
    wording: Wording, quantity: str, number: Number, unit: Unit | None, spoken: str | None, bonus: float
) -> Sense | None:
    """The best of a number's values as one quantity in one unit; None where none can be."""
    known = quantities()[quantity]
    best: tuple | None = None  # (in doubt, cost, value, likelihood, doubt)
    values = number.values
    if number.scaled and known.unit in number.scaled[1].split():
        values = (*values, (number.scaled[0], _UNSAID))
    for place, (value, likelihood) in enumerate(values):
        if place == 0 and number.places > known.places and spoken is None:
            continue  # nobody reads a temperature to two decimals: "12.15" was "twelve fifteen"
        converted = to_contract(value, spoken, known.unit) if spoken else value
        if unit is None and known.unit == "degF" and 0 < abs(converted) < (3 if number.kind == "fraction" else 1):
            continue  # nobody reads a fraction of a degree, nor is "1 1/8 OD" a cold day
        if known.unit == "inH2O" and quantity != "draft_pressure":
            converted = abs(converted)  # the sign is which side of the blower; the contract keeps the magnitude
        if known.likely_low <= converted <= known.likely_high:
            option = (False, bonus + (1 - likelihood), converted, likelihood, None)
        elif known.low <= converted <= known.high:
            if wording.range_needed and (unit is None or wording.vague):
                continue
            option = (False, bonus + _UNUSUAL + (1 - likelihood), converted, likelihood * 0.9, None)
        elif not wording.vague and (not wording.range_needed or unit is not None):
            option = (True, 2.5, converted, likelihood * 0.5, "value_implausible")
        else:
            continue
        if best is None or option[:2] < best[:2]:
            best = option
    return best and Sense(quantity, best[2], best[3], best[1], best[4], spoken)


@functools.cache
def _spoken_as(kinds: tuple[str, ...], unit: str) -> str | None:
    """Which of the units a word can mean converts to `unit`."""
    return next((kind for kind in kinds if same_kind(kind, unit)), None)


@functools.cache
def plain_wording(quantity: str, *, range_needed: bool = False) -> Wording:
    """The quantity's own name, where none was said."""
    return Wording(quantity, range_needed=range_needed)

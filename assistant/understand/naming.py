"""Which of the names in a sentence count, before numbers are matched to them; and names and numbers in lists."""

from __future__ import annotations

from assistant.understand.bind import Bond, best_sense, plain_wording
from assistant.understand.number import Number
from assistant.understand.passage import Name, Passage

_ON_THE = tuple([at, "the"] for at in ("on", "at", "for", "off"))
_ELECTRICAL = frozenset({"compressor_current", "line_voltage", "control_voltage"})
_CAPACITORS = frozenset("cap caps capacitor capacitors herm microfarad microfarads dual".split())
_TAKES = frozenset("took take taking pulled pull pulling yanked cut tore swapped".split())
_SYSTEMS = frozenset({"upstairs", "downstairs", "unit", "system"})


def names_that_count(passage: Passage, names: list[Name], numbers: list[Number]) -> list[Name]:
    """Without conditions ("with the new filter in"), names taken back or said twice, and the two ends of one thing."""
    if names:
        names = _without_in_and_out(passage, names, numbers)
        names = _fan_beside_its_compressor(passage, names)
        names = [name for name in names if not _taken_out(passage, name) and not _what_goes_in(passage, name)]
    if len(names) < 2:
        return names
    names = _without_what_the_unit_says(passage, names, numbers)
    names = [name for name in names if not _only_says_how(passage, name, names)]
    names = [name for name in names if len(names) == 1 or not _a_condition(passage, name)]
    return _renamed(passage, names)


def _taken_out(passage: Passage, name: Name) -> bool:
    """ "Took the old thirty five out": a part that went, not the weather."""
    if passage.words(name.start, name.end) != ["out"]:
        return False
    start = passage.sentences[passage.sentence_of(name.start)][0]
    before = passage.words(max(start, name.start - 6), name.start)
    return bool(_TAKES.intersection(before)) and bool({"old", "that", "bad"}.intersection(before))


def _what_goes_in(passage: Passage, name: Name) -> bool:
    """ "What's going in is a three ton": a machine, not the air."""
    going = passage.words(name.end - 2, name.end) in (["going", "in"], ["going", "up"], ["coming", "out"])
    return going and passage.words(name.end - 4, name.end - 2) in (["what", "'s"], ["what", "is"])


def _fan_beside_its_compressor(passage: Passage, names: list[Name]) -> list[Name]:
    """ "Line's two thirty four, control's twenty four, fan's one point three": amps, where no capacitor was named."""
    fans = [name for name in names if passage.words(name.start, name.end) in (["fan"], ["fans"])]
    if not fans or not _CAPACITORS.isdisjoint(passage.words(0, names[-1].end)):
        return names
    first = passage.sentences[max(0, passage.sentence_of(names[0].start) - 1)][0]
    if not any(_ELECTRICAL.intersection(name.quantities()) for name in passage.names_in(first, fans[0].start)):
        return names
    amps = (plain_wording("condenser_fan_current", range_needed=True),)
    return [Name(name.start, name.end, amps) if name in fans else name for name in names]


def _without_what_the_unit_says(passage: Passage, names: list[Name], numbers: list[Number]) -> list[Name]:
    """ "It wants 3.5, flame sense, wait for it, 0.6 microamps": the unit names 0.6, and 3.5 is left to the manifold."""
    units = {number.end: number for number in numbers if number.end in passage.units}
    kept = list(names)
    for first, second in zip(names, names[1:], strict=False):
        number = units.get(second.start)
        if number is None or not set(first.quantities()) & set(second.quantities()):
            continue
        between = [n for n in numbers if first.end <= n.start < number.start]
        behind_another = any(0 <= first.start - n.end <= 2 for n in numbers)
        if behind_another and not between:
            kept.remove(first)
    return kept


def _only_says_how(passage: Passage, name: Name, names: list[Name]) -> bool:
    """ "The rise is coming out fifty five": what comes out has been named."""
    if passage.words(name.start, name.end) not in (["coming", "out"], ["coming", "in"]):
        return False
    return passage.words(name.start - 1, name.start) in (["is"], ["'s"]) and any(n.end == name.start - 1 for n in names)


def _a_condition(passage: Passage, name: Name) -> bool:
    """ "with the new filter in": how things stood, not what was measured."""
    before = passage.words(name.start - 4, name.start)
    if "with" not in before:
        return False
    between = before[len(before) - before[::-1].index("with") :]
    closes = passage.words(name.end, name.end + 1)
    plain = {"the", "a", "new", "clean", "old", "no", "my", "that"}
    return set(between) <= plain and closes in (["in"], ["out"], ["on"], ["off"], ["gone"], ["open"], ["pulled"])


def _renamed(passage: Passage, names: list[Name]) -> list[Name]:
    """ "on the suction, I mean on the head": the second name replaces the first."""
    if "between" not in passage.cues:
        return names
    kept = list(names)
    for first, second in zip(names, names[1:], strict=False):
        cue = passage.has_cue("between", first.end, second.start)
        number_between = bool(passage.numbers_in(first.end, second.start))
        near = second.start - first.end <= 7
        if cue and near and first in kept and not number_between and second.wordings != first.wordings:
            kept.remove(first)
            kept[kept.index(second)] = Name(first.start, second.end, second.wordings)
    return kept


def _without_in_and_out(passage: Passage, names: list[Name], numbers: list[Number]) -> list[Name]:
    """ "ninety one in and eighty three out" are two ends of one thing, neither outdoors nor a burner's rating."""
    behind = (passage.units[n.end].end if n.end in passage.units else n.end for n in numbers)
    ends = {passage.lower[end] for end in behind if end < len(passage.lower)}
    if not {"in", "out"} <= ends:
        return names
    burner = any(number.value >= 1000 for number in numbers)
    ends_of_one_thing = (["out"],) if burner else (["in"], ["out"])
    kept = []
    for name in names:
        if passage.words(name.start, name.end) not in ends_of_one_thing:
            kept.append(name)
        elif burner and _big(passage, name, numbers):
            heats = tuple(wording for wording in name.wordings if wording.quantity.startswith("heating_"))
            kept.append(Name(name.start, name.end, heats))
    return kept


def _big(passage: Passage, name: Name, numbers: list[Number]) -> bool:
    """ "eighty thousand in, sixty four thousand out": both are the burner's."""
    return any(number.end == name.start and (number.value >= 1000 or number.scaled) for number in numbers)


def listed(passage: Passage, names: list[Name], numbers: list[Number], favoured: frozenset[str]) -> list[Bond]:
    """ "118 over 340" and "suction and head, 118 and 345": the order of the list pairs them."""
    bonds = _over(passage, numbers, favoured) + _lines_in_a_row(passage, names, numbers)
    bonds = bonds or _both_of_a_side(passage, names, numbers)
    used = {id(bond.number) for bond in bonds}
    for place in range(len(names) - 1):
        row = [names[place]]
        while place + len(row) < len(names) and _together(passage, row[-1].end, names[place + len(row)].start):
            row.append(names[place + len(row)])
        after = [n for n in numbers if n.start >= row[-1].end and id(n) not in used][: len(row)]
        if len(row) < 2 or len(after) < len(row) or not _one_list(passage, names, row, after):
            continue
        senses = [
            best_sense(passage, name.wordings, number, favoured, tight=True)
            for name, number in zip(row, after, strict=True)
        ]
        apart = len({sense.quantity for sense in senses if sense}) == len(row)  # "inside, dry bulb" is one thing
        if apart and all(sense and sense.doubt is None for sense in senses):
            bonds += [Bond(n, s, 0.6, m) for n, s, m in zip(after, senses, row, strict=True)]
            used |= {id(n) for n in after}
    return bonds


def _over(passage: Passage, numbers: list[Number], favoured: frozenset[str]) -> list[Bond]:
    """Low side over high side, as gauges hang."""
    bonds: list[Bond] = []
    for low, high in zip(numbers, numbers[1:], strict=False):
        beside = passage.words(low.end, high.start) in (["over"], ["/"], ["-"]) or _on_the_gauges(passage, low, high)
        if not beside or low.value >= high.value or not {low.end, high.end}.isdisjoint(passage.units):
            continue
        pair = [
            best_sense(passage, (plain_wording(quantity, range_needed=True),), number, favoured, tight=True)
            for quantity, number in (("suction_pressure", low), ("liquid_pressure", high))
        ]
        if all(pair):
            bonds += [Bond(low, pair[0], 0.5, None), Bond(high, pair[1], 0.5, None)]
    return bonds


def _on_the_gauges(passage: Passage, low: Number, high: Number) -> bool:
    """ "Gauges, then. One fourteen and three twenty one"."""
    if passage.words(low.end, high.start) != ["and"]:
        return False
    place = passage.sentence_of(low.start)
    words = passage.words(passage.sentences[max(0, place - 1)][0], low.start) + passage.words(high.end, high.end + 3)
    ahead = passage.words(low.start - 4, low.start)
    on_a_system = ahead[-1:] == ["at"] and (_SYSTEMS & set(ahead) or ahead[-3:-1] in (["one", "'s"], ["one", "is"]))
    on_a_refrigerant = words[-3:-2] == ["on"] and not passage.free(high.end + 1, high.end + 2)  # "… on 410A"
    # "the upstairs one's at 128 and 390"
    said_of = {"gauges", "hoses", "manifolds"} & set(words) or on_a_system or on_a_refrigerant
    return bool(said_of)


def _lines_in_a_row(passage: Passage, names: list[Name], numbers: list[Number]) -> list[Bond]:
    """ "Pipe temps are fifty one and ninety four": the cold line first, as low side comes before high side."""
    for name in names:
        plural = passage.lower[name.end - 1] in ("lines", "pipes", "temps", "temperatures")
        if not plural or "line_temp" not in name.quantities():
            continue
        after = [n for n in numbers if n.start >= name.end][:2]
        if len(after) < 2 or after[0].start - name.end > 2:
            continue
        low, high = after
        if passage.words(low.end, high.start) not in (["and"], [","], [",", "and"]) or low.value >= high.value:
            continue
        pair = [
            best_sense(passage, (plain_wording(quantity, range_needed=True),), number, frozenset(), tight=True)
            for quantity, number in (("suction_line_temp", low), ("liquid_line_temp", high))
        ]
        if all(pair):
            return [Bond(low, pair[0], 0.7, None), Bond(high, pair[1], 0.7, None)]
    return []


_SIDES_OF_THE_SYSTEM = {
    "suction_pressure": ("suction_pressure", "suction_line_temp"),
    "liquid_pressure": ("liquid_pressure", "liquid_line_temp"),
}


def _both_of_a_side(passage: Passage, names: list[Name], numbers: list[Number]) -> list[Bond]:
    """ "Three thirty four and ninety nine on the liquid side": a gauge and a clamp on one side of the system."""
    bonds: list[Bond] = []
    for gauge, clamp in zip(numbers, numbers[1:], strict=False):
        if passage.words(gauge.end, clamp.start) != ["and"] or not {gauge.end, clamp.end}.isdisjoint(passage.units):
            continue
        behind = [n for n in names if n.start == clamp.end + 2 and passage.words(clamp.end, n.start) in _ON_THE]
        ahead = [n for n in names if n.end <= gauge.start and passage.lower[n.end - 1] in ("side", "sides")]
        if not behind and any(_within_reach(passage, clamp.end, n.start) for n in names):
            continue  # "suction side's one eighteen and fifty five on the line"
        if behind and any(_within_reach(passage, n.end, gauge.start) for n in names):
            continue  # "suction's one thirty and ninety eight on the liquid side"
        name = behind[0] if behind else next((n for n in ahead[-1:] if gauge.start - n.end <= 4), None)
        if name is None or passage.words(name.end, name.end + 1) == ["of"]:
            continue
        sides = [quantity for quantity in name.quantities() if quantity in _SIDES_OF_THE_SYSTEM]
        if not sides or gauge.value <= clamp.value:
            continue
        pair = [
            best_sense(passage, (plain_wording(quantity, range_needed=True),), number, frozenset(), tight=True)
            for quantity, number in zip(_SIDES_OF_THE_SYSTEM[sides[0]], (gauge, clamp), strict=True)
        ]
        if all(pair):
            bonds += [Bond(gauge, pair[0], 0.6, name), Bond(clamp, pair[1], 0.7, name)]
    return bonds


def _within_reach(passage: Passage, start: int, end: int) -> bool:
    """Whether three words at most, and no comma, stand between a name and a number."""
    return 0 <= end - start <= 3 and "," not in passage.words(start, end)


def without_what_was_told(name: Name, told: set[str]) -> Name:
    """ "118/342, 52 on the vapor": the pressures are told already, so the vapor is the line."""
    left = tuple(wording for wording in name.wordings if wording.quantity not in told)
    return Name(name.start, name.end, left) if left and len(left) < len(name.wordings) else name


def _one_list(passage: Passage, names: list[Name], row: list[Name], after: list[Number]) -> bool:
    """Whether the numbers stand together too, with no other name among them."""
    if any(row[-1].end <= name.start <= after[-1].end for name in names if name not in row):
        return False  # "wet bulb, dry bulb seventy eight, ninety outdoors"
    ends = [passage.units[n.end].end if n.end in passage.units else n.end for n in after[:-1]]
    return all(
        _together(passage, end, number.start) or passage.words(end, number.start) == ["over"]
        for end, number in zip(ends, after[1:], strict=True)
    )


def _together(passage: Passage, start: int, end: int) -> bool:
    between = passage.words(start, end)
    return 0 < end - start <= 3 and all(word in (",", "and", "the", "&", "/") for word in between)

"""Which of the names in a sentence count, before numbers are matched to them; and names and numbers in lists."""

from __future__ import annotations

from assistant.understand.bind import Bond, best_sense, plain_wording
from assistant.understand.number import Number
from assistant.understand.passage import Name, Passage

_SYSTEMS = frozenset({"upstairs", "downstairs", "unit", "system"})


def names_that_count(passage: Passage, names: list[Name], numbers: list[Number]) -> list[Name]:
    """Without conditions ("with the new filter in"), names taken back or said twice, and the two ends of one thing."""
    if names:
        names = _without_in_and_out(passage, names, numbers)
    if len(names) < 2:
        return names
    names = _without_what_the_unit_says(passage, names, numbers)
    names = [name for name in names if not _only_says_how(passage, name, names)]
    names = [name for name in names if len(names) == 1 or not _a_condition(passage, name)]
    return _renamed(passage, names)


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
    ends = {passage.lower[n.end] for n in numbers if n.end < len(passage.lower)}
    if not {"in", "out"} <= ends:
        return names
    burner = any(number.value >= 1000 for number in numbers)
    ends_of_one_thing = (["out"],) if burner else (["in"], ["out"])
    return [
        name
        for name in names
        if passage.words(name.start, name.end) not in ends_of_one_thing or (burner and _big(passage, name, numbers))
    ]


def _big(passage: Passage, name: Name, numbers: list[Number]) -> bool:
    """ "eighty thousand in, sixty four thousand out": both are the burner's."""
    return any(number.end == name.start and number.value >= 1000 for number in numbers)


def listed(passage: Passage, names: list[Name], numbers: list[Number], favoured: frozenset[str]) -> list[Bond]:
    """ "118 over 340" and "suction and head, 118 and 345": the order of the list pairs them."""
    bonds = _over(passage, numbers, favoured) + _lines_in_a_row(passage, names, numbers)
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

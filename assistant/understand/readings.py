"""Readings: every value that was said, with the quantity it belongs to.

Order of belief: a name beside the number; a unit only one quantity has; the test in progress; the value just
before ("… rated fourteen"); the question the assistant asked last. A number none of these explains is not a
reading, however much it looks like one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from assistant.records import Reading
from assistant.understand.bind import Bond, Sense, best_sense, bind
from assistant.understand.claims import Duration
from assistant.understand.clock import Moment
from assistant.understand.context import Context
from assistant.understand.groups import drop_false_starts, find_ranges, find_slips
from assistant.understand.numbers import Number
from assistant.understand.passage import PSEUDO_QUANTITIES, Name, Passage, Wording
from assistant.understand.qualify import qualifier_of, settle_pseudo, target_kind
from assistant.understand.roles import Role, role_of
from assistant.understand.systems import SystemMention, system_at
from assistant.understand.topics import TESTS, Topics, find_topics
from assistant.units import quantities, same_kind, to_contract, unit_of

# No plate or chart rates these; a rating said after one of them belongs to something else.
_NEVER_ON_A_PLATE = frozenset(
    {"return_air_temp", "supply_air_temp", "outdoor_temp", "return_wet_bulb", "supply_wet_bulb", "liquid_line_temp", "suction_line_temp", "vacuum_level", "carbon_monoxide", "ambient_carbon_monoxide", "oxygen"}
)
# A bare target may follow these in its sentence; after a manifold or a voltage it is theirs.
_GAUGE_TALK = frozenset({"cooling_capacity", "suction_pressure", "liquid_pressure", "suction_line_temp", "liquid_line_temp", "outdoor_temp", "factory_charge", "liquid_line_size", "suction_line_size", "line_set_length"})
_SURE_ENOUGH_AGAINST_A_CLOCK = 1.2  # how near its name a number must stand when it could be a time of day


@dataclass(slots=True)
class Heard:
    """A reading in the making: where it stands and what it means."""

    number: Number
    sense: Sense
    cost: float
    name: Name | None
    sentence: int
    role: Role = Role("measured", False)
    status: str = "current"
    limits: tuple[float, float] | None = None
    qualifier: str | None = None


def find_readings(
    passage: Passage, context: Context, systems: list[SystemMention], durations: list[Duration], moments: list[Moment], facts, special
) -> list[Reading]:
    """Every reading of the passage in the order spoken, slips among them as retracted.

    `special` are values found by their own shape (dual capacitors, timed meters), already taken.
    """
    topics = find_topics(passage, context)
    unsure = [moment for moment in moments if not moment.sure]
    free = [n for n in passage.numbers if passage.free(n.start, n.end)]
    slips = {slip.right.start: slip.wrong for slip in find_slips(passage, free)}
    heard: list[Heard] = list(special)
    waiting: Name | None = None  # a name at the end of a sentence, its number perhaps in the next
    for place, (start, end) in enumerate(passage.sentences):
        numbers = [n for n in passage.numbers if start <= n.start < end and passage.free(n.start, n.end)]
        names = [n for n in passage.names if start <= n.start < end and passage.free(n.start, n.end)]
        names = _without_in_and_out(passage, names, numbers)
        names = [name for name in names if len(names) == 1 or not _a_condition(passage, name)]
        names = _renamed(passage, names)
        if waiting and numbers and numbers[0].start <= start + 2 and not any(name.start < numbers[0].start for name in names):
            names = [waiting, *names]
        found = _sentence(passage, place, names, numbers, topics, heard, unsure, slips, context, facts, systems)
        heard += found
        bound = {item.name for item in found}
        ends_here = [name for name in names if name not in bound and start <= name.start and all(not w[0].isalnum() for w in passage.words(name.end, end))]
        waiting = ends_here[-1] if ends_here else None
        if any(item.sense.quantity not in (*TESTS, "test_duration") for item in found):
            topics.end_carried(start)
    heard += _held_durations(passage, durations, topics, heard)
    heard.sort(key=lambda item: item.number.start)
    heard = settle_pseudo(passage, heard, context, facts)
    readings = [_reading(passage, context, item, systems) for item in heard]
    return _without_echoes(readings)


def _a_condition(passage: Passage, name: Name) -> bool:
    """ "with the new filter in": how things stood, not what was measured."""
    before = passage.words(name.start - 4, name.start)
    if "with" not in before:
        return False
    between = before[len(before) - before[::-1].index("with") :]
    return set(between) <= {"the", "a", "new", "clean", "old", "no", "my", "that"} and passage.words(name.end, name.end + 1)[:1] in (["in"], ["out"], ["on"], ["off"], ["gone"], ["open"], ["pulled"])


def _renamed(passage: Passage, names: list[Name]) -> list[Name]:
    """ "on the suction, I mean on the head": the second name replaces the first."""
    kept = list(names)
    for first, second in zip(names, names[1:], strict=False):
        cue = any(first.end <= a and b <= second.start for a, b in passage.cues.get("between", ()))
        if cue and second.start - first.end <= 7 and not any(first.end <= n.start < second.start for n in passage.numbers) and second.wordings != first.wordings:
            kept.remove(first)
            kept[kept.index(second)] = Name(first.start, second.end, second.wordings)
    return kept


def _without_in_and_out(passage: Passage, names: list[Name], numbers: list[Number]) -> list[Name]:
    """ "ninety one in and eighty three out" are two ends of one thing, neither outdoors nor a burner's rating."""
    ends = {passage.doc[n.end].lower_ for n in numbers if n.end < len(passage.doc) and n.value < 1000}
    if not {"in", "out"} <= ends:
        return names
    return [name for name in names if passage.words(name.start, name.end) not in (["in"], ["out"])]


# ---------------------------------------------------------------- one sentence


def _sentence(passage, place, names, numbers, topics: Topics, earlier: list[Heard], unsure, slips, context, facts, systems) -> list[Heard]:
    start, end = passage.sentences[place]
    numbers = drop_false_starts(passage, numbers)
    replaced = set(slips)
    numbers, limits = find_ranges(passage, numbers)
    favoured = topics.favoured(place)
    bonds = _listed(passage, names, numbers, favoured)
    taken = {id(bond.number) for bond in bonds}
    left = [n for n in numbers if id(n) not in taken and n.start not in replaced]
    named = {bond.name for bond in bonds}
    bonds += bind(passage, [name for name in names if name not in named], left, favoured)
    bonds = [bond for bond in bonds if not _rather_a_clock(bond, unsure)]
    heard = [Heard(b.number, b.sense, b.cost, b.name, place, limits=limits.get(b.number.start)) for b in bonds]
    for item in heard:
        item.role = _role(passage, item, numbers, start, end, [bond.name for bond in bonds if bond.name])
    bound = {item.number.start for item in heard}
    heard = [item for item in heard if not _lacks_its_cue(item)]
    _continue_roles(passage, heard)
    for number in numbers:
        if number.start in bound:
            continue
        item = _unnamed(passage, place, number, limits.get(number.start), numbers, topics.at(number.start), earlier, heard, unsure, slips, context, facts, systems)
        if item:
            heard.append(item)
            heard.sort(key=lambda other: other.number.start)
    for right, wrong in slips.items():
        kept = next((item for item in heard if item.number.start == right), None)
        slip = next((item for item in earlier + heard if item.number.start == wrong.start), None)
        if kept and slip and slip.sense.quantity == kept.sense.quantity:
            slip.status = "retracted"
    return heard


def _listed(passage: Passage, names: list[Name], numbers: list[Number], favoured) -> list[Bond]:
    """ "118 over 340" and "suction and head, 118 and 345": the order of the list pairs them."""
    bonds: list[Bond] = []
    for low, high in zip(numbers, numbers[1:], strict=False):
        if passage.words(low.end, high.start) in (["over"], ["/"]) and {low.end, high.end}.isdisjoint(passage.units):
            pair = [best_sense(passage, (Wording(quantity, range_needed=True),), number, favoured, tight=True) for quantity, number in (("suction_pressure", low), ("liquid_pressure", high))]
            if all(pair) and low.value < high.value:
                bonds += [Bond(low, pair[0], 0.5, None), Bond(high, pair[1], 0.5, None)]
    used = {id(bond.number) for bond in bonds}
    for place in range(len(names) - 1):
        row = [names[place]]
        while place + len(row) < len(names) and _listed_together(passage, row[-1].end, names[place + len(row)].start):
            row.append(names[place + len(row)])
        after = [n for n in numbers if n.start >= row[-1].end and id(n) not in used][: len(row)]
        if len(row) < 2 or len(after) < len(row) or any(row[-1].end <= n.start < after[-1].start for n in names if n not in row):
            continue
        apart = [passage.units[a.end].end if a.end in passage.units else a.end for a in after[:-1]]
        if not all(_listed_together(passage, e, b.start) or passage.words(e, b.start) == ["over"] for e, b in zip(apart, after[1:], strict=True)):
            continue
        senses = [best_sense(passage, name.wordings, number, favoured, tight=True) for name, number in zip(row, after, strict=True)]
        if all(sense and sense.doubt is None for sense in senses):
            bonds += [Bond(n, s, 0.6, m) for n, s, m in zip(after, senses, row, strict=True)]
            used |= {id(n) for n in after}
    return bonds


def _listed_together(passage: Passage, start: int, end: int) -> bool:
    return start <= end <= start + 3 and all(word in (",", "and", "the", "&", "/") for word in passage.words(start, end)) and end > start


def _rather_a_clock(bond: Bond, unsure: list[Moment]) -> bool:
    clock = any(moment.start <= bond.number.start < moment.end for moment in unsure)
    return clock and bond.cost > _SURE_ENOUGH_AGAINST_A_CLOCK


# ---------------------------------------------------------------- roles


def _role(passage: Passage, item: Heard, numbers: list[Number], start: int, end: int, names: list[Name]) -> Role:
    number = item.number
    before = max([_end(passage, n) for n in numbers if n.end <= number.start] + [start])
    after = min([n.start for n in numbers if n.start > number.start] + [end])
    # a name after this number that leads the next one closes this number's stretch
    follow = [n.start for n in names if n.start >= number.end and n is not item.name and n.quantities()[0] not in PSEUDO_QUANTITIES]
    return role_of(passage, number, item.sense.quantity, before, min([after, *follow]))


def _lacks_its_cue(item: Heard) -> bool:
    """ "call it three ninety five a ton" only reckons; "I like four hundred a ton" sets a target."""
    wordings = item.name.wordings if item.name else ()
    needed = next((w.cue_needed for w in wordings if w.quantity == item.sense.quantity), None)
    return needed is not None and (not item.role.spoken or item.role.role == "estimated")


def _end(passage: Passage, number: Number) -> int:
    unit = passage.units.get(number.end)
    return unit.end if unit else number.end


def _continue_roles(passage: Passage, heard: list[Heard]) -> None:
    """ "rated forty five on the herm side and five on the fan side": one cue serves a list of the same kind."""
    for first, second in zip(heard, heard[1:], strict=False):
        same = first.sense.quantity == second.sense.quantity
        if same and first.role.spoken and not second.role.spoken and first.role.role != "estimated":
            between = passage.words(_end(passage, first.number), second.number.start)
            if "and" in between and not {"measure", "reads", "got", "measured"} & set(between):
                second.role = first.role


# ---------------------------------------------------------------- numbers without a name of their own


def _unnamed(passage, place, number, limits, numbers, topic, earlier, heard, unsure, slips, context, facts, systems) -> Heard | None:
    start, end = passage.sentences[place]
    on_a_clock = any(m.start <= number.start < m.end for m in unsure)
    if number.start in slips:
        wrong = next((item for item in earlier + heard if item.number.start == slips[number.start].start), None)
        if wrong and (sense := _as_quantity(passage, number, wrong.sense.quantity)):
            name = wrong.name if wrong.sentence == place else None
            return Heard(number, sense, wrong.cost + 0.3, name, place, wrong.role, limits=limits, qualifier=wrong.qualifier)
    unit = passage.units.get(number.end)
    weight = _plate_weight(passage, place, number, numbers, start, end)
    if weight:
        return weight
    power = _capacity_in_btu(passage, place, number, numbers, start, end, facts)
    if power:
        return power
    length = _line_set(passage, place, number, numbers, start, end)
    if length:
        return length
    if unit and unit.implies and (sense := _as_quantity(passage, number, _implied(passage, unit.implies, start, end))):
        item = Heard(number, sense, 0.8, None, place, limits=limits)
        item.role = _role(passage, item, numbers, start, end, [])
        return item
    if topic and topic.bare and not (topic.carried and not topic.held and not _carries_on(passage, number, start)):
        sense = _in_range(passage, number, topic.bare)
        if sense and (unit is None or unit.implies or unit.kinds[0] in ("psi", "lb")) and not _behind_a_label(passage, number):
            cost = 1.2 + (1.0 if topic.carried else 0.0) + (0.5 if on_a_clock else 0.0)
            return Heard(number, sense, cost, None, place, limits=limits)
    plate = _plate_range(passage, number, limits, earlier + heard, numbers, place, start, end, context)
    if plate:
        return plate
    total = _sum_of_statics(passage, place, number, earlier + heard)
    if total:
        return total
    aimed = _bare_target(passage, place, number, numbers, earlier + heard, start, end, context, facts)
    if aimed:
        return aimed
    previous = _previous(number, earlier, heard, place)
    if previous and (inherited := _inherited(passage, number, limits, numbers, previous, place, start, end, systems)):
        return inherited
    if on_a_clock:
        return None
    moved = _moved_on(passage, place, number, limits, earlier + heard, start, context)
    if moved:
        return moved
    return _answer_to_question(passage, number, limits, context, place)


def _plate_weight(passage, place, number, numbers, start, end) -> Heard | None:
    """ "Plate says four pounds eleven": a weight a plate asks for is the factory charge."""
    unit = passage.units.get(number.end)
    sense = _as_quantity(passage, number, "factory_charge") if unit and unit.kinds[0] in ("lb", "oz", "kg", "g") else None
    if sense is None or sense.doubt:
        return None
    item = Heard(number, sense, 1.0, None, place)
    item.role = _role(passage, item, numbers, start, end, [])
    return item if item.role.spoken and item.role.role == "rated" else None


def _capacity_in_btu(passage, place, number, numbers, start, end, facts) -> Heard | None:
    """ "Eighteen thousand BTU" is a furnace's input or a condenser's size, by what the sentence is about."""
    unit = passage.units.get(number.end)
    if unit is None or unit.kinds[0] not in ("Btu/h", "kW"):
        return None
    words = set(passage.words(start, end))
    heats = words & {"furnace", "boiler", "heater", "burner", "input", "gas"}
    cools = words & {"condenser", "split", "splits", "pump", "conditioner", "ac", "cooling", "head", "ductless", "minisplit", "cassette"} or facts.equipment
    quantity = "heating_input" if heats else "cooling_capacity" if cools else None
    sense = _as_quantity(passage, number, quantity) if quantity else None
    return Heard(number, sense, 1.0, None, place, _role(passage, Heard(number, sense, 1.0, None, place), numbers, start, end, [])) if sense and sense.doubt is None else None


def _line_set(passage, place, number, numbers, start, end) -> Heard | None:
    """ "… three eighths liquid, and I'd guess forty feet of it": feet, in a sentence about the line set."""
    unit = passage.units.get(number.end)
    about = any(start <= n.start < end and {"line_set_length", "liquid_line_size"} & set(n.quantities()) for n in passage.names)
    about = about or "lines" in passage.words(start, end)
    if not about or unit is None or unit.kinds[0] not in ("ft", "m"):
        return None
    sense = _as_quantity(passage, number, "line_set_length")
    item = Heard(number, sense, 1.2, None, place) if sense and sense.doubt is None else None
    if item:
        item.role = _role(passage, item, numbers, start, end, [])
    return item


def _implied(passage: Passage, quantity: str, start: int, end: int) -> str:
    """A unit names its quantity, but the sentence may say which side or place: "nine hundred CFM of return"."""
    words = set(passage.words(start, end))
    if quantity == "system_airflow":
        if words & {"return", "returns"}:
            return "return_airflow"
        if words & {"supply", "supplies", "registers", "register"}:
            return "supply_airflow"
    if quantity == "carbon_monoxide" and words & {"room", "ambient", "house", "space", "hallway", "kitchen", "basement"} and "flue" not in words:
        return "ambient_carbon_monoxide"
    return quantity


def _carries_on(passage: Passage, number: Number, start: int) -> bool:
    """A test left standing by an earlier note is taken up again: "back up to four fifty", "it's four twenty"."""
    before = " ".join(passage.words(max(start, number.start - 3), number.start))
    after = passage.words(number.end, min(number.end + 4, len(passage.doc)))
    return before.endswith(("up to", "down to", "gauge says", "gauge is at", "still at", "it 's at", "still")) or bool({"gauge", "nose"} & set(after))


def _behind_a_label(passage: Passage, number: Number) -> bool:
    return any(end == number.start for _, end in passage.cues.get("label_before", ()))


def _previous(number: Number, earlier: list[Heard], heard: list[Heard], place: int) -> Heard | None:
    before = [item for item in heard if item.number.start < number.start]
    if before:
        return before[-1]
    return earlier[-1] if earlier and place - earlier[-1].sentence <= 1 else None


def _inherited(passage, number, limits, numbers, previous: Heard, place, start, end, systems) -> Heard | None:
    """A second value for the quantity just named: its rating, its target, or where it settled."""
    quantity = previous.sense.quantity
    sense = _as_quantity(passage, number, quantity)
    if sense is None or sense.doubt or quantity == "test_duration":
        return None
    item = Heard(number, sense, 1.5, previous.name, place, limits=limits)
    item.role = _role(passage, item, numbers, start, end, [])
    near = range(max(start, number.start - 5), number.start)
    after = range(_end(passage, number), _end(passage, number) + 2)
    moved = any(a in near or a in after for a, _ in passage.cues.get("move", ()))
    measured = any(a in near or _end(passage, number) <= a <= _end(passage, number) + 1 for a, _ in passage.cues.get("measured", ()))
    plated = quantity not in _NEVER_ON_A_PLATE or item.role.role == "target"
    if plated and item.role.spoken and item.role.role in ("target", "rated") and item.role.role != previous.role.role:
        return item
    if measured and not item.role.spoken and previous.role.role != "measured" and _in_range(passage, number, quantity):
        return item
    before = passage.words(start, number.start)
    since = "'s" in before[-2:] and bool({"was", "were", "had", "started", "read"} & set(before))
    switched = any(a.number.end <= mention.start < number.start for a in [previous] for mention in systems)
    if switched and sense.doubt is None and passage.words(number.start - 1, number.start)[:1] in (["is"], ["'s"], ["a"], ["at"]):
        item.role = previous.role
        return item
    if (moved or measured or since) and _in_range(passage, number, quantity) and previous.sentence == place:
        item.role = previous.role if previous.role.role in ("measured", "estimated") else item.role
        return item
    return None


def _sum_of_statics(passage, place, number, heard: list[Heard]) -> Heard | None:
    """ "point four one on the supply, point three seven on the return, so point seven eight"."""
    last = {item.sense.quantity: item.sense.value for item in heard if place - item.sentence <= 1}
    parts = [last.get("supply_static_pressure"), last.get("return_static_pressure")]
    if None in parts or abs(sum(parts) - number.value) > 0.011 or number.end in passage.units:
        return None
    sense = _as_quantity(passage, number, "total_static_pressure")
    return Heard(number, sense, 1.5, None, place) if sense else None


def _bare_target(passage, place, number, numbers, heard: list[Heard], start, end, context, facts) -> Heard | None:
    """ "TXV, wants nine" and "the tag says twelve": a small bare target, told with the equipment or the gauges."""
    told = [e for e in (*facts.equipment, *context.job.equipment) if e.metering_device]
    unit = passage.units.get(number.end)
    asked = any(number.start - 3 <= b <= number.start and a >= start for kind in ("target", "plate") for a, b in passage.cues.get(kind, ()))
    if not told or not asked or number.value not in range(3, 31) or (unit and unit.kinds[0] != "degF"):
        return None
    previous = [item for item in heard if item.sentence == place and item.number.start < number.start]
    if previous and previous[-1].sense.quantity not in _GAUGE_TALK:
        return None
    sense = _as_quantity(passage, number, target_kind(context, facts))
    item = Heard(number, sense, 1.6, None, place) if sense and sense.doubt is None else None
    if item:
        item.role = _role(passage, item, numbers, start, end, [])
    return item if item and item.role.spoken and item.role.role == "target" else None


def _moved_on(passage, place, number, limits, heard: list[Heard], start, context: Context) -> Heard | None:
    """ "Now it's three forty four and ninety six": values told before, told anew without their names."""
    near = passage.words(max(start, number.start - 8), number.start)
    moved = any(start <= a < number.start for a, _ in passage.cues.get("move", ()))
    if not moved or number.end in passage.units or not {"it", "that", "to", "'s", "now", "and"} & set(near):
        return None
    recent = [(i.sense.quantity, i.sense.value) for i in heard if place - i.sentence <= 4 and i.role.role in ("measured", "estimated")]
    recent = recent or _told_in_the_note_before(context)
    gaps: dict[str, float] = {}
    for quantity, value in recent:
        sense = _in_range(passage, number, quantity) if quantity != "test_duration" else None
        if sense and value:
            gaps[quantity] = abs(sense.value / value - 1)
    ranked = sorted(gaps.items(), key=lambda pair: pair[1])
    if not ranked or ranked[0][1] > 0.6 or (len(ranked) > 1 and ranked[1][1] < 2 * ranked[0][1]):
        return None
    return Heard(number, _in_range(passage, number, ranked[0][0]), 2.0, None, place, limits=limits)


def _told_in_the_note_before(context: Context) -> list[tuple[str, float]]:
    """Measured values of the last note of this same day."""
    today = next((visit.notes for visit in context.job.visits if visit.date == context.date.isoformat()), ())
    measured = [r for r in context.last_readings() if r.role == "measured" and r.note in today]
    return [(r.quantity, r.value) for r in measured if r.note == measured[-1].note]


def _plate_range(passage, number, limits, heard: list[Heard], numbers, place, start, end, context: Context) -> Heard | None:
    """ "Plate says thirty to sixty", after two air temperatures of a furnace, can only be the rise."""
    if not limits or number.end in passage.units:
        return None
    temps = dict(_told_in_the_note_before(context)) | {item.sense.quantity: item.sense.value for item in heard}
    hot = temps.get("supply_air_temp", 0) - temps.get("return_air_temp", 1000) > 15
    sense = _as_quantity(passage, number, "temperature_rise")
    item = Heard(number, sense, 2.0, None, place, limits=limits) if sense and hot else None
    if item:
        item.role = _role(passage, item, numbers, start, end, [])
    return item if item and item.role.spoken else None


def _answer_to_question(passage, number, limits, context: Context, place) -> Heard | None:
    """A bare value answers what the assistant asked last."""
    asked = context.open_question()
    start, end = passage.sentences[place]
    rest = [w for w in passage.words(start, end) if w.isalpha()]
    spoken = {w for w in passage.words(number.start, _end(passage, number))}
    others = [w for w in rest if w not in spoken and w not in ("it", "is", "at", "uh", "um", "okay", "about", "that", "s", "now", "reads", "right", "yeah", "exactly", "the", "and", "a", "half", "degrees")]
    if asked is None or place > 1 or len(others) > 1:
        return None
    try:
        sense = _in_range(passage, number, asked.quantity)
    except KeyError:
        return None
    return Heard(number, sense, 1.5, None, place, limits=limits) if sense else None


def _as_quantity(passage: Passage, number: Number, quantity: str) -> Sense | None:
    return best_sense(passage, (Wording(quantity),), number, frozenset(), tight=True)


def _in_range(passage: Passage, number: Number, quantity: str) -> Sense | None:
    sense = best_sense(passage, (Wording(quantity, range_needed=True),), number, frozenset(), tight=False)
    known = quantities()[quantity]
    return sense if sense and known.likely_low <= sense.value <= known.likely_high else None


# ---------------------------------------------------------------- how long a test was held


def _held_durations(passage: Passage, durations: list[Duration], topics, heard: list[Heard]) -> list[Heard]:
    found = []
    for duration in durations:
        place = passage.sentence_of(duration.start)
        topic = topics.at(duration.end)
        if topic is None or topic.bare is None or not topic.held or duration.days and duration.days < 0.5:
            continue
        before = passage.words(max(0, duration.start - 4), duration.start)
        after = passage.words(duration.end, min(duration.end + 3, len(passage.doc)))
        if {"took", "spent", "running", "ran", "pumping"} & set(before) or after[:3] == ["on", "the", "pump"] or after[:1] == ["ago"]:
            continue
        number = Number(duration.start, duration.end, ((duration.minutes, 1.0),))
        sense = Sense("test_duration", duration.minutes, 1.0, 0.0, None, "min")
        found.append(Heard(number, sense, 0.8, None, place, qualifier=TESTS[topic.bare]))
        passage.use(duration.start)
    return found


# ---------------------------------------------------------------- records


def _reading(passage: Passage, context: Context, item: Heard, systems: list[SystemMention]) -> Reading:
    number, sense = item.number, item.sense
    start = min(number.start, item.name.start if item.name else number.start)
    end = max(_end(passage, number), item.name.end if item.name else 0)
    if end - start > 16:  # the name stood far off: quote the value's own words
        start, end = number.start, _end(passage, number)
    first, last = passage.offsets[start][0], passage.offsets[end - 1][1]
    start_s, end_s, heard = context.transcript.span_times(first, last)
    unit = unit_of(sense.quantity) if sense.doubt != "unit_mismatch" else (sense.spoken_unit or unit_of(sense.quantity))
    low, high = _limits(passage, item)
    system = "site" if sense.quantity in ("outdoor_temp", "altitude") else system_at(number.start, systems, passage, context)
    certain = sense.likelihood * math.exp(-0.05 * max(0.0, item.cost)) * (heard if heard is not None else 1.0)
    passage.take(number.start, _end(passage, number))
    passage.use(number.start)
    return Reading(
        quantity=sense.quantity,
        value=round(sense.value, 6),
        unit=unit,
        role=item.role.role,
        system=system,
        said=passage.text[first:last],
        note=context.note,
        start_s=start_s,
        end_s=end_s,
        confidence=round(min(1.0, certain), 3),
        status="doubtful" if sense.doubt and item.status == "current" else item.status,
        qualifier=item.qualifier or qualifier_of(passage, item),
        low=low,
        high=high,
        doubt=sense.doubt,
        position=passage.offsets[number.start][0],
    )


def _limits(passage: Passage, item: Heard) -> tuple[float | None, float | None]:
    if item.limits is None:
        return None, None
    unit, wanted = item.sense.spoken_unit, unit_of(item.sense.quantity)
    if unit and same_kind(unit, wanted):
        return to_contract(item.limits[0], unit, wanted), to_contract(item.limits[1], unit, wanted)
    return item.limits


def _without_echoes(readings: list[Reading]) -> list[Reading]:
    """The same value said twice is one reading; a later different one supersedes the earlier."""
    kept: list[Reading] = []
    for reading in readings:
        key = (reading.quantity, reading.role, reading.system, reading.qualifier)
        same = [i for i, r in enumerate(kept) if (r.quantity, r.role, r.system, r.qualifier) == key and r.status == "current"]
        if reading.status == "current" and any(math.isclose(kept[i].value, reading.value, rel_tol=1e-4) for i in same):
            continue
        if reading.status == "current":
            for i in same:
                kept[i] = replace(kept[i], status="superseded")
        kept.append(reading)
    return kept

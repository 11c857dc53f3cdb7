"""Readings: every value that was said, with the quantity it belongs to.

Order of belief: a name beside the number; a unit only one quantity has; the test in progress; the value just
before ("… rated fourteen"); the question the assistant asked last. A number none of these explains is not a
reading, however much it looks like one.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace

from assistant.records import ADDING_UP, Reading
from assistant.understand.bind import Bond, Sense, bind
from assistant.understand.claims import Duration
from assistant.understand.clock import Moment
from assistant.understand.context import Context
from assistant.understand.groups import drop_false_starts, find_ranges, find_slips
from assistant.understand.heard import Heard, Listening, Sentence, end_of, role_in
from assistant.understand.misheard import MISHEARD, doubt_of_hearing, is_confirmed
from assistant.understand.naming import listed, names_that_count, without_what_was_told
from assistant.understand.number import Number
from assistant.understand.passage import Name, Passage
from assistant.understand.qualify import qualifier_of, settle_pseudo, settle_sections
from assistant.understand.roles import Role
from assistant.understand.systems import SystemMention, system_at
from assistant.understand.tokens import load_table
from assistant.understand.topics import TESTS, find_topics
from assistant.understand.unnamed import from_one_to_the_other, names_a_size, puts_right, unnamed
from assistant.units import quantities, same_kind, to_contract, unit_of

_SURE_ENOUGH_AGAINST_A_CLOCK = 1.2  # how near its name a number must stand when it could be a time of day
_NEVER_AIMED_FOR = frozenset(load_table("cues.toml")["about"]["never_aimed_for"])
_THAT_IS_WHAT = ["that", "'s", "what"]
_QUOTED_WITH_ITS_NAME = 16  # tokens; where the name stood further off, only the value's own words are quoted


def find_readings(
    passage: Passage,
    context: Context,
    systems: list[SystemMention],
    durations: list[Duration],
    moments: list[Moment],
    facts,
    special: list[Heard],
) -> list[Reading]:
    """Every reading of the passage in the order spoken, slips among them as retracted.

    `special` are values found by their own shape (dual capacitors, timed meters), already taken.
    """
    free = [n for n in passage.numbers if passage.free(n.start, n.end)]
    slips = {slip.right.start: slip.wrong for slip in find_slips(passage, free)}
    unsure = frozenset(at for moment in moments if not moment.sure for at in range(moment.start, moment.end))
    apart: dict[int, list[Heard]] = defaultdict(list)
    for item in special:
        apart[item.sentence].append(item)
    listening = Listening(passage, context, facts, systems, unsure, slips, find_topics(passage, context), apart)
    heard: list[Heard] = list(special)
    waiting: Name | None = None  # a name at the end of a sentence, its number perhaps in the next
    for place, (start, end) in enumerate(passage.sentences):
        numbers = [n for n in passage.numbers_in(start, end) if passage.free(n.start, n.end)]
        names = [n for n in passage.names_in(start, end) if passage.free(n.start, n.end)]
        if not names and not numbers:
            waiting = None
            continue
        names = names_that_count(passage, names, numbers)
        opens = numbers and numbers[0].start <= start + 2 and not any(n.start < numbers[0].start for n in names)
        paired = [waiting, *names] if waiting and opens else names
        found = _sentence(listening, place, paired, numbers, heard) if numbers else []
        heard += found
        bound = {item.name for item in found}
        closing = [n for n in names if n not in bound and not any(w[0].isalnum() for w in passage.words(n.end, end))]
        waiting = closing[-1] if closing else None
        if any(item.sense.quantity not in (*TESTS, "test_duration") for item in found):
            listening.topics.end_carried(start)
    heard += _as_the_plate_says(passage, heard)
    heard += _held_durations(listening, durations, heard)
    heard.sort(key=lambda item: item.number.start)
    heard = settle_pseudo(listening, heard)
    settle_sections(passage, heard)
    found = [_reading(passage, context, item, systems) for item in heard if not _once_written(passage, item)]
    return _without_echoes([reading for reading in found if not _only_refers(passage, context, reading)])


def _only_refers(passage: Passage, context: Context, reading: Reading) -> bool:
    """ "Nine hundred on the grid, on a four ton": the size that is known already says which, and is not told anew."""
    known = context.equipment(reading.system) if reading.quantity == "cooling_capacity" else None
    if known is None or known.cooling_capacity != reading.value:
        return False
    return passage.text[: reading.position].lower().rstrip().endswith(("on a", "on the", "for a", "on this", "of the"))


def _sentence(
    listening: Listening, place: int, names: list[Name], numbers: list[Number], earlier: list[Heard]
) -> list[Heard]:
    """The values of one sentence: lists first, then the cheapest pairs, then numbers without a name."""
    passage = listening.passage
    start, end = passage.sentences[place]
    numbers, limits = find_ranges(passage, drop_false_starts(passage, numbers))
    sentence = Sentence(place, start, end, numbers, limits)
    favoured = listening.topics.favoured(place)
    bonds = listed(passage, names, numbers, favoured)
    taken, named = {id(bond.number) for bond in bonds}, {bond.name for bond in bonds}
    follows = {b.start for a, b in zip(numbers, numbers[1:], strict=False) if from_one_to_the_other(passage, a, b)}
    left = [n for n in numbers if id(n) not in taken and n.start not in listening.slips and n.start not in follows]
    told = {bond.sense.quantity for bond in bonds if bond.name is None}
    bonds += bind(passage, [without_what_was_told(n, told) for n in names if n not in named], left, favoured)
    bonds = [b for b in bonds if not _rather_a_clock(b, listening.unsure) and not _of_the_next_test(listening, b)]
    heard = [sentence.heard(bond.number, bond.sense, bond.cost, bond.name) for bond in bonds]
    for item in heard:
        item.role = role_in(passage, sentence, item, [bond.name for bond in bonds if bond.name])
    bound = {item.number.start for item in heard}
    heard = [item for item in heard if not _lacks_its_cue(item) and not _odd_range(passage, item)]
    _continue_roles(passage, heard)
    for number in numbers:
        if number.start in bound:
            continue
        item = puts_right(listening, sentence, number, earlier + heard)
        item = item or unnamed(listening, sentence, number, earlier, heard)
        if item:
            heard = sorted([*heard, item], key=lambda other: other.number.start)
    _rate_what_is_tested(passage, heard)
    _retract_slips(listening, earlier, heard)
    return heard


def _retract_slips(listening: Listening, earlier: list[Heard], heard: list[Heard]) -> None:
    for kept in heard:
        wrong = listening.slips.get(kept.number.start)
        slip = wrong and next((item for item in earlier + heard if item.number.start == wrong.start), None)
        if slip:
            slip.status = "retracted"


def _rather_a_clock(bond: Bond, unsure: frozenset[int]) -> bool:
    return bond.number.start in unsure and bond.cost > _SURE_ENOUGH_AGAINST_A_CLOCK


def _of_the_next_test(listening: Listening, bond: Bond) -> bool:
    """ "Broke the vacuum with nitrogen, second pull got to 240": the other test has come up since the name."""
    if bond.name is None or bond.name.end > bond.number.start or bond.sense.quantity not in TESTS:
        return False
    topic = listening.topics.at(bond.number.start)
    return topic is not None and topic.bare is not None and topic.bare != bond.sense.quantity


def _odd_range(passage: Passage, item: Heard) -> bool:
    """A range without a unit, outside what the quantity ever is, was something else ("3 to 8" for three eighths)."""
    known = quantities()[item.sense.quantity]
    likely = known.likely_low <= item.sense.value <= known.likely_high
    return bool(item.limits) and item.number.end not in passage.units and not likely


def _lacks_its_cue(item: Heard) -> bool:
    """ "call it three ninety five a ton" only reckons; "I like four hundred a ton" sets a target."""
    wordings = item.name.wordings if item.name else ()
    needed = next((w.cue_needed for w in wordings if w.quantity == item.sense.quantity), None)
    return needed is not None and (not item.role.spoken or item.role.role == "estimated")


def _once_written(passage: Passage, item: Heard) -> bool:
    """ "Somebody wrote head three ninety on the wall": nobody's reading today, and nothing to aim for."""
    if "written" not in passage.cues or item.sense.quantity not in _NEVER_AIMED_FOR:
        return False
    written = passage.cues_in("written", passage.sentences[item.sentence][0], item.number.start)
    return bool(written) and not passage.has_cue("measured", written[-1][1], item.number.start)


def _rate_what_is_tested(passage: Passage, heard: list[Heard]) -> None:
    """ "fan cap is 7.5 testing at 7.4": what a capacitor is, then what the meter says."""
    for first, second in zip(heard, heard[1:], strict=False):
        if first.sense.quantity == second.sense.quantity == "capacitance":
            tested = passage.has_cue("measured", end_of(passage, first.number), second.number.start)
            if tested and not first.role.spoken and second.role.role == "measured":
                first.role = Role("rated", True)
        if _on_one_plate(passage, first, second):
            second.role = Role("target", True)
    for item in heard:
        if item.sense.quantity == "capacitance" and not item.role.spoken and names_a_size(passage, item.number):
            item.role = Role("rated", True)


def _continue_roles(passage: Passage, heard: list[Heard]) -> None:
    """ "rated forty five on the herm side and five on the fan side": one cue serves a list of the same kind."""
    for first, second in zip(heard, heard[1:], strict=False):
        same = first.sense.quantity == second.sense.quantity
        if same and first.role.spoken and not second.role.spoken and first.role.role != "estimated":
            between = passage.words(end_of(passage, first.number), second.number.start)
            if "and" in between and not _read_off_between(passage, first, second):
                second.role = first.role


def _on_one_plate(passage: Passage, first: Heard, second: Heard) -> bool:
    """ "Label says four pounds nine and a nine degree subcool"."""
    plated = first.sense.quantity == "factory_charge" and first.role.spoken and not second.role.spoken
    aimed = second.sense.quantity in ("subcooling", "superheat")
    between = passage.words(end_of(passage, first.number), second.number.start)
    return plated and aimed and between in (["and"], ["and", "a"], ["and", "an"], [","])


def _read_off_between(passage: Passage, first: Heard, second: Heard) -> bool:
    start, end = end_of(passage, first.number), second.number.start
    words = passage.words(start, end)
    return passage.has_cue("measured", start, end) or not {"measure", "reads", "got", "measured"}.isdisjoint(words)


def _as_the_plate_says(passage: Passage, heard: list[Heard]) -> list[Heard]:
    """ "Weighed in three pounds six, that's what the tag says too": the plate's charge is told with it."""
    found = []
    if "plate" not in passage.cues:
        return found
    for item in heard:
        if item.sense.quantity != "refrigerant_added" or item.status != "current":
            continue
        end = end_of(passage, item.number)
        close = min(end + 9, passage.sentences[item.sentence][1])
        that_is_what = any(passage.words(end + more, end + more + 3) == _THAT_IS_WHAT for more in range(5))
        if that_is_what and passage.cues_in("plate", end, close):
            sense = replace(item.sense, quantity="factory_charge")
            found.append(replace(item, sense=sense, name=None, role=Role("rated", True)))
    return found


# ---------------------------------------------------------------- how long a test was held


def _held_durations(listening: Listening, durations: list[Duration], heard: list[Heard]) -> list[Heard]:
    """Durations said of a test that stands: not how long the pump ran, the job took, or the system has run since."""
    passage, found = listening.passage, []
    for duration in durations:
        place = passage.sentence_of(duration.start)
        topic = listening.topics.at(duration.end)
        stands = topic is not None and (topic.held or _between_values(heard, topic.bare, duration, place))
        if not stands or topic.bare is None or duration.days and duration.days < 0.5:
            continue
        before = passage.words(max(0, duration.start - 4), duration.start)
        after = passage.lower[duration.end : duration.end + 3]
        if (
            {"took", "spent", "running", "ran", "pumping"} & set(before)
            or after[:3] == ["on", "the", "pump"]
            or after[:1] == ["ago"]
        ):
            continue
        if after[:1] in (["later"], ["in"], ["after"]) and _system_runs(heard, place):
            continue  # "Turned it on at three. Twenty minutes later, suction one fourteen …"
        number = Number(duration.start, duration.end, ((duration.minutes, 1.0),))
        sense = Sense("test_duration", duration.minutes, 1.0, 0.0, None, "min")
        guessed = before[-2:] == ["call", "it"]  # "in about thirty minutes" is how long it took
        role = Role("estimated" if guessed else "measured", guessed)
        found.append(Heard(number, sense, 0.8, None, place, role, qualifier=TESTS[topic.bare]))
        passage.use(duration.start)
    return found


def _between_values(heard: list[Heard], quantity: str | None, duration: Duration, place: int) -> bool:
    """ "Four eighty. Forty five minutes. Four eighty": a pressure, how long, and the pressure again."""
    if quantity != "test_pressure":
        return False  # a pump may still be running between two vacuums
    before = [item for item in heard if item.number.start < duration.start and place - item.sentence <= 2]
    after = [item for item in heard if item.number.start >= duration.end and item.sentence - place <= 1]
    beside = (max(before, key=_stands_at, default=None), min(after, key=_stands_at, default=None))
    return all(item is not None and item.sense.quantity == quantity for item in beside)


def _stands_at(item: Heard) -> int:
    return item.number.start


def _system_runs(heard: list[Heard], place: int) -> bool:
    """Whether a sentence tells values of a running system, and none of a test."""
    told = {item.sense.quantity for item in heard if item.sentence == place}
    return bool(told) and told.isdisjoint(TESTS)


# ---------------------------------------------------------------- records


def _reading(passage: Passage, context: Context, item: Heard, systems: list[SystemMention]) -> Reading:
    number, sense, name = item.number, item.sense, item.name
    start, end = number.start - _led_in(item), end_of(passage, number)
    passage.take(start, end)
    passage.use(number.start)
    if name and max(end, name.end) - min(start, name.start) <= _QUOTED_WITH_ITS_NAME:
        start, end = min(start, name.start), max(end, name.end)
    first, last = passage.offsets[start][0], passage.offsets[end - 1][1]
    start_s = end_s = heard = None
    if context.transcript.words:
        start_s, end_s, _ = context.transcript.span_times(first, last)
        own = passage.offsets[number.start][0], passage.offsets[number.end - 1][1]
        *_, heard = context.transcript.span_times(*own)
    unit = unit_of(sense.quantity)
    if sense.doubt == "unit_mismatch":
        unit = sense.spoken_unit or unit
    low, high = _limits(passage, item)
    system = (
        "site" if sense.quantity in ("outdoor_temp", "altitude") else system_at(number.start, systems, passage, context)
    )
    doubt = sense.doubt if heard is None else doubt_of_hearing(number, sense)
    certain = sense.likelihood * math.exp(-0.05 * max(0.0, item.cost)) * (heard if heard is not None else 1.0)
    reading = Reading(
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
        status="doubtful" if doubt and item.status == "current" else item.status,
        qualifier=item.qualifier or qualifier_of(passage, item),
        low=low,
        high=high,
        doubt=doubt,
        position=passage.offsets[number.start][0],
    )
    if doubt == MISHEARD and is_confirmed(reading, context):
        return replace(reading, status=item.status, doubt=None)
    return reading


def _led_in(item: Heard) -> int:
    """One where the word before the number was heard as its hundred: the words of 410 are "for 10"."""
    plain, unit, wanted = item.number.value, item.sense.spoken_unit, unit_of(item.sense.quantity)
    if unit and same_kind(unit, wanted):
        plain = to_contract(plain, unit, wanted)
    return int(item.number.led and not math.isclose(item.sense.value, plain))


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
    current: dict[tuple, list[int]] = {}  # places in `kept`, by what they are of
    for reading in readings:
        same = current.setdefault((reading.quantity, reading.role, reading.system, reading.qualifier), [])
        adds = reading.quantity in ADDING_UP
        again = adds and {"another", "more", "again"} & set(reading.said.lower().split())
        if (
            reading.status == "current"
            and not again
            and any(math.isclose(kept[i].value, reading.value, rel_tol=1e-4) for i in same)
        ):
            continue
        if (reading.status == "current" or reading.doubt == MISHEARD) and not adds:
            for i in same:  # a value in doubt leaves no earlier one standing: it has moved since
                kept[i] = replace(kept[i], status="superseded")
            same.clear()
        if reading.status == "current":
            same.append(len(kept))
        kept.append(reading)
    return kept

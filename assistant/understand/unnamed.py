"""Numbers with no name of their own: told by their unit, the test in progress, or the value before them."""

from __future__ import annotations

import functools
from itertools import takewhile

from assistant.records import ADDING_UP
from assistant.understand.bind import Sense, best_sense, unit_ahead
from assistant.understand.claims import what_air_comes_to
from assistant.understand.context import Context
from assistant.understand.heard import Heard, Listening, Sentence, as_quantity, end_of, in_range, role_in
from assistant.understand.lexicon import wordings
from assistant.understand.number import Number
from assistant.understand.passage import Passage, Wording
from assistant.understand.qualify import target_kind
from assistant.understand.roles import ALWAYS_RATED
from assistant.understand.systems import system_at
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import says_any
from assistant.units import quantities

_IT_IS = (["it", "'s"], ["it", "is"], ["it", "was"], ["it", "reads"])
_READS_A = frozenset("reads reading read measures measured measuring got get getting shows showing at to makes".split())
_BESIDE_IT_IS = frozenset(", . ; and but only just down to at about making".split())
_OPENS_A_CLAUSE = frozenset({",", ";", ".", "and", "but"})
_BY_THE = tuple([where, the] for where in ("on", "by", "per", "off") for the in ("the", "its", "their", "that"))
_IS = (["is"], ["'s"], ["was"])
_WHAT = (["what"], ["the", "number"], ["the", "figure"], ["the", "target"], ["the", "one"], ["the", "spec"])
_ON_THE_SCALE = ["on", "the", "scale"]
_OTHER_AIR = wordings(load_table("cues.toml")["about"]["other_air"])
_LET_IN = wordings(load_table("cues.toml")["about"]["lets_in"])
_ONLY_GETS = tuple(
    phrase.split()
    for only in ("only", "just", "barely")
    for phrase in (f"'m {only} getting", f"'re {only} getting", f"'s {only} getting", f"{only} get", f"{only} see")
) + (["all", "i", "'m", "getting", "is"], ["all", "it", "'s", "getting", "is"])
_HAS_GOT = (["i", "'ve", "got"], ["i", "got"], ["i", "'m", "at"], ["we", "'re", "at"], ["i", "have"])
_CLOSES = ([], [","], ["."], [";"], ["and"], ["but"], ["so"], ["out"], ["through"], ["total"])
_MOST_PSI = 600.0  # above what gauges show every day, a bare number beside a size can only be its air
_LEAST_A_TON, _MOST_A_TON = 200.0, 600.0  # cfm: what no system that runs is beyond
_MOST_PARTS = 12  # of a sum: as many registers as anybody reads off in one breath
_LIST_OF_GOODS = wordings(["used", "need", "ordered", "pick up", "picked up", "materials", "bring", "bought", "grab"])
_OTHER_GOODS = frozenset(load_table("cues.toml")["about"]["sold_by_the_foot"])


def unnamed(
    listening: Listening, sentence: Sentence, number: Number, earlier: list[Heard], heard: list[Heard]
) -> Heard | None:
    """What a number without a name is, or None. `earlier` were heard in sentences before, `heard` in this one.

    The first of these that explains it wins: it puts a slip right; its unit says so; a test is going on; it
    adds up or aims at something just told; the value before it had the same name; the assistant asked for it.
    """
    for explain in (_by_unit, _by_test):
        if item := explain(listening, sentence, number):
            return item
    told, here = earlier + heard, [*listening.special.get(sentence.place, ()), *heard]
    for explain, among in (
        (_plate_range, told),
        (_sum_of_statics, told),
        (_difference_of_airs, here),
        (_sum_of_a_row, here),
        (_bare_target, told),
    ):
        if item := explain(listening, sentence, number, among):
            return item
    if item := _inherited(listening, sentence, number, _previous(sentence, number, earlier, heard)):
        return item
    clock = _on_a_clock(listening, number)
    if item := _by_a_name_left_over(listening, sentence, number, heard):
        when = clock and _says_it_is(listening.passage, number) or _says_when(listening.passage, number)
        return None if when else item
    if clock:
        return None
    if item := _air_for_its_tons(listening, sentence, number, told):
        return item
    return _moved_on(listening, sentence, number, told) or _answer_to_question(listening, sentence, number)


def puts_right(listening: Listening, sentence: Sentence, number: Number, told: list[Heard]) -> Heard | None:
    """ "… eighty nine. Scratch that, ninety nine": whatever the slip was, this is."""
    slip = listening.slips.get(number.start)
    wrong = slip and next((item for item in told if item.number.start == slip.start), None)
    if wrong is None:
        return None
    # A name that can mean several quantities is asked again: "three fifty eight, no, fifty eight" turns air into heat.
    wordings = wrong.name.wordings if wrong.name else (Wording(wrong.sense.quantity),)
    sense = best_sense(listening.passage, wordings, number, frozenset(), tight=True)
    if sense is None:
        return None
    name = wrong.name if wrong.sentence == sentence.place else None
    return sentence.heard(number, sense, wrong.cost + 0.3, name, role=wrong.role, qualifier=wrong.qualifier)


@functools.cache
def _words(kind: str) -> frozenset[str]:
    return frozenset(load_table("cues.toml")["about"][kind])


def _says_it_is(passage: Passage, number: Number) -> bool:
    """ "It's ten thirty" may be the time of day; "they come to ten thirty" is not."""
    return passage.words(number.start - 2, number.start) in _IT_IS


def _says_when(passage: Passage, number: Number) -> bool:
    """ "It's two thirty now" and "it's ten thirty already"."""
    return _says_it_is(passage, number) and passage.words(number.end, number.end + 1) in (["now"], ["already"])


def _on_a_clock(listening: Listening, number: Number) -> bool:
    return number.start in listening.unsure


# ---------------------------------------------------------------- by its unit


def _by_unit(listening: Listening, sentence: Sentence, number: Number) -> Heard | None:
    """A weight on a plate, a power, feet beside a line set, or a unit only one quantity has."""
    passage = listening.passage
    unit = passage.units.get(number.end)
    if unit is None:
        return _behind_its_unit(listening, sentence, number) or _big_plate_figure(listening, sentence, number)
    words = set(passage.words(sentence.start, sentence.end))
    kind = unit.kinds[0]
    if kind in ("lb", "oz", "kg", "g"):
        item = _with_role(listening, sentence, number, "factory_charge", 1.0)
        item = item if in_range(passage, number, "factory_charge") else None  # ounces are what the chart adds to it
        added_to = passage.lower[number.start] == "plus"  # "nameplate plus two pounds"
        if item and not added_to and item.role.spoken and item.role.role == "rated":  # "plate says four pounds eleven"
            return item
        return _weight_of_refrigerant(listening, sentence, number)
    if kind in ("Btu/h", "kW") and (quantity := _power(words)):
        return _with_role(listening, sentence, number, quantity, 1.0)
    if kind == "ft" and 2500 <= number.value <= 14_000 and _words("heights") & words:
        return _with_role(listening, sentence, number, "altitude", 0.9)
    if kind in ("ft", "m") and _about_a_line_set(passage, sentence, number, words):
        item = _with_role(listening, sentence, number, "line_set_length", 1.2)
        if item and not item.role.spoken and _a_plate_before(passage, sentence, number):
            item.role = type(item.role)("rated", True)  # "factory charge five pounds eight on fifteen feet"
        return item
    if unit.implies == "filter_face_area" and not words & _words("filters"):
        return None  # "the combustion air opening's a hundred square inches"
    if kind == "V" and in_range(passage, number, "control_voltage"):
        return _with_role(listening, sentence, number, "control_voltage", 0.8)
    if unit.implies == "system_airflow" and _of_other_air(passage, sentence, number):
        return None  # "OA 200 cfm"
    end = end_of(passage, number)
    behind = next((at for at in range(end, sentence.end) if passage.lower[at] in _OPENS_A_CLAUSE), sentence.end)
    if kind == "A" and _of_another_part(passage, sentence.start, behind):
        return None  # "eighteen amps on the heat strips" are not the compressor's
    return _with_role(listening, sentence, number, _implied(unit.implies, words), 0.8) if unit.implies else None


def _of_other_air(passage: Passage, sentence: Sentence, number: Number) -> bool:
    before = [n.end for n in passage.numbers_in(sentence.start, number.start)]
    return says_any(passage, _OTHER_AIR, max(before, default=sentence.start), number.start)


def _behind_its_unit(listening: Listening, sentence: Sentence, number: Number) -> Heard | None:
    """ "CFM 1880": as it is typed, the unit first and nothing between."""
    passage = listening.passage
    unit = unit_ahead(passage, number)
    if unit is None:
        return None
    words = set(passage.words(sentence.start, sentence.end))
    quantity = _implied(unit.implies, words)
    return _with_role(listening, sentence, number, quantity, 1.0) if in_range(passage, number, quantity) else None


def _of_another_part(passage: Passage, start: int, end: int) -> bool:
    """Whether the last clause of tokens start..end is about a breaker, a heater …: what is rated there is theirs."""
    words = passage.words(start, end)
    while words and words[-1] in _OPENS_A_CLAUSE:
        words.pop()  # "breaker, 35 max"
    opens = max((at + 1 for at, word in enumerate(words) if word in _OPENS_A_CLAUSE), default=0)
    return not _words("other_parts").isdisjoint(words[opens:])


def _weight_of_refrigerant(listening: Listening, sentence: Sentence, number: Number) -> Heard | None:
    """ "Recovered what was left in it, which wasn't much, one pound nine": the verb tells, however far ahead."""
    words = listening.passage.words(sentence.start, number.start)
    for quantity, verbs in (("refrigerant_recovered", "takes_out"), ("refrigerant_added", "puts_in")):
        if _words(verbs) & set(words):
            return _with_role(listening, sentence, number, quantity, 2.0)
    end = end_of(listening.passage, number)
    on_the_scale = listening.passage.words(end, end + 3) == _ON_THE_SCALE
    if not on_the_scale or not says_any(listening.passage, _LET_IN, end, sentence.end):
        return None  # "the cylinder was twenty two pounds on the scale before I started"
    sense = in_range(listening.passage, number, "refrigerant_added")
    return sentence.heard(number, sense, 2.0) if sense else None


def _big_plate_figure(listening: Listening, sentence: Sentence, number: Number) -> Heard | None:
    """ "Plate's ninety thousand": a furnace's input, for nothing else on a plate is that large."""
    if not 20_000 <= number.value <= 400_000:
        return None
    item = _with_role(listening, sentence, number, "heating_input", 1.2)
    return item if item and item.role.spoken else None


def _with_role(listening: Listening, sentence: Sentence, number: Number, quantity: str, cost: float) -> Heard | None:
    sense = as_quantity(listening.passage, number, quantity)
    if sense is None or (sense.doubt and cost >= 1.0):
        return None
    item = sentence.heard(number, sense, cost)
    item.role = role_in(listening.passage, sentence, item, [])
    return item


def _power(words: set[str]) -> str | None:
    """ "Eighteen thousand BTU" is a furnace's input or a condenser's size, by what the sentence is about."""
    if words & _words("heats"):
        return "heating_input"
    return "cooling_capacity" if words & _words("cools") else None


def _about_a_line_set(passage: Passage, sentence: Sentence, number: Number, words: set[str]) -> bool:
    unit = passage.units[number.end]
    if says_any(passage, _LIST_OF_GOODS, sentence.start, number.start):
        return False  # "used … and fifty feet of seven eighths copper"
    if passage.words(unit.end, unit.end + 1) == ["of"] and _OTHER_GOODS.intersection(
        passage.words(unit.end, unit.end + 5)
    ):
        return False  # "forty feet of five eighths insulation"
    named = {"line_set_length", "liquid_line_size", "factory_charge"}
    here = passage.names_in(sentence.start, number.start)
    return bool(words & {"lines", "eighths"}) or any(named & set(name.quantities()) for name in here)


def _a_plate_before(passage: Passage, sentence: Sentence, number: Number) -> bool:
    before = passage.names_in(sentence.start, number.start)
    return bool(before) and "factory_charge" in before[-1].quantities()


def _implied(quantity: str, words: set[str]) -> str:
    """A unit names its quantity, but the sentence may say which side or place: "nine hundred CFM of return"."""
    if quantity == "system_airflow" and words & {"return", "returns"}:
        return "return_airflow"
    if quantity == "system_airflow" and words & {"supply", "supplies", "registers", "register"}:
        return "supply_airflow"
    if quantity == "carbon_monoxide" and {"nothing", "zero"} <= words:
        return "ambient_carbon_monoxide"  # "nothing in the chapel itself, zero parts"
    if quantity == "carbon_monoxide" and words & _words("indoors") and "flue" not in words:
        return "ambient_carbon_monoxide"
    return quantity


# ---------------------------------------------------------------- by a name further back


def _by_a_name_left_over(
    listening: Listening, sentence: Sentence, number: Number, heard: list[Heard]
) -> Heard | None:
    """ "I hung the hood on the one return they've got, a single flex, and it's nine seventy five": the air.

    So too "hooded both returns and between the two of them there's a thousand and forty".
    """
    passage = listening.passage
    name = what_air_comes_to(passage, number)
    if name and name not in {item.name for item in heard}:
        sense = best_sense(passage, name.wordings, number, frozenset(), tight=False)
        known = sense and quantities()[sense.quantity]
        if known and sense.doubt is None and known.likely_low <= sense.value <= known.likely_high:
            item = sentence.heard(number, sense, 2.0, name)
            item.role = role_in(passage, sentence, item, [])
            return item
    return None


def _air_for_its_tons(listening: Listening, sentence: Sentence, number: Number, told: list[Heard]) -> Heard | None:
    """ "Three ton and I'm only getting nine forty", "plate reads eleven seventy five": what a known size moves."""
    passage = listening.passage
    sense = in_range(passage, number, "system_airflow") if number.end not in passage.units else None
    tons = _tons(listening, number, told) if sense and sense.value > _MOST_PSI else None
    if not tons or not _LEAST_A_TON <= sense.value / tons <= _MOST_A_TON:
        return None
    here = [item for item in told if item.sentence == sentence.place]
    again = any(item.sense.quantity == "system_airflow" for item in told)
    on_the_plate = again and passage.words(number.end, number.end + 3) == ["on", "the", "plate"]
    if not (on_the_plate or _plate_reads(passage, sentence, number) or _only_gets(passage, sentence, number, here)):
        return None
    return sentence.heard(number, sense, 2.0)


def _tons(listening: Listening, number: Number, told: list[Heard]) -> float | None:
    """The size of the system a number is about, from this note or before."""
    if sizes := [item.sense.value for item in told if item.sense.quantity == "cooling_capacity"]:
        return sizes[-1]
    system = system_at(number.start, listening.systems, listening.passage, listening.context)
    known = listening.context.equipment(system)
    return known.cooling_capacity if known else None


def _plate_reads(passage: Passage, sentence: Sentence, number: Number) -> bool:
    """ "The plate jumps to eleven forty": one that stands in the filter's slot; what a nameplate "says" is a rating."""
    before = passage.words(max(sentence.start, number.start - 6), number.start)
    at = max((at for at, word in enumerate(before) if word in ("plate", "plates")), default=None)
    between = set(before[at + 1 :]) - {"is", "'s"} if at is not None else set()
    return bool(between) and _words("plate_reads").issuperset(between)


def _only_gets(passage: Passage, sentence: Sentence, number: Number, here: list[Heard]) -> bool:
    """ "I'm only getting nine forty" of a size, "static is .44 and I've got 1190": no money is spoken of."""
    before = passage.words(max(sentence.start, number.start - 5), number.start)
    behind_static = here and here[-1].sense.quantity == "total_static_pressure"
    gets = any(before[at:] in _ONLY_GETS or behind_static and before[at:] in _HAS_GOT for at in range(len(before)))
    if not gets or passage.lower[number.end : number.end + 1] not in _CLOSES:
        return False
    return _words("of_money").isdisjoint(passage.words(sentence.start, sentence.end))


# ---------------------------------------------------------------- by the test in progress


def _by_test(listening: Listening, sentence: Sentence, number: Number) -> Heard | None:
    """ "Isolated it, ten minutes, four sixty": a number alone while a vacuum or a nitrogen test is the subject."""
    passage, topic = listening.passage, listening.topics.at(number.start)
    if topic is None or topic.bare is None:
        return None
    if topic.carried and not topic.held and not _carries_on(passage, number, sentence.start):
        return None
    if _on_a_clock(listening, number) and not topic.held:
        return None  # "the vacuum pump went on at one fifteen"
    unit = passage.units.get(number.end)
    labelled = passage.cue_ends_at("label_before", number.start)
    sense = in_range(passage, number, topic.bare)
    if sense is None or labelled or not (unit is None or unit.implies or unit.kinds[0] in ("psi", "lb")):
        return None
    return sentence.heard(number, sense, 1.2 + topic.carried + 0.5 * _on_a_clock(listening, number))


def _carries_on(passage: Passage, number: Number, start: int) -> bool:
    """A test left standing by an earlier note is taken up again: "back up to four fifty", "it's four twenty"."""
    if "still" in passage.words(max(start, number.start - 5), number.start):
        return True  # "still coming down, 280"
    before = " ".join(passage.words(max(start, number.start - 3), number.start))
    after = passage.words(number.end, number.end + 4)
    resumed = ("up to", "down to", "gauge says", "gauge is at", "still at", "it 's at", "still")
    return before.endswith(resumed) or bool({"gauge", "nose"} & set(after))


# ---------------------------------------------------------------- by what was just told


def _plate_range(listening: Listening, sentence: Sentence, number: Number, told: list[Heard]) -> Heard | None:
    """ "Plate says thirty to sixty", after two air temperatures of a furnace, can only be the rise."""
    if number.start not in sentence.limits or number.end in listening.passage.units:
        return None
    temps = dict(_told_in_the_note_before(listening.context)) | {i.sense.quantity: i.sense.value for i in told}
    if temps.get("supply_air_temp", 0) - temps.get("return_air_temp", 1000) <= 15:
        return None
    item = _with_role(listening, sentence, number, "temperature_rise", 2.0)
    return item if item and item.role.spoken else None


def _sum_of_statics(listening: Listening, sentence: Sentence, number: Number, told: list[Heard]) -> Heard | None:
    """ "Point four one on the supply, point three seven on the return, so point seven eight"."""
    if len(told) < 2 or number.end in listening.passage.units:
        return None
    near = takewhile(lambda item: sentence.place - item.sentence <= 1, reversed(told))
    last = {item.sense.quantity: item.sense.value for item in reversed(list(near))}
    parts = [last.get("supply_static_pressure"), last.get("return_static_pressure")]
    if None in parts:
        return None
    adds_up = abs(sum(parts) - number.value) <= 0.011  # both parts are read to a hundredth
    sense = as_quantity(listening.passage, number, "total_static_pressure") if adds_up else None
    return sentence.heard(number, sense, 1.5) if sense else None


def _difference_of_airs(listening: Listening, sentence: Sentence, number: Number, here: list[Heard]) -> Heard | None:
    """ "Return seventy two, supply sixty four, that's only eight degrees": the split, or the rise of a furnace."""
    if len(here) < 2:
        return None
    last = {item.sense.quantity: item.sense.value for item in here}
    entering, leaving = last.get("return_air_temp"), last.get("supply_air_temp")
    if entering is None or leaving is None or abs(abs(leaving - entering) - number.value) > 0.51:
        return None
    quantity = "temperature_split" if leaving < entering else "temperature_rise"
    sense = in_range(listening.passage, number, quantity)
    return sentence.heard(number, sense, 1.5) if sense else None


def _sum_of_a_row(listening: Listening, sentence: Sentence, number: Number, here: list[Heard]) -> Heard | None:
    """ "Seven ten and four sixty, that's eleven seventy total": the sum is the value, the parts only led to it."""
    row = [n for n in sentence.numbers if n.end <= number.start][-_MOST_PARTS:]
    if len(row) < 2 or number.end in listening.passage.units:
        return None
    for first in range(len(row) - 2, -1, -1):
        parts = row[first:]
        named = [item for item in here if item.number.start >= parts[0].start]
        if named and abs(sum(n.value for n in parts) - number.value) < 1e-6:
            alike = len({item.sense.quantity for item in named}) == 1
            sense = in_range(listening.passage, number, named[-1].sense.quantity) if alike else None
            return sentence.heard(number, sense, 1.2, named[-1].name) if sense else None
    return None


def _bare_target(listening: Listening, sentence: Sentence, number: Number, told: list[Heard]) -> Heard | None:
    """ "TXV, wants nine" and "the tag says twelve": a small bare target, told with the equipment or the gauges."""
    passage, context, facts = listening.passage, listening.context, listening.facts
    unit = passage.units.get(number.end)
    if not 3 <= number.value <= 30 or number.value % 0.5 or (unit and unit.kinds[0] != "degF"):
        return None
    kinds = [kind for kind in ("target", "plate") if kind in passage.cues]
    ahead = [cue for kind in kinds for cue in passage.cues_in(kind, sentence.start, number.start)]
    asked = any(number.start - 3 <= end <= number.start for _, end in ahead)
    behind = passage.words(number.end + 1, number.end + 3)
    if passage.words(number.end, number.end + 1) in _IS and (behind in _WHAT or behind[:1] in _WHAT):
        asked = asked or any(passage.cues_in(kind, number.end, number.end + 7) for kind in kinds)
    if not asked and not _on_the_plate(passage, number):
        return None
    equipment = any(e.metering_device for e in (*facts.equipment, *context.job.equipment))
    if not equipment and not any(item.sense.quantity in ("subcooling", "superheat") for item in told):
        return None
    previous = [item for item in told if item.sentence == sentence.place and item.number.start < number.start]
    last = told[-1] if told else None
    if (
        last
        and last.sense.quantity in ("subcooling", "superheat")
        and not _systems_differ(listening, last.number, number)
    ):
        return None  # "superheat came in at seventeen. I'm after twelve": the same again
    switched = previous and _systems_differ(listening, previous[-1].number, number)
    if previous and not switched and previous[-1].sense.quantity not in _words("gauge_talk"):
        return None  # after a manifold or a voltage it is theirs
    item = _with_role(listening, sentence, number, target_kind(listening, number), 1.6)
    return item if item and item.role.spoken and item.role.role == "target" else None


def _on_the_plate(passage: Passage, number: Number) -> bool:
    """ "Still eleven on the sticker", "nine by the chart"."""
    by_where = passage.words(number.end, number.end + 2) in _BY_THE
    at = number.end + 2
    return by_where and bool(passage.cues_in("plate", at, at + 1)) and passage.lower[at] != "panel"


def _previous(sentence: Sentence, number: Number, earlier: list[Heard], heard: list[Heard]) -> Heard | None:
    before = [item for item in heard if item.number.start < number.start]
    if before:
        return before[-1]
    return earlier[-1] if earlier and sentence.place - earlier[-1].sentence <= 1 else None


def _inherited(listening: Listening, sentence: Sentence, number: Number, previous: Heard | None) -> Heard | None:
    """A second value for the quantity just named: its rating, its target, or where it settled."""
    passage = listening.passage
    quantity = previous.sense.quantity if previous else "test_duration"
    unit = previous.sense.spoken_unit if previous else None
    sense = as_quantity(passage, number, quantity, unit) if quantity != "test_duration" else None
    if sense is None or sense.doubt:
        return None
    if quantity in ADDING_UP and not {"another", "more"} & set(passage.words(number.start - 2, number.start)):
        return None  # what comes after an amount added is seldom another amount
    if _of_another_part(passage, end_of(passage, previous.number), number.start):
        return None  # "control 25.2. Contactor's rated 30"
    item = sentence.heard(number, sense, 1.5, previous.name)
    item.role = role_in(passage, sentence, item, [])
    if item.role.role == "target" and _systems_differ(listening, previous.number, number):
        return None
    plated = quantity not in _words("never_on_a_plate") or item.role.role == "target"
    if plated and item.role.spoken and item.role.role in ("target", "rated") and item.role.role != previous.role.role:
        its_own = item.role.role == "target" and "it" in passage.words(number.start - 5, number.start)
        if quantity in ("supply_static_pressure", "return_static_pressure") and not its_own:
            # a rating is for the whole
            return _with_role(listening, sentence, number, "total_static_pressure", 1.5)
        return item
    if quantity in ALWAYS_RATED and not _switched_system(listening, number, previous):
        return None  # what a plate gives is not measured again: "3.5 ton … it's on 407C now, 12's the number"
    measured = _cue_beside(passage, "measured", sentence, number)
    rerun = measured and not item.role.spoken and previous.role.role != "measured"
    if rerun and in_range(passage, number, quantity):
        return item
    if _switched_system(listening, number, previous):
        item.role = previous.role
        return item
    if quantity == "capacitance" and previous.role.role == "measured" and names_a_size(passage, number):
        between = passage.words(end_of(passage, previous.number), number.start - 1)
        return item if [word for word in between if word not in _BESIDE_IT_IS] in _IT_IS else None
    moved = measured or _cue_beside(passage, "move", sentence, number) or _was_and_is(passage, sentence, number)
    moved = moved or from_one_to_the_other(passage, previous.number, number)
    now = quantity == "capacitance" and _is_now(passage, previous.number, number)
    if (now or moved and previous.sentence == sentence.place) and in_range(passage, number, quantity):
        item.role = previous.role if previous.role.role in ("measured", "estimated") else item.role
        return item
    return None


def _systems_differ(listening: Listening, first: Number, second: Number) -> bool:
    return any(first.end <= mention.start < second.start for mention in listening.systems)


def _cue_beside(passage: Passage, kind: str, sentence: Sentence, number: Number) -> bool:
    """A cue up to five words ahead of a number, or right behind it."""
    if kind not in passage.cues:
        return False
    end = end_of(passage, number)
    ahead = passage.cues_in(kind, max(sentence.start, number.start - 5), number.start)
    return bool(ahead or passage.cues_in(kind, end, end + 2))


def from_one_to_the_other(passage: Passage, first: Number, second: Number) -> bool:
    """ "came down from fifty eight to fifty three"."""
    between = passage.words(end_of(passage, first), second.start)
    return between in (["to"], ["up", "to"], ["down", "to"]) and passage.words(first.start - 1, first.start) == ["from"]


def names_a_size(passage: Passage, number: Number) -> bool:
    """ "The fan cap's a five": an article makes it what the part is, in the halves that capacitors are made in."""
    before = passage.words(number.start - 2, number.start)
    unit = passage.units.get(number.end)
    behind = passage.names_in(unit.end, unit.end + 1) if unit else ()
    part = any("capacitance" in name.quantities() for name in behind)
    article = before[-1:] in (["a"], ["an"], ["new"])
    return (article or part) and _READS_A.isdisjoint(before) and number.value % 0.5 == 0


def _is_now(passage: Passage, first: Number, second: Number) -> bool:
    """ "A five and it's three point one", "a forty, and it's down to thirty three"."""
    between = [word for word in passage.words(end_of(passage, first), second.start) if word not in _BESIDE_IT_IS]
    return names_a_size(passage, first) and between in _IT_IS


def _was_and_is(passage: Passage, sentence: Sentence, number: Number) -> bool:
    """ "Static was point seven eight, … and it's point five five"."""
    before = passage.words(sentence.start, number.start)
    return "'s" in before[-2:] and bool({"was", "were", "had", "started", "read"} & set(before))


def _switched_system(listening: Listening, number: Number, previous: Heard) -> bool:
    """ "The upstairs return's seventy nine. The downstairs one is seventy four."."""
    return _systems_differ(listening, previous.number, number) and listening.passage.words(
        number.start - 1, number.start
    ) in (["is"], ["'s"], ["a"], ["at"])


_DRIER = frozenset({"drier", "dryer", "strainer"})
_FAR = 1.0  # of its earlier value: a value that more than doubled moved far


def _moved_on(listening: Listening, sentence: Sentence, number: Number, told: list[Heard]) -> Heard | None:
    """ "Now it's three forty four and ninety six": values told before, told anew without their names.

    The nearest earlier value wins, and only where no other is half as near.
    """
    passage = listening.passage
    if "move" not in passage.cues or number.end in passage.units:
        return None
    if passage.words(number.end, number.end + 1) in (["in"], ["out"]) or _DRIER.intersection(
        passage.words(sentence.start, number.start)
    ):
        return None  # "now the drier's ninety one in and eighty two out"
    near = passage.words(max(sentence.start, number.start - 8), number.start)
    end = end_of(passage, number)
    ahead = passage.cues_in("move", sentence.start, number.start)
    ahead = ahead and bool({"it", "that", "to", "'s", "now", "and"} & set(near))
    if not (ahead or passage.cues_in("move", end, end + 1)):
        return None
    fresh = [
        i
        for i in told
        if sentence.place - i.sentence <= 4
        and i.role.role in ("measured", "estimated")
        and i.sense.quantity not in ADDING_UP
    ]
    recent = [(i.sense.quantity, i.sense.value) for i in fresh] or _told_in_the_note_before(listening.context)
    gaps: dict[str, float] = {}
    for quantity, value in recent:
        sense = in_range(passage, number, quantity) if quantity != "test_duration" else None
        if sense and value:
            gaps[quantity] = abs(sense.value / value - 1)
    worked_on = [quantity for quantity in _worked_on(passage, sentence) if quantity in gaps]
    if worked_on:
        return sentence.heard(number, in_range(passage, number, worked_on[-1]), 2.0)
    ranked = sorted(gaps.items(), key=lambda pair: pair[1])
    if ranked and fresh and ranked[0][0] != fresh[-1].sense.quantity and gaps.get(fresh[-1].sense.quantity, 0) > _FAR:
        return None  # it may be what was told last, changed a lot
    furthest = 0.6 if len(ranked) > 1 else 9.0  # where only one thing was told, it may have changed a lot
    if not ranked or ranked[0][1] > furthest or (len(ranked) > 1 and ranked[1][1] < 2 * ranked[0][1]):
        return None
    return sentence.heard(number, in_range(passage, number, ranked[0][0]), 2.0)


def _worked_on(passage: Passage, sentence: Sentence) -> list[str]:
    """What the sentences before name without a number: "Pulled the flame sensor. Cleaned it, now it's four point one".

    Quantities, the nearest last.
    """
    found = []
    for start, end in passage.sentences[max(0, sentence.place - 2) : sentence.place]:
        if not passage.numbers_in(start, end):
            found += [quantity for name in passage.names_in(start, end) for quantity in name.quantities()]
    return found


def _told_in_the_note_before(context: Context) -> list[tuple[str, float]]:
    """Measured values of the last note of this same day."""
    today = next((visit.notes for visit in context.job.visits if visit.date == context.date.isoformat()), ())
    measured = [r for r in context.last_readings() if r.role == "measured" and r.note in today]
    return [(r.quantity, r.value) for r in measured if r.note == measured[-1].note]


# ---------------------------------------------------------------- by the assistant's own question


def _said_before(listening: Listening, number: Number, quantity: str) -> Sense | None:
    """A value that was in doubt, said once more: "250" after "I heard 250 for the discharge line"."""
    doubted = [r.value for r in listening.context.job.readings if r.status == "doubtful" and r.quantity == quantity]
    return as_quantity(listening.passage, number, quantity) if number.value in doubted else None


def _answer_to_question(listening: Listening, sentence: Sentence, number: Number) -> Heard | None:
    """A bare value answers what the assistant asked last, where hardly another word is said with it."""
    passage, asked = listening.passage, listening.context.open_question()
    if asked is None or sentence.place > 1:
        return None
    spoken = set(passage.words(number.start, end_of(passage, number))) | _words("answering")
    others = [w for w in passage.words(sentence.start, sentence.end) if w.isalpha() and w not in spoken]
    if len(others) > 1:
        return None
    try:
        sense = in_range(passage, number, asked.quantity) or _said_before(listening, number, asked.quantity)
    except KeyError:  # it asked for something that is no quantity: which refrigerant, which metering device
        return None
    if sense is None:
        return None
    item = sentence.heard(number, sense, 1.5)
    if asked.role != "measured":
        item.role = type(item.role)(asked.role, True)
    return item

"""Numbers that are not readings: prices, moments, counts, labels, addresses.

Each is marked as taken, so that nothing later can mistake it for a value. Prices are kept for agreements
and materials, durations for tests and labour.
"""

from __future__ import annotations

import bisect
from dataclasses import dataclass

from assistant.understand.bind import best_sense
from assistant.understand.clock import Moment
from assistant.understand.lexicon import wordings
from assistant.understand.number import Number
from assistant.understand.passage import Passage
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, says_any

_SAY_BETWEEN = frozenset(load_table("cues.toml")["filler"]["say"])
_MONEY_WORDS = {"dollar": 1, "dollars": 1, "buck": 1, "bucks": 1, "grand": 1000, "cents": 0.01}
_PRICE = load_table("agreements.toml")["price"]
_RIGHT_BEFORE = tuple(_PRICE["right_before"])
_RIGHT_BEFORE_A_LARGE_ONE = (*_RIGHT_BEFORE, *_PRICE["right_before_a_large_one"])
_LAST_WORDS = tuple({said.split()[-1] for said in _RIGHT_BEFORE_A_LARGE_ONE})
_ANSWER = {
    kind: wordings(load_table("agreements.toml")["answer"][kind])
    for kind in ("approved", "declined", "offered", "pending")
}
_TOLD_THE = tuple([verb, "the"] for verb in load_table("agreements.toml")["people"]["told"])
_OPENS_AN_OFFER = wordings(_PRICE["opens"])
_PEOPLE = wordings(load_table("agreements.toml")["answer"]["people"])
_PARTS = wordings(load_table("events.toml")["parts"]["nouns"])
_OFFERED_OR_ANSWERED = (*_ANSWER.values(), wordings(["changeout for", "price on"]))
_A_SYSTEM = wordings(["changeout", "ton", "system", "unit"])
_CAPACITORS = frozenset({"cap", "caps", "capacitor", "capacitors"})
_SEVERAL_DUCTS = frozenset({"returns", "supplies", "registers", "grilles", "takeoffs", "runs"})
_BY = frozenset({"by", "x"})
_CONTAINERS = frozenset({"cylinder", "tank", "jug", "bottle", "drum"})
_WEIGHED_OR_SUPPOSED = _CAPACITORS | {"tare", "weighs", "weighed", "if"}
_SIZED_THINGS = load_table("cues.toml")["not_a_reading"]["sized_things"]  # by unit
_TIME_UNITS = {"min": 1.0, "h": 60.0, "s": 1 / 60}
_DURATIONS = frozenset(
    {"hour", "hours", "minute", "day", "days"}
)  # one of them, or a unit of time, is in every duration
_WHOLE = frozenset({"full", "solid", "good", "whole", "straight"})  # "a full hour"
_OPENS_A_DURATION = frozenset({"a", "an", "couple", "hour"})  # but for a number


@dataclass(frozen=True, slots=True)
class Price:
    start: int
    end: int
    dollars: float
    per: str | None  # "pound": a rate, not a total


@dataclass(frozen=True, slots=True)
class Duration:
    start: int
    end: int
    minutes: float
    days: float | None = None


def find_prices(passage: Passage, *, in_context: bool) -> list[Price]:
    """Numbers said as money, taken out of the way of the readings.

    First those with a money word; later, `in_context`, bare ones in a sentence that speaks of a price.
    """
    found: list[Price] = []
    lower = passage.lower
    if not in_context and "$" not in passage.vocabulary and passage.vocabulary.isdisjoint(_MONEY_WORDS):
        return found
    for number in passage.numbers:
        if not passage.free(number.start, number.end):
            continue
        start, end = number.start, number.end
        after = lower[end] if end < len(lower) else ""
        if start and lower[start - 1] == "$":
            start, scale = start - 1, 1000.0 if after == "grand" else 1.0
        elif after in _MONEY_WORDS:
            scale, end = _MONEY_WORDS[after], end + 1
        elif in_context and (
            _another_price(passage, number, found) or _priced(passage, number) or _after_an_offer(passage, number)
        ):
            scale = 1000.0 if _thousands_dropped(passage, number) else 1.0
        else:
            continue
        follow = lower[end : end + 2]
        per = (
            follow[1]
            if follow[:1] in (["a"], ["per"], ["an"]) and len(follow) > 1 and follow[1] in _PRICE["rate_of"]
            else None
        )
        found.append(Price(start, end, number.value * scale, per))
        passage.take(start, end)
    return found


def _after_an_offer(passage: Passage, number: Number) -> bool:
    """ "I wrote it up two ways. Metal return through the chart room, fourteen eighty. And a rack, two sixty." """
    if _OPENS_AN_OFFER not in passage.wordings:
        return False
    place = passage.sentence_of(number.start)
    start, end = passage.sentences[place]
    closes = passage.words(number.end, min(number.end + 1, end)) in ([], ["."], [","], ["and"], [";"])
    if number.value < 10 or number.end in passage.units or number.kind == "ordinal" or not closes:
        return False
    first = passage.sentences[max(0, place - 2)][0]
    opens = find_all(passage, _OPENS_AN_OFFER, first, number.start)
    if not opens or _named_just_before(passage, number) or number.start == start:
        return False
    return number.value >= 20 or _thousands_dropped(passage, number)


def _thousands_dropped(passage: Passage, number: Number) -> bool:
    """ "Whole new system eleven five": eleven thousand five hundred."""
    dear = {"system", "changeout", "unit", "furnace", "condenser", "whole"}
    said_so = len(number.parts) == 2 and number.value != int(number.value) and number.value < 100
    return said_so and not dear.isdisjoint(passage.words(number.start - 4, number.start))


def _another_price(passage: Passage, number: Number, found: list[Price]) -> bool:
    """ "Seventy nine for the cap and a hundred ten for the call": the next of a row that is told alike."""
    if not found or passage.sentence_of(found[-1].start) != passage.sentence_of(number.start):
        return False
    joined = passage.words(number.start - 1, number.start) in (["and"], [","], ["plus"])
    told_alike = passage.words(number.end, number.end + 2) in (["for", "the"], ["for", "a"], ["for", "my"])
    return joined and told_alike and passage.words(found[-1].end, found[-1].end + 1) == ["for"]


def _priced(passage: Passage, number: Number) -> bool:
    """A bare number is a price when the words right before it ask for money, or say what was quoted "for" it."""
    if number.end in passage.units or number.kind == "ordinal":
        return False
    start, end = passage.sentences[passage.sentence_of(number.start)]
    follow = passage.lower[number.end : number.end + 3]
    if follow[:1] in (["even"], ["flat"]):
        follow = follow[1:]
    last = passage.lower[number.start - 1] if number.start > start else ""
    asked = last.endswith(_LAST_WORDS) and " ".join(
        passage.lower[max(start, number.start - 4) : number.start]
    ).endswith(_RIGHT_BEFORE_A_LARGE_ONE if number.value >= 20 else _RIGHT_BEFORE)
    alone = number.value >= 20 and _stands_alone(passage, number, start, end)
    if not asked and not alone and not (follow[:1] == ["for"] and number.value >= 20):
        return False
    if follow[:2] in (["for", "another"], ["for", "one"]) and number.value >= 20:
        return True  # "fifteen hundred even for another return"
    if number.value >= 20 and passage.words(number.start - 3, number.start - 1) in _TOLD_THE:
        return True  # "gave the treasurer nineteen hundred for a new liner"
    offered = says_any(passage, _ANSWER["offered"], start, number.start)
    if offered and follow[:1] == ["for"] and number.value >= 20:
        return True  # "quoted the manager twenty four hundred for a new pad"
    asked_for = passage.words(number.start - 1, number.start) == ["for"]  # "a second return for nine hundred"
    agreed = any(says_any(passage, _ANSWER[kind], number.end, end) for kind in ("approved", "declined"))
    if not asked_for and not agreed and _named_just_before(passage, number):
        return False  # "the pressure's one twenty three", whatever else the sentence is about
    if (
        passage.words(number.end, number.end + 2) == ["for", "the"]
        and number.value >= 20
        and number.end + 2 in {s for s, _ in find_all(passage, _PARTS)}
    ):
        return True
    if asked or not alone:
        return asked
    answered = any(says_any(passage, says, start, end) for says in _ANSWER.values())
    if answered and says_any(passage, _PEOPLE, start, end):
        return True  # "the pump took it to 280" answers nobody
    sentence = f" {' '.join(passage.lower[start:end])} "
    return any(cue in sentence for cue in _PRICE["sentence"])


def _stands_alone(passage: Passage, number: Number, start: int, end: int) -> bool:
    """ "for nine hundred.": behind a word that leads to a price, and at the end of what is said of it."""
    if number.start == start or passage.lower[number.start - 1] not in _PRICE["lead"]:
        return False
    follow = passage.lower[number.end] if number.end < end else "."
    return not follow[0].isalpha() or follow in _PRICE["right_behind"]


def _named_just_before(passage: Passage, number: Number) -> bool:
    place = bisect.bisect_right(passage.names, number.start, key=lambda name: name.end) - 1
    if place < 0 or (end := passage.names[place].end) < number.start - 2:
        return False
    if best_sense(passage, passage.names[place].wordings, number, frozenset(), tight=False) is None:
        return False  # "new coil thirty one hundred"
    return _SAY_BETWEEN.issuperset(passage.words(end, number.start))  # "a new filter rack at 480" names no filter's


def take_offered_sizes(passage: Passage, prices: list[Price]) -> None:
    """ "A price on a four ton changeout": equipment that is only offered is not the system's own."""
    for number in passage.numbers:
        unit = passage.units.get(number.end)
        if unit is None or unit.kinds[0] != "ton":
            continue
        start, end = passage.sentences[passage.sentence_of(number.start)]
        offered = any(says_any(passage, says, start, number.start) for says in _OFFERED_OR_ANSWERED)
        for_sale = "new" in passage.words(number.start - 2, number.start) and any(
            number.end < price.start < end for price in prices
        )
        if offered and says_any(passage, _A_SYSTEM, number.end, end) or for_sale:
            passage.take(number.start, number.end)


def take_moments(passage: Passage, moments: list[Moment]) -> None:
    for moment in moments:
        if moment.sure:
            passage.take(moment.start, moment.end)


def find_durations(passage: Passage) -> list[Duration]:
    """ "ten minutes", "half an hour", "an hour and a quarter", "two and a half days"."""
    words = passage.lower
    units = passage.units.values()
    if _DURATIONS.isdisjoint(passage.vocabulary) and not any(unit.kinds[0] in _TIME_UNITS for unit in units):
        return []
    found: list[Duration] = []
    numbers = {number.start: number for number in passage.numbers}
    after = 0
    for at, word in enumerate(words):
        if at < after or at not in numbers and word not in _OPENS_A_DURATION:
            continue
        duration = _duration_at(passage, words, at, numbers)
        if duration and passage.free(duration.start, duration.end):
            found.append(duration)
            passage.take(duration.start, duration.end)
            after = duration.end
    return found


def _duration_at(passage: Passage, words: list[str], at: int, numbers: dict[int, Number]) -> Duration | None:
    number = numbers.get(at)
    if number and number.value == 0.5 and words[number.end : number.end + 2] in (["an", "hour"], ["a", "day"]):
        day = words[number.end + 1] == "day"
        return Duration(at, number.end + 2, 30.0, 0.5 if day else None)
    if number and number.value == 0.25 and words[number.end : number.end + 3] == ["of", "an", "hour"]:
        return Duration(at - 1 if words[at - 1 : at] == ["a"] else at, number.end + 3, 15.0)
    if number and number.value == 0.75 and words[number.end : number.end + 3] == ["of", "an", "hour"]:
        return Duration(at, number.end + 3, 45.0)
    if words[at] == "hour" and words[at + 1 : at + 2] == ["later"] and not (at and words[at - 1] in ("an", "half")):
        return Duration(at, at + 1, 60.0)
    if words[at : at + 2] in (["an", "hour"], ["a", "minute"], ["a", "day"]):
        end, minutes = at + 2, 60.0 if words[at + 1] == "hour" else 1.0
        if words[at + 1] == "day":
            return Duration(at, at + 2, 1440.0, 1.0)
        extra = _and_more(words, end)
        return Duration(at, extra[0], minutes * (1 + extra[1])) if extra else Duration(at, end, minutes)
    if words[at] == "a" and words[at + 1 : at + 2] and words[at + 1] in _WHOLE and words[at + 2 : at + 3] == ["hour"]:
        return Duration(at, at + 3, 60.0)
    if words[at : at + 3] in (["a", "couple", "of"], ["couple", "of", "hours"]) and "hours" in words[at : at + 4]:
        return Duration(at, at + words[at : at + 4].index("hours") + 1, 120.0)
    if number is None or number.kind == "ordinal":
        return None
    unit_at = number.end + 1 if words[number.end : number.end + 1] == ["-"] else number.end
    if words[unit_at : unit_at + 1] in (["day"], ["days"]) and number.value < 60:
        return Duration(at, unit_at + 1, number.value * 1440, number.value)
    unit = passage.units.get(unit_at)
    if unit is None or unit.kinds[0] not in _TIME_UNITS:
        return None
    minutes, end = number.value * _TIME_UNITS[unit.kinds[0]], unit.end
    if unit.kinds[0] == "h":
        extra = _and_more(words, end)
        if extra:
            return Duration(at, extra[0], minutes + 60 * extra[1])
        follow = end + 1 if words[end : end + 1] == ["and"] else end
        rest = numbers.get(follow)
        if rest and (rest_unit := passage.units.get(rest.end)) and rest_unit.kinds[0] == "min":
            return Duration(at, rest_unit.end, minutes + rest.value)
    return Duration(at, end, minutes)


def _and_more(words: list[str], at: int) -> tuple[int, float] | None:
    if words[at : at + 3] == ["and", "a", "half"]:
        return at + 3, 0.5
    if words[at : at + 3] == ["and", "a", "quarter"]:
        return at + 3, 0.25
    if words[at : at + 3] == ["and", "three", "quarters"]:
        return at + 3, 0.75
    return None


def take_counts_and_labels(passage: Passage) -> None:
    """Mark counts ("two rolls"), labels ("number two tips"), ordinals, ladder lengths and asides."""
    if not passage.numbers:
        return
    noun_starts = passage.cue_starts("count_noun") - {name.start for name in passage.names}
    label_ends = passage.cue_ends("label_before") | passage.cue_ends("lasted")
    set_points = passage.cue_ends("set_point_before")
    difference_ends, difference_starts = passage.cue_ends("difference_before"), passage.cue_starts("difference_after")
    dimensions = not _BY.isdisjoint(passage.vocabulary)
    ends = {unit.end for unit in passage.units.values()} if dimensions else set()
    for number in passage.numbers:
        if not passage.free(number.start, number.end):
            continue
        unit = passage.units.get(number.end)
        if (
            (unit is None and (number.end in noun_starts or number.start in label_ends))
            or number.start in set_points
            or number.start in difference_ends
            or (unit.end if unit else number.end) in difference_starts
            or number.kind == "ordinal"
            or _counts_ducts(passage, number)
            or dimensions and _in_a_dimension(passage, number, unit, ends)
            or _is_a_size_of_a_thing(passage, number, unit)
        ):
            passage.take(number.start, number.end)
    if "aside" in passage.cues or not _WEIGHED_OR_SUPPOSED.isdisjoint(passage.vocabulary):
        for start, end in passage.sentences:
            _take_weighed_and_supposed(passage, start, end)


def _take_weighed_and_supposed(passage: Passage, start: int, end: int) -> None:
    """ "the bottle weighs forty pounds", "if it were ten", and asides."""
    words, numbers = set(passage.lower[start:end]), passage.numbers_in(start, end)
    on_the_scale = "weighed" in words and not _CONTAINERS.isdisjoint(words) and not {"in", "out"} & words
    if {"tare", "weighs"} & words or on_the_scale:  # a cylinder on the scale, not what went in or came out
        for number in numbers:
            if (unit := passage.units.get(number.end)) and unit.kinds[0] in ("lb", "oz"):
                passage.take(number.start, number.end)
    if not _CAPACITORS.isdisjoint(words):
        _take_made_for_volts(passage, start, end)
    supposed = "if" in words and bool({"were", "would", "'d"} & words)
    for number in numbers:
        if number.end in passage.units:
            continue
        if supposed or passage.has_cue("aside", *_clause_of(passage, number.start, start, end)):
            passage.take(number.start, number.end)


def _take_made_for_volts(passage: Passage, start: int, end: int) -> None:
    """370 and 440 volts are what a capacitor is made for, whatever the line has."""
    for number in passage.numbers_in(start, end):
        unit = passage.units.get(number.end)
        if unit and unit.kinds[0] == "V" and number.value in (370, 440):
            passage.take(number.start, number.end)


def _clause_of(passage: Passage, token: int, start: int, end: int) -> tuple[int, int]:
    """Between the commas around a token; a number right behind a comma still belongs to what it follows."""
    first = next((i + 1 for i in range(token - 2, start - 1, -1) if passage.tokens[i] in ",;"), start)
    last = next((i for i in range(token, end) if passage.tokens[i] in ",;"), end)
    return first, last


def _counts_ducts(passage: Passage, number: Number) -> bool:
    """ "Two returns": how many there are; a recogniser's "75 returns" for "75 return's" is more than anybody has."""
    follow = passage.lower[number.end] if number.end < len(passage.lower) else ""
    return follow in _SEVERAL_DUCTS and number.value in range(1, 21)


def _in_a_dimension(passage: Passage, number: Number, unit, unit_ends: set[int]) -> bool:
    """ "a twenty by twenty grille": two numbers joined by "by" measure a thing."""
    lower, by, end = passage.lower, number.start - 1, unit.end if unit else number.end
    if by >= 0 and lower[by] in _BY and (by in unit_ends or passage.number_ending(by)):
        return True
    return end < len(lower) and lower[end] in _BY and bool(passage.numbers_in(end + 1, end + 2))


def _is_a_size_of_a_thing(passage: Passage, number: Number, unit) -> bool:
    """ "the eight foot ladder", "a 440 volt can": a size, then the thing that has it."""
    if unit is None or unit.kinds[0] not in _SIZED_THINGS:
        return False
    if unit.end == len(passage.lower) or passage.lower[unit.end] not in _SIZED_THINGS[unit.kinds[0]]:
        return False
    start = passage.sentences[passage.sentence_of(number.start)][0]
    behind = unit.end + (passage.lower[unit.end] == "of")  # "half an inch of static"
    before = passage.names_in(start, number.start)
    named = passage.name_at(behind) or any("line_set_length" in name.quantities() for name in before)
    return not named

"""Numbers that are not readings: prices, moments, counts, labels, addresses.

Each is marked as taken, so that nothing later can mistake it for a value. Prices are kept for agreements
and materials, durations for tests and labour.
"""

from __future__ import annotations

import bisect
from dataclasses import dataclass, replace

from assistant.understand.answers import ANSWER, STATUSES, answered_bare
from assistant.understand.bind import best_sense
from assistant.understand.clock import Moment
from assistant.understand.lexicon import wordings
from assistant.understand.number import Number
from assistant.understand.passage import Name, Passage
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, says_any
from assistant.units import quantities

_SAY_BETWEEN = frozenset(load_table("cues.toml")["filler"]["say"])
_LEADS_TO_A_VALUE = _SAY_BETWEEN | frozenset("told tell him her them , would be asked what".split())
_SAYS_ANEW = frozenset(", make it that i mean meant say call wait sorry no more like $ uh um".split())
_IN_AT, _WOULD_BE = frozenset({("in", "at"), ("in", "for")}), (["would", "be"], ["'d", "be"])
_SOMEBODY_IS = tuple(
    [who, be] for who in ("he", "she", "they", "owner", "manager") for be in ("'s", "'re", "is", "are")
)
_TOLD = wordings(["told", "telling", "gave", "quoted"])
_MONEY_WORDS = {"dollar": 1, "dollars": 1, "buck": 1, "bucks": 1, "grand": 1000, "cents": 0.01}
_PRICE = load_table("agreements.toml")["price"]
_RIGHT_BEFORE = tuple(_PRICE["right_before"])
_RIGHT_BEFORE_A_LARGE_ONE = (*_RIGHT_BEFORE, *_PRICE["right_before_a_large_one"])
_LAST_WORDS = tuple({said.split()[-1] for said in _RIGHT_BEFORE_A_LARGE_ONE})
_TOLD_THE = tuple([verb, "the"] for verb in load_table("agreements.toml")["people"]["told"])
_ANSWERS = tuple(ANSWER[kind] for kind in ("approved", "declined", "offered", "pending"))
_MEASURED = frozenset(
    "suction_pressure liquid_pressure suction_line_temp liquid_line_temp subcooling superheat vacuum_level"
    " test_pressure total_static_pressure system_airflow manifold_pressure gas_inlet_pressure flame_current".split()
)
_THATS = frozenset({"that", "yes", "no"})
_OPENS_TALK = wordings(_PRICE["opens_talk"])
_OPENS_AN_OFFER = wordings(_PRICE["opens"])
_PARTS = wordings(load_table("events.toml")["parts"]["nouns"])
_OFFERED_OR_ANSWERED = (*_ANSWERS, wordings(["changeout for", "price on"]))
_A_SYSTEM = wordings(["changeout", "ton", "system", "unit"])
_CAPACITORS = frozenset({"cap", "caps", "capacitor", "capacitors"})
_SEVERAL_DUCTS = frozenset(
    (
        "returns supplies registers grilles takeoffs runs drops branches boots vents diffusers ducts filters trunks"
        " plenums stacks lines"
    ).split()
)
_ONE_DUCT = frozenset({"return", "supply", "register", "grille", "takeoff", "run", "drop"})
_SORT_OF_DUCT = frozenset("supply return new old more round flex metal branch floor ceiling small big filter".split())
_BY = frozenset({"by", "x"})
_CONTAINERS = frozenset({"cylinder", "tank", "jug", "bottle", "drum"})
_WEIGHED_OR_SUPPOSED = _CAPACITORS | {"tare", "weighs", "weighed", "if"}
_SIZED_THINGS = load_table("cues.toml")["not_a_reading"]["sized_things"]  # by unit
_MEASURES_AIR = frozenset({"hood_airflow", "system_airflow"})
_ONLY = frozenset("only just about maybe right around roughly all of a barely exactly".split())  # before a sum
_SELLS = frozenset(load_table("cues.toml")["about"]["sells"])
_MOVES = frozenset("down up still sitting sits holding held holds stood standing stayed".split())
_TIME_UNITS = {"min": 1.0, "h": 60.0, "s": 1 / 60}
_DURATIONS = frozenset(
    {"hour", "hours", "minute", "day", "days"}
)  # one of them, or a unit of time, is in every duration
_WHOLE = frozenset({"full", "solid", "good", "whole", "straight"})  # "a full hour"
_AN_HOUR_ON = (["later"], ["'s", "up"], ["is", "up"], ["was", "up"], ["'s", "gone"])
_OPENS_A_DURATION = frozenset({"a", "an", "couple", "hour", "day"})  # but for a number


@dataclass(frozen=True, slots=True)
class Price:
    start: int
    end: int
    dollars: float
    per: str | None  # "pound": a rate, not a total
    put_right: tuple[int, int] | None = None  # ", no, make it 360", where that put it right: its tokens


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
        if not passage.free(number.start, number.end) or in_context and _read_off(passage, number):
            continue
        start, end = number.start, number.end
        after = lower[end] if end < len(lower) else ""
        if start and lower[start - 1] == "$":
            start, scale = start - 1, 1000.0 if after == "grand" else 1.0
        elif after in _MONEY_WORDS:
            scale, end = _MONEY_WORDS[after], end + 1
        elif in_context and (
            _another_price(passage, number, found)
            or _priced(passage, number)
            or _after_an_offer(passage, number, found)
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
        if number.value > 0:  # "$606$ minus nineteen" costs nobody anything
            found.append(Price(start, end, number.value * scale, per))
        passage.take(start, end)
    return found


def _after_an_offer(passage: Passage, number: Number, found: list[Price]) -> bool:
    """ "I wrote it up two ways. Metal return through the chart room, fourteen eighty. And a rack, two sixty."

    A list that is opened goes on while each of its sentences has a price; and what is told with its answer needs no
    opening: "Media cabinet, three ten, that's a yes".
    """
    place = passage.sentence_of(number.start)
    start, end = passage.sentences[place]
    follow = passage.words(number.end, min(number.end + 2, end))
    closes = (
        not follow or follow[0] in _PRICE["list_goes_on_with"] or follow[:2] in (["for", "the"], ["for", "everything"])
    )
    if number.value < 10 or number.end in passage.units or number.kind == "ordinal" or not closes:
        return False
    if number.start == start or _named_just_before(passage, number) or _named_before_a_comma(passage, number):
        return False  # "suction line, fifty three, no, fifty five" is no offer turned down
    if any(_MEASURED.intersection(name.quantities()) for name in passage.names_in(start, number.start)):
        return False  # "head's at three forty, no, three fifty", whatever was talked over before
    if number.value < 20 and not _thousands_dropped(passage, number):
        return False
    priced = {passage.sentence_of(price.start) for price in found}
    opened = place
    while opened - 1 in priced:
        opened -= 1
    first = passage.sentences[max(0, opened - 2)][0]
    if find_all(passage, _OPENS_AN_OFFER, first, number.start):
        return True
    if passage.lower[number.start - 1] not in _PRICE["list_leads"]:
        return False
    talk = number.value >= 100 and find_all(passage, _OPENS_TALK, first, number.start)
    return bool(talk or follow and _answered_behind(passage, number.end, end))


def _answered_behind(passage: Passage, start: int, end: int) -> bool:
    """Whether somebody's yes or no, or their waiting, follows in the same sentence."""
    if answered_bare(passage, start, end):
        return True
    by_somebody = says_any(passage, ANSWER["people"], start, end) or _THATS.intersection(passage.lower[start:end])
    return bool(by_somebody) and any(says_any(passage, says, start, end) for says in STATUSES.values())


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
    if number.end in passage.units or number.kind == "ordinal" or _is_the_value_of_a_name(passage, number):
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
    if number.value >= 20 and passage.words(number.start - 2, number.start) in _WOULD_BE:
        told = says_any(passage, _TOLD, start, number.start)  # "told her a second return would be nine hundred"
        asked = asked or told or _answered_behind(passage, number.end, end)
    if not asked and not alone and not (follow[:1] == ["for"] and number.value >= 20):
        return False
    if follow[:2] in (["for", "another"], ["for", "one"]) and number.value >= 20:
        return True  # "fifteen hundred even for another return"
    if number.value >= 20 and passage.words(number.start - 3, number.start - 1) in _TOLD_THE:
        return True  # "gave the treasurer nineteen hundred for a new liner"
    if (
        number.value >= 20
        and tuple(passage.words(number.start - 2, number.start)) in _IN_AT
        and _somebodys(passage, number)
    ):
        return True  # "he's in at six twenty for the return"
    offered = says_any(passage, ANSWER["offered"], start, number.start)
    if offered and follow[:1] == ["for"] and number.value >= 20:
        return True  # "quoted the manager twenty four hundred for a new pad"
    asked_for = passage.words(number.start - 1, number.start) == ["for"]  # "a second return for nine hundred"
    agreed = any(says_any(passage, ANSWER[kind], number.end, end) for kind in ("approved", "declined"))
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
    answered = any(says_any(passage, says, start, end) for says in _ANSWERS)
    if answered and says_any(passage, ANSWER["people"], start, end):
        return True  # "the pump took it to 280" answers nobody
    sentence = f" {' '.join(passage.lower[start:end])} "
    return any(cue in sentence for cue in _PRICE["sentence"])


def _somebodys(passage: Passage, number: Number) -> bool:
    return passage.words(number.start - 4, number.start - 2) in _SOMEBODY_IS


def _is_the_value_of_a_name(passage: Passage, number: Number) -> bool:
    """ "Told the owner head's 340, he said go ahead", "quoted 118 on the low side", "asked what the split is, told her
    19": an everyday value of what is named beside it, whoever answers."""
    start = passage.sentences[passage.sentence_of(number.start)][0]
    before = passage.names_in(start, number.start)
    if before and _LEADS_TO_A_VALUE.issuperset(passage.words(before[-1].end, number.start)):
        return _is_everyday(passage, before[-1], number)
    behind = number.end + 1 + (passage.words(number.end + 1, number.end + 2) == ["the"])
    on = passage.words(number.end, number.end + 1) == ["on"] and passage.name_at(behind)
    return bool(on) and not _MEASURED.isdisjoint(on.quantities()) and _is_everyday(passage, on, number)


def _is_everyday(passage: Passage, name: Name, number: Number) -> bool:
    """Whether a number is what the named quantity reads on any day; air is sold in returns, and may be a price."""
    sense = best_sense(passage, name.wordings, number, frozenset(), tight=False)
    if sense is None or sense.quantity.endswith("_airflow") or sense.quantity == "cooling_capacity":
        return False
    known = quantities()[sense.quantity]
    return known.likely_low <= sense.value <= known.likely_high


def put_prices_right(passage: Passage, prices: list[Price]) -> list[Price]:
    """ "Offered a cabinet for 310, no, 360": one offer, at what was said last; that "no" turns nothing down."""
    kept: list[Price] = []
    by_start = {price.start: price for price in prices}
    for price in sorted(prices, key=lambda price: price.start):
        if kept and kept[-1].put_right and price.start < kept[-1].put_right[1]:
            continue  # it put that one right
        end = passage.sentences[passage.sentence_of(price.start)][1]
        follow = next(iter(passage.numbers_in(price.end, end)), None)
        cue = follow and passage.first_cue("between", price.end, follow.start)
        if cue and _puts_a_price_right(passage, cue, follow):
            right = by_start.get(follow.start) or Price(follow.start, follow.end, follow.value, price.per)
            passage.set_aside(price.end, follow.start, but=frozenset())
            passage.take(right.start, right.end)
            price = replace(price, dollars=right.dollars, put_right=(cue[0] - 1, right.end))
        kept.append(price)
    return kept


def _puts_a_price_right(passage: Passage, cue: tuple[int, int], number: Number) -> bool:
    """Whether nothing but hesitation stands between the words that take a price back and a number that may be one."""
    if passage.words(cue[0] - 1, cue[0]) != [","] or not _SAYS_ANEW.issuperset(passage.words(cue[1], number.start)):
        return False
    named = passage.name_at(number.end) or _on_a_name(passage, number)
    return number.value >= 10 and number.kind != "ordinal" and number.end not in passage.units and not named


def _on_a_name(passage: Passage, number: Number) -> bool:
    on = passage.words(number.end, number.end + 1) in (["on"], ["of"])
    return (
        on and passage.name_at(number.end + 1 + (passage.words(number.end + 1, number.end + 2) == ["the"])) is not None
    )


def _stands_alone(passage: Passage, number: Number, start: int, end: int) -> bool:
    """ "for nine hundred.": behind a word that leads to a price, and at the end of what is said of it."""
    if number.start == start or passage.lower[number.start - 1] not in _PRICE["lead"]:
        return False
    follow = passage.lower[number.end] if number.end < end else "."
    return not follow[0].isalpha() or follow in _PRICE["right_behind"]


def _read_off(passage: Passage, number: Number) -> bool:
    """ "It's down at five thirty one and no, the sun didn't go in": a needle, and nobody's answer."""
    verb, at = passage.words(number.start - 2, number.start) if number.start > 1 else ("", "")
    return at == "at" and verb in _MOVES or what_air_comes_to(passage, number) is not None


def what_air_comes_to(passage: Passage, number: Number) -> Name | None:
    """ "Hung the hood on the return grilles and all told they only come to fourteen fifty": air, and no price.

    The hood or grid a bare number is the air of, named further ahead in its sentence; None where money is spoken of.
    """
    start = passage.sentences[passage.sentence_of(number.start)][0]
    opens = number.start
    while opens > start and passage.lower[opens - 1] in _ONLY:
        opens -= 1
    if number.end in passage.units or not passage.cue_ends_at("comes_to", opens):
        return None
    for name in reversed(passage.names_in(start, number.start)):
        if _MEASURES_AIR.issuperset(name.quantities()):
            around = passage.words(name.end, number.start) + passage.words(number.end, number.end + 6)
            between = " ".join(around).replace("all told", "")
            return name if _SELLS.isdisjoint(between.split()) else None
    return None


def _named_just_before(passage: Passage, number: Number) -> bool:
    place = bisect.bisect_right(passage.names, number.start, key=lambda name: name.end) - 1
    if place < 0 or (end := passage.names[place].end) < number.start - 2:
        return False
    if best_sense(passage, passage.names[place].wordings, number, frozenset(), tight=False) is None:
        return False  # "new coil thirty one hundred"
    return _SAY_BETWEEN.issuperset(passage.words(end, number.start))  # "a new filter rack at 480" names no filter's


def _named_before_a_comma(passage: Passage, number: Number) -> bool:
    """ "Suction line, fifty three": the name's own value, set off by a comma."""
    name = passage.name_ending(number.start - 1) if passage.lower[number.start - 1] == "," else None
    return name is not None and best_sense(passage, name.wordings, number, frozenset(), tight=False) is not None


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
    an_hour_on = words[at] == "hour" and any(words[at + 1 : at + 1 + len(on)] == on for on in _AN_HOUR_ON)
    if an_hour_on and not (at and words[at - 1] in ("an", "half")):
        return Duration(at, at + 1, 60.0)
    if words[at] in ("hour", "day") and (extra := _and_more(words, at + 1)) and not (at and words[at - 1] == "half"):
        return _of_one(at, extra[0], words[at], 1 + extra[1])  # "took me a good day and a half"
    if words[at : at + 2] in (["an", "hour"], ["a", "minute"], ["a", "day"]):
        end, minutes = at + 2, 60.0 if words[at + 1] == "hour" else 1.0
        extra = _and_more(words, end)
        if words[at + 1] == "day":
            return _of_one(at, extra[0] if extra else end, "day", 1 + extra[1] if extra else 1.0)
        if extra:
            return Duration(at, extra[0], minutes * (1 + extra[1]))
        rest = numbers.get(end + 1 if words[end : end + 1] == ["and"] else end)
        if rest and minutes == 60 and (unit := passage.units.get(rest.end)) and unit.kinds[0] == "min":
            return Duration(at, unit.end, minutes + rest.value)  # "an hour and ten minutes"
        return Duration(at, end, minutes)
    if words[at] == "a" and words[at + 1 : at + 2] and words[at + 1] in _WHOLE:
        extra = _and_more(words, at + 3) or (at + 3, 0.0)
        if words[at + 2 : at + 3] in (["hour"], ["day"]):
            return _of_one(at, extra[0], words[at + 2], 1 + extra[1])
    if words[at : at + 3] in (["a", "couple", "of"], ["couple", "of", "hours"]) and "hours" in words[at : at + 4]:
        return Duration(at, at + words[at : at + 4].index("hours") + 1, 120.0)
    if number is None or number.kind == "ordinal":
        return None
    unit_at = number.end + 1 if words[number.end : number.end + 1] == ["-"] else number.end
    if words[unit_at : unit_at + 1] in (["day"], ["days"]) and number.value < 60:
        extra = _and_more(words, unit_at + 1) or (unit_at + 1, 0.0)
        return _of_one(at, extra[0], "day", number.value + extra[1])
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


def _of_one(start: int, end: int, unit: str, how_many: float) -> Duration:
    day = unit == "day"
    return Duration(start, end, how_many * (1440 if day else 60), how_many if day else None)


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
            or unit is not None
            and unit.kinds[0] == "lb"
            and passage.words(unit.end, unit.end + 1) in (["low"], ["high"], ["down"])  # "two pounds low"
            or dimensions
            and _in_a_dimension(passage, number, unit, ends)
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
    at = number.end
    if number.value == 1 and not _ONE_DUCT.isdisjoint(passage.words(at, at + 1)):
        return True  # "the one return"
    while passage.words(at, at + 1) and passage.lower[at] in _SORT_OF_DUCT and at < number.end + 3:
        at += 1  # "9 supply takeoffs"
    if any(other.start == at + 1 for other in passage.numbers):
        return False  # a recogniser's "26 lines 241" for "26, line's 241"
    return number.value in range(1, 31) and not _SEVERAL_DUCTS.isdisjoint(passage.words(at, at + 1))


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

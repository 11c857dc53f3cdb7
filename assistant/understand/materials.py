"""Materials used, needed or ordered, and the hours the work took."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.records import DuctRun, Equipment, Labour, Material, Reading
from assistant.understand.claims import Duration, Price
from assistant.understand.events import Speech
from assistant.understand.lexicon import Spans, Wordings, lists_of, wordings
from assistant.understand.number import Number
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, none_said, says_any

_PEOPLE = wordings(["of us", "guys", "people", "men", "helpers", "man crew", "techs", "installers", "crew of"])
_AND_A_HELPER = wordings(["me and a", "me and my", "me and the", "both of us", "the two of us"])
_ALONE = wordings(["just me", "by myself", "solo", "all by myself", "working alone"])
_NO_LABOUR = wordings(["pump", "running", "hour drive", "minute drive", "overnight", "to hold", "to cool", "hold"])
_TO_COME = wordings(["will take", "'ll take", "going to take", "should take"])
_TABLE = load_table("materials.toml")
_TOOK = wordings(_TABLE["labour"]["took"])
_NOT_YET = wordings(_TABLE["not_yet"])
_STATUS = lists_of(_TABLE["status"])
_LIST = _TABLE["list"]
_LIST_OPENS = lists_of(_LIST["opens"])
_NO_LIST = wordings(_LIST["not_this"])
_STOPS, _CONTAINERS = frozenset(_LIST["stops"]), frozenset(_LIST["counted_in"])


@dataclass(frozen=True, slots=True)
class _Item:
    """One row of materials.toml."""

    name: str
    say: Wordings
    used: Wordings | None  # with one of these it counts though no number was said
    counted_in: Wordings | None
    counted_only: bool


_ITEMS = tuple(
    _Item(
        row["item"],
        wordings(row["say"]),
        wordings(row["used"]) if "used" in row else None,
        wordings(row["counted_in"]) if "counted_in" in row else None,
        row.get("counted_only", False),
    )
    for row in _TABLE["item"]
)
_AND = ([","], ["and"], ["plus"])
_BY = (["by"], ["x"])
_ME_AND = (["me", "and"], ["me", "plus"], ["myself", "and"])
_ITEM_SAYS = frozenset(item.say for item in _ITEMS)


def find_materials(
    speech: Speech, runs: list[DuctRun], readings: list[Reading], equipment: tuple[Equipment, ...], prices: list[Price]
) -> list[Material]:
    """Things named as used, needed or ordered; duct and refrigerant follow from their own records."""
    passage = speech.passage
    found: dict[str, Material] = {}
    items = [] if none_said(passage, _ITEM_SAYS) else [item for item in _ITEMS if item.say in passage.wordings]
    inner = _inside_another([span for item in items for span in find_all(passage, item.say)])
    for item in items:
        for start, end in find_all(passage, item.say):
            if (start, end) in inner:
                continue  # part of a longer wording: a filter grille is no filter
            place = passage.sentence_of(start)
            stretch = _stretch(speech, start, place)
            counted = _count(speech, item, stretch, start) or _count(speech, item, passage.sentences[place], start)
            used = item.used is not None and says_any(passage, item.used, *stretch)
            if (item.counted_only and counted is None) or not (used or counted) or item.name in found:
                continue
            if says_any(passage, _NOT_YET, *stretch):
                continue
            status = next((key for key, says in _STATUS.items() if says_any(passage, says, *stretch)), "used")
            quantity, unit = counted or (1.0, "ea")
            found[item.name] = Material(
                item.name, quantity, unit, status, _price(speech, prices, start, end), speech.context.note
            )
            passage.used_sentences.add(place)
    for material in [*_listed(speech, prices), *_contained(speech, prices)]:
        if not any(_same_item(material.item, known) for known in [*found, *_said_as(found)]):
            found[material.item] = material
    return [*_ducts(speech, runs), *_refrigerant(speech, readings, equipment), *found.values()]


def _inside_another(spans: Spans) -> set[tuple[int, int]]:
    """Those that stand within a longer one."""
    inner, reach = set(), 0
    for start, end in sorted(set(spans), key=lambda span: (span[0], -span[1])):
        if end <= reach:
            inner.add((start, end))
        reach = max(reach, end)
    return inner


def _said_as(found: dict[str, Material]) -> list[str]:
    """The wordings of the items that were found: "seven eighths copper" is the copper tubing."""
    return [said for item in _ITEMS if item.name in found for said in item.say.said]


def _listed(speech: Speech, prices: list[Price]) -> list[Material]:
    """ "Used forty feet of five eighths insulation and six hangers", "ordered two contactors": any counted thing."""
    passage = speech.passage
    found: list[Material] = []
    if none_said(passage, _LIST_OPENS.values()):
        return found
    money = {token for price in prices for token in range(price.start, price.end)}
    for start, end in passage.sentences:
        for status, says in _LIST_OPENS.items():
            cue = next((b for _, b in find_all(passage, says, start, end)), None)
            if cue is None or says_any(passage, _NO_LIST, start, end):
                continue
            for number in [*passage.numbers_in(cue, end), *_articles(passage, cue, end)]:
                if (
                    number.start in money
                    or number.start - cue > 25
                    or number.kind not in ("cardinal", "decimal")
                    or number.value > 500
                    or passage.words(number.start - 1, number.start) in _BY
                    or passage.words(number.end, number.end + 1) in _BY
                ):
                    continue
                item, unit = _thing(passage, number, end)
                if item:
                    found.append(
                        Material(
                            item,
                            number.value,
                            unit,
                            status,
                            _price(speech, prices, number.start, number.end),
                            speech.context.note,
                        )
                    )
                    passage.used_sentences.add(passage.sentence_of(start))
            break
    return found


def _contained(speech: Speech, prices: list[Price]) -> list[Material]:
    """ "Hosed it out, two jugs of cleaner": what is counted in containers was used, where nothing says otherwise."""
    passage = speech.passage
    found: list[Material] = []
    if _CONTAINERS.isdisjoint(passage.vocabulary):
        return found
    for number in passage.numbers:
        start, end = passage.sentences[passage.sentence_of(number.start)]
        if number.end >= end or passage.lower[number.end] not in _CONTAINERS or number.end in passage.units:
            continue
        item, unit = _thing(passage, number, end)
        asked = any(says_any(passage, says, start, end) for says in (_NOT_YET, _NO_LIST, *_STATUS.values()))
        if item and unit != "ea" and not asked:
            price = _price(speech, prices, number.start, number.end)
            found.append(Material(item, number.value, unit, "used", price, speech.context.note))
            passage.use(number.start)
    return found


def _articles(passage, start: int, end: int) -> list[Number]:
    """ "two elbows, a collar and one filter drier": an article counts one."""
    return [
        Number(at, at + 1, ((1.0, 1.0),), plain_article=True)
        for at in range(start, end)
        if passage.lower[at] in ("a", "an", "one")
        and passage.words(at - 1, at) in ([","], ["and"], ["were"], ["used"], ["need"], ["ordered"], ["plus"])
        and passage.number_ending(at) is None
    ]


def _thing(passage, number, end: int) -> tuple[str | None, str]:
    """(item, unit) behind a count: up to three words, after "feet of" or "rolls of"."""
    at, unit = number.end, "ea"
    spoken = passage.units.get(at)
    if spoken:
        if spoken.kinds[0] not in ("ft", "lb", "m"):
            return None, unit
        at, unit = spoken.end, spoken.kinds[0]
    elif passage.words(at, at + 1) and passage.lower[at] in _CONTAINERS and passage.words(at + 1, at + 2) == ["of"]:
        unit, at = _singular(passage.lower[at]), at + 1
    if passage.words(at, at + 1) == ["of"]:
        at += 1
    elif unit != "ea":
        return None, unit
    words: list[str] = []
    for word in passage.words(at, min(at + 7, end)):
        if word in _STOPS or not (word[0].isalpha() or word == "-"):
            break
        words.append(word)
    words = " ".join(words).replace(" - ", "-").split()
    if not words or len(words) > 4:
        return None, unit
    return " ".join([*words[:-1], _singular(words[-1])]), unit


def _singular(word: str) -> str:
    if word.endswith(("xes", "ches")):
        return word[:-2]
    return word[:-1] if word.endswith("s") and not word.endswith("ss") and len(word) > 3 else word


def _same_item(one: str, other: str) -> bool:
    return one.lower() in other.lower() or other.lower() in one.lower()


def _stretch(speech: Speech, token: int, place: int) -> tuple[int, int]:
    start, end = speech.passage.sentences[place]
    return next(((a, b) for a, b in speech.clauses(start, end) if a <= token < b), (start, end))


def _count(speech: Speech, item: _Item, stretch: tuple[int, int], at: int) -> tuple[float, str] | None:
    """How many of an item named at a token, and in what; of several counts the one right before it."""
    passage = speech.passage
    containers = find_all(passage, item.counted_in, *stretch) if item.counted_in else []
    for start, _ in sorted(containers, key=lambda span: (span[0] > at, abs(at - span[0]))):
        word = passage.lower[start]
        unit = "ft" if word in ("feet", "foot") else _singular(word)
        number = passage.number_ending(start)
        if number:
            return number.value, unit
        if passage.words(max(0, start - 1), start) == ["both"]:
            return 2.0, unit
        if passage.words(max(0, start - 1), start) in (["a"], ["one"], ["another"]):
            return 1.0, unit
    for start, _ in find_all(passage, item.say, *stretch):
        before = (passage.number_ending(start - 1), passage.number_ending(start))
        number = next((n for n in before if n and n.kind == "cardinal" and n.value < 100), None)
        if number and passage.words(number.start - 1, number.start) in _BY:
            number = _before_a_size(passage, number)
            return (number.value, "ea") if number else None
        if number and not item.counted_only and number.end == start:
            return number.value, "ea"
    return None


def _before_a_size(passage, number: Number) -> Number | None:
    """ "Two twenty by twenty five filters": the count that stands before the size."""
    first = passage.number_ending(number.start - 1)
    count = first and passage.number_ending(first.start)
    return count if count and count.value < 100 else None


def _ducts(speech: Speech, runs: list[DuctRun]) -> list[Material]:
    return [
        Material(
            f"{'x'.join(f'{s:g}' for s in run.size_in)} inch {run.material or ''} duct".replace("  ", " "),
            run.length_ft * run.count,
            "ft",
            "used",
            None,
            speech.context.note,
        )
        for run in runs
        if run.status == "added" and run.length_ft
    ]


def _refrigerant(speech: Speech, readings: list[Reading], equipment: tuple[Equipment, ...]) -> list[Material]:
    found = []
    known = {e.system: e.refrigerant for e in (*speech.context.job.equipment, *equipment) if e.refrigerant}
    for reading in readings:
        if reading.quantity == "refrigerant_added" and reading.status == "current" and reading.system in known:
            found.append(Material(known[reading.system], reading.value, "lb", "used", None, speech.context.note))
    return found


def _price(speech: Speech, prices: list[Price], start: int, end: int) -> float | None:
    """What was said for the thing at start..end: the price behind it, before the next thing; else none is written down.

    A price that stands before every thing of the sentence is only the one thing's that is there.
    """
    passage = speech.passage
    first, last = passage.sentences[passage.sentence_of(start)]
    own = [price for price in prices if first <= price.start < last and price.per is None]
    parts = {token for price in prices for token in range(price.start, price.end)}
    counts = [n.start for n in [*passage.numbers_in(first, last), *_articles(passage, first, last)]]
    others = [at for at in counts if at not in parts and not start - 2 <= at < end]
    behind = next((price for price in own if price.start >= end), None)
    if behind and not any(end <= at < behind.start and passage.words(at - 1, at) in _AND for at in others):
        return behind.dollars
    return own[0].dollars if own and not others else None


def find_labour(speech: Speech, durations: list[Duration], readings: list[Reading]) -> list[Labour]:
    """Hours or days the work took; how long a test stood or the system ran is not labour."""
    passage = speech.passage
    if not durations:
        return []
    tests = {r.position for r in readings if r.quantity == "test_duration"}
    found: list[Labour] = []
    places: list[tuple[int, float | None]] = []  # sentence and hours of each
    people = _people(speech)
    for duration in durations:
        place = passage.sentence_of(duration.start)
        start, end = passage.sentences[place]
        told_so = says_any(passage, _TOOK, max(start, duration.start - 6), min(end, duration.end + 6))
        if passage.offsets[duration.start][0] in tests or not (told_so or _alone_in_its_clause(speech, duration)):
            continue
        if duration.days and any(found_in == place and hours for found_in, hours in places):
            continue  # "nine and a half hours in it over the two days"
        if duration.minutes < 30 or says_any(passage, _NO_LABOUR, start, end):
            continue
        if says_any(passage, _TO_COME, start, end):
            continue
        what = _purpose(speech, place, duration)
        hours = None if duration.days else round(duration.minutes / 60, 4)
        found.append(Labour(hours, duration.days, people, what, speech.context.note))
        places.append((place, hours))
        passage.used_sentences.add(place)
    return found


def _alone_in_its_clause(speech: Speech, duration: Duration) -> bool:
    """ "Wheel's clean and back in, 4 hours." """
    start, end = speech.passage.sentences[speech.passage.sentence_of(duration.start)]
    closes = speech.passage.words(duration.end, end) in ([], ["."], ["!"])
    return closes and duration.start > start and speech.passage.words(duration.start - 1, duration.start) == [","]


def _people(speech: Speech) -> int | None:
    """How many worked: "three of us"; "me and two guys" is one more than is said, "just me" is one."""
    passage = speech.passage
    for start, _ in find_all(passage, _PEOPLE):
        number = passage.number_ending(start)
        if number and number.value == int(number.value) and 1 <= number.value <= 30:
            return int(number.value) + (passage.words(number.start - 2, number.start) in _ME_AND)
    if says_any(passage, _AND_A_HELPER):
        return 2
    return 1 if says_any(passage, _ALONE) else None


def _purpose(speech: Speech, place: int, duration: Duration) -> str:
    """What the hours went into: the sentence they stand in, else the one before."""
    passage = speech.passage
    start, end = passage.sentences[place]
    own = passage.said(start, end).strip(" .")
    if len(own.split()) > 5 or place == 0:
        return own
    return f"{passage.said(*passage.sentences[place - 1]).strip(' .')}; {own}"

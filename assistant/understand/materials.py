"""Materials used, needed or ordered, and the hours the work took."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass

from assistant.records import DuctRun, Equipment, Labour, Material, Reading
from assistant.understand.claims import Duration, Price
from assistant.understand.counts_said import ADJECTIVES, counts_in, held_in, past_adjectives, singular
from assistant.understand.events import Speech
from assistant.understand.goods_listed import contained, cues_of, listed, price_of
from assistant.understand.lexicon import Spans, Wordings, lists_of, wordings
from assistant.understand.passage import LONGEST_UNIT, Passage
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, none_said, says_any

_TABLE = load_table("materials.toml")
_LABOUR = _TABLE["labour"]
_TOOK, _PEOPLE, _ALONE, _TWO_OF_US, _ME_AND_SOMEBODY, _NO_LABOUR, _TO_COME, _GUESSED, _OF_A_TEST, _WHOSE_HOURS = (
    wordings(_LABOUR[key])
    for key in (
        "took", "people", "alone", "two_of_us", "me_and", "not_this", "to_come", "guessed", "of_a_test", "whose"
    )
)  # fmt: skip
_SAYS_NOTHING, _OPENS_A_PERSON = frozenset(_LABOUR["says_nothing"]), frozenset(_LABOUR["opens_a_person"])
_IN_HOURS = frozenset({"hour", "hours", "hr", "hrs", "h"})
_GOES_ON_TO = ([","], ["and"], ["plus"], ["another"])
_NOT_YET = wordings(_TABLE["not_yet"])
_STATUS = lists_of(_TABLE["status"])
_REPLACED_IT, _ALL_OF_THEM = wordings(_TABLE["replaced_it"]["say"]), wordings(_TABLE["replaced_it"]["all"])
_PLACE = tuple([word] for word in _TABLE["replaced_it"]["place"])
_DONE = (*_STATUS.values(), _ALL_OF_THEM, wordings(["new", "changed", "swapped", "replaced"]))
_JOINS = frozenset({",", "and", "for", "on", "with", "to", "in"})
_NEAR = 25  # tokens on in which "it" still stands for a part


@dataclass(frozen=True, slots=True)
class _Item:
    """One row of materials.toml."""

    name: str
    say: Wordings
    used: Wordings | None  # with one of these it counts though no number was said
    counted_in: Wordings | None
    counted_only: bool


def _one_and_several(row: dict) -> list[str]:
    """What counts by the piece is said of several, too."""
    several = (
        [] if row.get("counted_only") else [f"{said}{'es' if said.endswith('ch') else 's'}" for said in row["say"]]
    )
    return list(dict.fromkeys([*row["say"], *(said for said in several if not said.endswith("ss"))]))


_ITEMS = tuple(
    _Item(
        row["item"],
        wordings(_one_and_several(row)),
        wordings(row["used"]) if "used" in row else None,
        wordings(row["counted_in"]) if "counted_in" in row else None,
        row.get("counted_only", False),
    )
    for row in _TABLE["item"]
)
_ME_AND = (["me", "and"], ["me", "plus"], ["myself", "and"])
_AND_ME = (["and", "me"], ["and", "i"], ["and", "myself"])
_ITEM_SAYS = frozenset(item.say for item in _ITEMS)


def find_materials(
    speech: Speech, runs: list[DuctRun], readings: list[Reading], equipment: tuple[Equipment, ...], prices: list[Price]
) -> list[Material]:
    """Things named as used, needed or ordered; duct and refrigerant follow from their own records."""
    passage = speech.passage
    found: dict[str, Material] = {}
    items = [] if none_said(passage, _ITEM_SAYS) else [item for item in _ITEMS if item.say in passage.wordings]
    spans = sorted({span for item in items for span in find_all(passage, item.say)})
    inner = _inside_another(spans)
    for item in items:
        for start, end in find_all(passage, item.say):
            if (start, end) in inner:
                continue  # part of a longer wording: a filter grille is no filter
            place = passage.sentence_of(start)
            stretch = _stretch(speech, start, place)
            sentence = passage.sentences[place]
            told_in = stretch
            if (counted := _count(speech, item, stretch, start, end)) is None:
                told_in = sentence if (counted := _count(speech, item, sentence, start, end)) else stretch
            only_a_place = passage.words(_article_before(passage, start) - 1, _article_before(passage, start)) in _PLACE
            used = item.used is not None and says_any(passage, item.used, *stretch) and not only_a_place
            used = used or (item.used is not None and _replaced_it(passage, spans, end))
            told = used or item.counted_only or _is_told_of(passage, *sentence)
            counted = counted if told else None
            uncounted = item.counted_only or passage.lower[end - 1].endswith("s")  # "replaced the igniters"
            if (uncounted and counted is None) or not (used or counted) or item.name in found:
                continue
            if says_any(passage, _NOT_YET, *stretch):
                continue
            status = next((key for key, says in _STATUS.items() if says_any(passage, says, *told_in)), "used")
            quantity, unit, size = counted or (1.0, "ea", "")
            found[item.name] = Material(
                f"{size} {item.name}".strip(),
                quantity,
                unit,
                status,
                price_of(speech, prices, start, end),
                speech.context.note,
            )
            passage.used_sentences.add(place)
    for material in [*listed(speech, prices), *contained(speech, prices)]:
        if not any(_same_item(material.item, known) for known in [*found, *_said_as(found)]):
            found[material.item] = material
    return [*_ducts(speech, runs), *_refrigerant(speech, readings, equipment), *found.values()]


def _inside_another(spans: Spans) -> set[tuple[int, int]]:
    """Those that stand within a longer one."""
    inner, reach = set(), 0
    for start, end in sorted(spans, key=lambda span: (span[0], -span[1])):
        if end <= reach:
            inner.add((start, end))
        reach = max(reach, end)
    return inner


def _article_before(passage: Passage, at: int) -> int:
    return at - 1 if passage.words(at - 1, at) in (["the"], ["a"], ["an"], ["both"], ["each"]) else at


def _replaced_it(passage: Passage, spans: Spans, end: int) -> bool:
    """ "Contactor's welded, changed it out": before any other part is named."""
    if _REPLACED_IT not in passage.wordings:
        return False
    follow = bisect_left(spans, (end,))
    stop = spans[follow][0] if follow < len(spans) else len(passage.lower)
    return any(a - end <= _NEAR for a, _ in find_all(passage, _REPLACED_IT, end, stop))


def _is_told_of(passage: Passage, start: int, end: int) -> bool:
    """Whether the sentence says what became of things; "there's two filters in it" does not."""
    return bool(cues_of(passage, start, end)) or any(says_any(passage, says, start, end) for says in _DONE)


def _said_as(found: dict[str, Material]) -> list[str]:
    """The wordings of the items that were found: "seven eighths copper" is the copper tubing."""
    return [said for item in _ITEMS if item.name in found for said in item.say.said]


def _same_item(one: str, other: str) -> bool:
    return one.lower() in other.lower() or other.lower() in one.lower()


def _stretch(speech: Speech, token: int, place: int) -> tuple[int, int]:
    start, end = speech.passage.sentences[place]
    return next(((a, b) for a, b in speech.clauses(start, end) if a <= token < b), (start, end))


def _count(
    speech: Speech, item: _Item, stretch: tuple[int, int], start: int, end: int
) -> tuple[float, str, str] | None:
    """How many of an item named at start..end, in what, and of which size."""
    passage = speech.passage
    for count in reversed(counts_in(passage, max(stretch[0], start - 10), start)):
        held = held_in(passage, count, start)
        between = passage.words(held[0], start) if held else [","]
        if held is None or not _JOINS.isdisjoint(between):
            continue
        if held[1] != "ea" and len(between) <= 4:
            return held[2], held[1], ""
        if item.counted_only or held[1] != "ea" or not _all_sizes(passage, held[0], start):
            continue
        several = passage.lower[end - 1].endswith("s")
        if count.value == 1 or (several and count.value == int(count.value)):
            return count.value, "ea", _size_said(passage, held[0], start)
        return None  # "a forty five cap": its size
    return _count_behind(passage, item, stretch, end)


def _size_said(passage: Passage, start: int, end: int) -> str:
    """ "Eight inch" of "eight inch boots"."""
    start = past_adjectives(passage, start, end)
    sized = start < end and bool(passage.numbers_in(start, end)) and _all_sizes(passage, start, end)
    return passage.said(start, end).lower() if sized else ""


def _all_sizes(passage: Passage, start: int, end: int) -> bool:
    """Only adjectives and sizes between a count and its thing: "two new one inch filters", "three 20x25x4 filters"."""
    sizes = {token for n in passage.numbers_in(start, end) for token in range(n.start, n.end)}
    units = [passage.units[at] for at in range(max(0, start - LONGEST_UNIT), end) if at in passage.units]
    sizes |= {token for unit in units for token in range(unit.start, unit.end)}
    return all(at in sizes or passage.lower[at] in ADJECTIVES | {"by", "x", "-"} for at in range(start, end))


def _count_behind(passage: Passage, item: _Item, stretch: tuple[int, int], end: int) -> tuple[float, str, str] | None:
    """ "Trunk's wrapped too, both rolls", "the filters were black and I changed all four"."""
    for count in counts_in(passage, end, stretch[1]):
        held = held_in(passage, count, stretch[1])
        at = past_adjectives(passage, count.end, stretch[1])
        if item.counted_in and any(a == at for a, _ in find_all(passage, item.counted_in, at, stretch[1])):
            of_another = held is not None and passage.words(held[0] - 1, held[0]) == ["of"]
            unit = passage.lower[at]
            if not of_another:
                return count.value, "ft" if unit in ("feet", "foot") else singular(unit), ""
        if passage.lower[end - 1].endswith("s") and any(b == count.start for _, b in find_all(passage, _ALL_OF_THEM)):
            return count.value, "ea", ""
    return None


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
        if run.status == "added" and run.length_ft and run.shape == "round"
    ]


def _refrigerant(speech: Speech, readings: list[Reading], equipment: tuple[Equipment, ...]) -> list[Material]:
    found = []
    known = {e.system: e.refrigerant for e in (*speech.context.job.equipment, *equipment) if e.refrigerant}
    for reading in readings:
        if reading.quantity == "refrigerant_added" and reading.status == "current" and reading.system in known:
            found.append(Material(known[reading.system], reading.value, "lb", "used", None, speech.context.note))
    return found


def find_labour(speech: Speech, durations: list[Duration], readings: list[Reading]) -> list[Labour]:
    """Hours or days the work took; how long a test stood or the system ran is not labour."""
    passage = speech.passage
    if not durations:
        return []
    tests = {r.position for r in readings if r.quantity == "test_duration"}
    found: list[Labour] = []
    places: list[tuple[int, float | None]] = []  # sentence and hours of each
    people = _people(passage)
    for duration in durations:
        place = passage.sentence_of(duration.start)
        start, end = passage.sentences[place]
        told_so = says_any(passage, _TOOK, max(start, duration.start - 6), min(end, duration.end + 6))
        told_so = told_so or _alone_in_its_clause(passage, duration) or _alone_in_its_sentence(passage, duration, place)
        if passage.offsets[duration.start][0] in tests or not told_so:
            continue
        if duration.days and any(found_in == place and hours for found_in, hours in places):
            continue  # "nine and a half hours in it over the two days"
        if duration.minutes < 30 or says_any(passage, _NO_LABOUR, start, end):
            continue
        if says_any(passage, _TO_COME, start, end) or says_any(passage, _GUESSED, start, duration.start):
            continue
        what = _purpose(speech, place, duration)
        hours = None if duration.days else round(duration.minutes / 60, 4)
        found.append(Labour(hours, duration.days, people, what, speech.context.note))
        found += [Labour(more, None, None, what, speech.context.note) for more in _more_hours(passage, duration, end)]
        places.append((place, hours))
        passage.used_sentences.add(place)
    return found


def _alone_in_its_clause(passage: Passage, duration: Duration) -> bool:
    """ "Wheel's clean and back in, 4 hours." """
    start, end = passage.sentences[passage.sentence_of(duration.start)]
    closes = passage.words(duration.end, end) in ([], ["."], ["!"])
    return closes and duration.start > start and passage.words(duration.start - 1, duration.start) == [","]


def _alone_in_its_sentence(passage: Passage, duration: Duration, place: int) -> bool:
    """ "4.5 hours." after work; after a test it is how long that was held."""
    start, end = passage.sentences[place]
    rest = [*passage.words(start, duration.start), *passage.words(duration.end, end)]
    in_hours = duration.days or not _IN_HOURS.isdisjoint(passage.words(duration.start, duration.end))
    before = passage.sentences[place - 1] if place else (0, 0)
    after = passage.sentences[place + 1] if place + 1 < len(passage.sentences) else (0, 0)
    tested = any(says_any(passage, _OF_A_TEST, *stretch) for stretch in (before, after))
    opens = duration.start == start and passage.words(duration.end, duration.end + 1) in ([","], ["all"])
    said_alone = _SAYS_NOTHING.issuperset(rest) or opens and not passage.numbers_in(duration.end, end)
    return bool(in_hours) and place > 0 and not tested and said_alone


def _more_hours(passage: Passage, duration: Duration, end: int) -> list[float]:
    """ "Six hours today, four yesterday", "eight hours for me and six for the helper": hours not called so again."""
    if duration.days or _IN_HOURS.isdisjoint(passage.words(duration.start, duration.end)):
        return []
    return [
        number.value
        for number in passage.numbers_in(duration.end, end)
        if number.kind in ("cardinal", "decimal")
        and number.value <= 24
        and number.end not in passage.units
        and passage.words(number.start - 1, number.start) in _GOES_ON_TO
        and any(a == number.end for a, _ in find_all(passage, _WHOSE_HOURS, number.end, end))
    ]


def _people(passage: Passage) -> int | None:
    """How many worked: "three of us"; "me and two guys" is one more than is said, "just me" is one."""
    for start, stop in find_all(passage, _PEOPLE):
        number = passage.number_ending(start)
        if number and number.value == int(number.value) and 1 <= number.value <= 30:
            at = number.start - (passage.words(number.start - 1, number.start) in (["the"], ["my"]))
            with_me = passage.words(at - 2, at) in _ME_AND or passage.words(stop, stop + 2) in _AND_ME
            return int(number.value) + with_me
    if any(_is_one_person(passage, stop) for _, stop in find_all(passage, _ME_AND_SOMEBODY)):
        return 2
    if says_any(passage, _TWO_OF_US):
        return 2
    return 1 if says_any(passage, _ALONE) else None


def _is_one_person(passage: Passage, at: int) -> bool:
    """ "Me and the apprentice", "me and a young helper"; how many "me and the boys" are, nobody said."""
    noun = next(
        (i for i in range(at, at + 3) if passage.words(i, i + 1) and passage.lower[i] not in _OPENS_A_PERSON), at
    )
    word = " ".join(passage.words(noun, noun + 1))
    behind = passage.words(noun + 1, noun + 2)
    several = word.endswith("s") or word in ("crew", "guys", "men") or behind in (["and"], ["plus"])
    named = noun > at or word in ("him", "her") or passage.tokens[noun : noun + 1] != passage.lower[noun : noun + 1]
    return word.isalpha() and named and not several


def _purpose(speech: Speech, place: int, duration: Duration) -> str:
    """What the hours went into: the sentence they stand in, else the one before."""
    passage = speech.passage
    start, end = passage.sentences[place]
    own = passage.said(start, end).strip(" .")
    if len(own.split()) > 5 or place == 0:
        return own
    return f"{passage.said(*passage.sentences[place - 1]).strip(' .')}; {own}"

"""Materials used, needed or ordered, and the hours the work took."""

from __future__ import annotations

from assistant.records import DuctRun, Equipment, Labour, Material, Reading
from assistant.understand.claims import Duration, Price
from assistant.understand.events import Speech
from assistant.understand.numbers import Number
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, says_any

_TOOK = [
    "of us",
    "for the whole",
    "took",
    "spent",
    "hours on",
    "hours in",
    "hours with",
    "all told",
    "on this one",
    "put in",
    "worked",
    "been at it",
    "hours today",
    "hours of",
    "we were at it",
    "labor",
    "burned",
    "in all",
    "start to finish",
    "total time",
    "on site for",
    "hours for",
    "days on",
    "hours so far",
    "days total",
    "hours total",
    "that was",
    "man hours",
    "hours each",
    "log",
    "write down",
    "put down",
    "clocked in for",
    "just me",
    "by myself",
    "solo",
    "call it",
    "both of us",
]
_PEOPLE = ["of us", "guys", "people", "men", "helpers", "man crew", "techs", "installers", "crew of"]


def find_materials(
    speech: Speech, runs: list[DuctRun], readings: list[Reading], equipment: tuple[Equipment, ...], prices: list[Price]
) -> list[Material]:
    """Things named as used, needed or ordered; duct and refrigerant follow from their own records."""
    table, passage = load_table("materials.toml"), speech.passage
    found: dict[str, Material] = {}
    spans = [(a, b) for row in table["item"] for a, b in find_all(passage, row["say"])]
    for row in table["item"]:
        for start, end in find_all(passage, row["say"]):
            if any(a <= start and end <= b and (a, b) != (start, end) for a, b in spans):
                continue  # part of a longer wording: a filter grille is no filter
            place = passage.sentence_of(start)
            stretch = _stretch(speech, start, place)
            counted = _count(speech, row, stretch) or _count(speech, row, passage.sentences[place])
            used = "used" in row and says_any(passage, row["used"], *stretch)
            if (row.get("counted_only") and counted is None) or not (used or counted) or row["item"] in found:
                continue
            if says_any(passage, ["quoted", "quote", "price", "would", "maybe"], *stretch):
                continue
            status = next((key for key, says in table["status"].items() if says_any(passage, says, *stretch)), "used")
            quantity, unit = counted or (1.0, "ea")
            found[row["item"]] = Material(
                row["item"], quantity, unit, status, _price(prices, passage.sentences[place]), speech.context.note
            )
            passage.used_sentences.add(place)
    for material in _listed(speech, prices):
        if not any(_same_item(material.item, known) for known in found):
            found[material.item] = material
    return [*_ducts(speech, runs), *_refrigerant(speech, readings, equipment), *found.values()]


def _listed(speech: Speech, prices: list[Price]) -> list[Material]:
    """ "Used forty feet of five eighths insulation and six hangers", "ordered two contactors": any counted thing."""
    table, passage = load_table("materials.toml")["list"], speech.passage
    found = []
    for start, end in passage.sentences:
        for status, says in table["opens"].items():
            cue = next((b for _, b in find_all(passage, says, start, end)), None)
            if cue is None or says_any(passage, table["not_this"], start, end):
                continue
            for number in [*passage.numbers, *_articles(passage, cue, end)]:
                if (
                    not cue <= number.start < end
                    or number.start - cue > 25
                    or number.kind not in ("cardinal", "decimal")
                    or number.value > 500
                ):
                    continue
                item, unit = _thing(passage, number, end, set(table["stops"]), set(table["counted_in"]))
                if item:
                    found.append(
                        Material(item, number.value, unit, status, _price(prices, (start, end)), speech.context.note)
                    )
                    passage.used_sentences.add(passage.sentence_of(start))
            break
    return found


def _articles(passage, start: int, end: int) -> list[Number]:
    """ "two elbows, a collar and one filter drier": an article counts one."""
    ends = {number.end for number in passage.numbers}
    return [
        Number(at, at + 1, ((1.0, 1.0),), plain_article=True)
        for at in range(start, end)
        if passage.doc[at].lower_ in ("a", "an", "one")
        and passage.words(at - 1, at) in ([","], ["and"], ["were"], ["used"], ["need"], ["ordered"], ["plus"])
        and at not in ends
    ]


def _thing(passage, number, end: int, stops: set[str], containers: set[str]) -> tuple[str | None, str]:
    """(item, unit) behind a count: up to three words, after "feet of" or "rolls of"."""
    at, unit = number.end, "ea"
    spoken = passage.units.get(at)
    if spoken:
        if spoken.kinds[0] not in ("ft", "lb", "m"):
            return None, unit
        at, unit = spoken.end, spoken.kinds[0]
    elif passage.words(at, at + 1) and passage.doc[at].lower_ in containers and passage.words(at + 1, at + 2) == ["of"]:
        unit, at = _singular(passage.doc[at].lower_), at + 1
    if passage.words(at, at + 1) == ["of"]:
        at += 1
    elif unit != "ea":
        return None, unit
    words: list[str] = []
    for word in passage.words(at, min(at + 7, end)):
        if word in stops or not (word[0].isalpha() or word == "-"):
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


def _count(speech: Speech, row, stretch: tuple[int, int]) -> tuple[float, str] | None:
    passage = speech.passage
    for start, _ in find_all(passage, row.get("counted_in", []), *stretch):
        word = passage.doc[start].lower_
        unit = "ft" if word in ("feet", "foot") else _singular(word)
        number = next((n for n in passage.numbers if n.end == start), None)
        if number:
            return number.value, unit
        if passage.words(max(0, start - 1), start) == ["both"]:
            return 2.0, unit
        if passage.words(max(0, start - 1), start) in (["a"], ["one"], ["another"]):
            return 1.0, unit
    for start, _ in find_all(passage, row["say"], *stretch):
        number = next(
            (n for n in passage.numbers if n.end in (start, start - 1) and n.kind == "cardinal" and n.value < 100), None
        )
        if number and not row.get("counted_only") and number.end == start:
            return number.value, "ea"
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
        if run.status == "added" and run.length_ft
    ]


def _refrigerant(speech: Speech, readings: list[Reading], equipment: tuple[Equipment, ...]) -> list[Material]:
    found = []
    known = {e.system: e.refrigerant for e in (*speech.context.job.equipment, *equipment) if e.refrigerant}
    for reading in readings:
        if reading.quantity == "refrigerant_added" and reading.status == "current" and reading.system in known:
            found.append(Material(known[reading.system], reading.value, "lb", "used", None, speech.context.note))
    return found


def _price(prices: list[Price], sentence: tuple[int, int]) -> float | None:
    return next((p.dollars for p in prices if sentence[0] <= p.start < sentence[1] and p.per is None), None)


def find_labour(speech: Speech, durations: list[Duration], readings: list[Reading]) -> list[Labour]:
    """Hours or days the work took; how long a test stood or the system ran is not labour."""
    passage = speech.passage
    tests = {r.position for r in readings if r.quantity == "test_duration"}
    found = []
    people = _people(speech)
    for duration in durations:
        place = passage.sentence_of(duration.start)
        start, end = passage.sentences[place]
        if passage.offsets[duration.start][0] in tests or not says_any(
            passage, _TOOK, max(start, duration.start - 6), min(end, duration.end + 6)
        ):
            continue
        if duration.minutes < 30 or says_any(
            passage,
            ["pump", "running", "hour drive", "minute drive", "overnight", "to hold", "to cool", "hold"],
            start,
            end,
        ):
            continue
        if says_any(passage, ["will take", "'ll take", "going to take", "should take"], start, end):
            continue
        what = _purpose(speech, place, duration)
        hours = None if duration.days else round(duration.minutes / 60, 4)
        found.append(Labour(hours, duration.days, people, what, speech.context.note))
        passage.used_sentences.add(place)
    return found


def _people(speech: Speech) -> int | None:
    for start, _ in find_all(speech.passage, _PEOPLE):
        number = next((n for n in speech.passage.numbers if n.end == start and n.value == int(n.value)), None)
        if number and 1 <= number.value <= 30:
            return int(number.value)
    return None


def _purpose(speech: Speech, place: int, duration: Duration) -> str:
    """What the hours went into: the sentence they stand in, else the one before."""
    passage = speech.passage
    start, end = passage.sentences[place]
    own = passage.said(start, end).strip(" .")
    if len(own.split()) > 5 or place == 0:
        return own
    return f"{passage.said(*passage.sentences[place - 1]).strip(' .')}; {own}"

"""Duct runs: how many, which size, what they are made of, which side, and whether they are there yet."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace

from assistant.records import DuctRun, Reading
from assistant.understand.context import Context
from assistant.understand.lexicon import lists_of, wordings
from assistant.understand.number import Number
from assistant.understand.passage import Passage
from assistant.understand.systems import SystemMention, system_at
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, says_any, which

_DIAMETERS = range(3, 37)  # inches a round duct comes in
_MOST_RUNS = 24
_TABLE = load_table("ducts.toml")
_DUCT, _OVAL = wordings(_TABLE["words"]["duct"]), wordings(_TABLE["words"]["oval"])
_COUNTED = frozenset(_TABLE["words"]["counted"])
_SIDE = lists_of(_TABLE["side"])
_MATERIAL = lists_of(_TABLE["material"])
_STATUS = lists_of(_TABLE["status"])
_ONLY_PROPOSED = wordings(["quoted", "would", "to add", "could add", "price", "i'd", "that'd", "could", "should"])
_NEEDED = wordings(["need", "order", "ordered", "pick up", "bring", "short"])
_NEW_WORK = wordings(["all new ductwork", "all new duct", "all new ducts", "new ductwork"])
_IS = (["is"], ["'s"], ["went"], ["goes"])
_PRICED = wordings(["quoted", "priced", "quote", "would run", "will run", "gonna run", "gave", "bid"])


@dataclass(frozen=True, slots=True)
class _Size:
    start: int
    end: int
    count: int | None
    inches: tuple[float, ...]
    shape: str


def find_duct_runs(passage: Passage, context: Context, systems: list[SystemMention]) -> list[DuctRun]:
    """Every run or group of equal runs; their counts, sizes and lengths are taken out of the readings' way."""
    runs: list[DuctRun] = []
    if _DUCT not in passage.wordings:
        return runs
    known = {side for run in context.job.duct_runs for side in run.size_in if run.shape == "round"}
    for place, (start, end) in enumerate(passage.sentences):
        sizes = _sizes(passage, start, end, known)
        for number, size in enumerate(sizes):
            left = sizes[number - 1].end if number else start
            right = sizes[number + 1].start if number + 1 < len(sizes) else end
            run = _run(passage, context, systems, size, place, left, right, runs, alone=len(sizes) == 1)
            if run:
                runs.append(run)
                passage.take(size.start, size.end)
                passage.use(size.start)
    return runs


def with_airflow(runs: list[DuctRun], readings: list[Reading], passage: Passage) -> tuple[DuctRun, ...]:
    """An airflow measured in the same sentence for the runs as a group belongs to them too."""
    table = {"return": "return_airflow", "supply": "supply_airflow"}
    if not runs:
        return ()
    opens = [passage.offsets[start][0] for start, _ in passage.sentences]
    last = {
        (r.quantity, bisect_right(opens, r.position)): r.value
        for r in readings
        if r.status == "current" and r.quantity in table.values()
    }
    found: list[DuctRun] = []
    for run in runs:
        airflow = last.get((table[run.side], bisect_right(opens, passage.text.find(run.said))))
        found.append(replace(run, airflow_cfm=airflow) if airflow is not None and run.status == "existing" else run)
    return tuple(found)


# ---------------------------------------------------------------- sizes


def _sizes(passage: Passage, start: int, end: int, known: set[float]) -> list[_Size]:
    numbers = [n for n in passage.numbers_in(start, end) if passage.free(n.start, n.end)]
    found: list[_Size] = []
    for place, number in enumerate(numbers):
        follow = numbers[place + 1] if place + 1 < len(numbers) else None
        previous = numbers[place - 1] if place else None
        if found and number.start < found[-1].end:
            continue
        size = (
            _rectangle(passage, number, follow, end)
            or _round(passage, number, previous, start, end, known)
            or _the_old(passage, number, found)
        )
        if size:
            found.append(size)
    return found


def _rectangle(passage: Passage, number: Number, follow: Number | None, end: int) -> _Size | None:
    """ "fourteen by twenty in duct board", "8x14"."""
    if follow is None or number.kind == "ordinal" or not 3 <= follow.value <= 60:
        return None
    count, side = (int(number.parts[0]), number.parts[1]) if len(number.parts) == 2 else (None, number.value)
    if not 3 <= side <= 60:
        return None
    unit = passage.units.get(number.end)
    between = passage.words(unit.end if unit else number.end, follow.start)
    if between not in (["by"], ["x"], ["×"]):
        return None
    stop = passage.units[follow.end].end if follow.end in passage.units else follow.end
    if not says_any(passage, _DUCT, max(0, number.start - 8), min(end, stop + 8)):
        return None
    if passage.words(stop, stop + 2)[:1] in (["filter"], ["grille"], ["grill"]):
        return None
    shape = "oval" if says_any(passage, _OVAL, max(0, number.start - 4), min(end, stop + 4)) else "rect"
    return _Size(number.start, stop, count, (side, follow.value), shape)


def _round(
    passage: Passage, number: Number, previous: Number | None, start: int, end: int, known: set[float]
) -> _Size | None:
    """ "two ten inch flex", "sixteen inch flex return", and the recogniser's "210 inch flex"."""
    unit = passage.units.get(number.end)
    if unit is None or "in" not in unit.kinds or number.kind not in ("cardinal", "decimal"):
        return None
    beside = says_any(passage, _DUCT, unit.end, min(end, unit.end + 4)) or says_any(
        passage, _DUCT, max(start, number.start - 6), number.start
    )
    told_of = number.value in known and passage.words(unit.end, unit.end + 1) in _IS  # "the twelve inch is hung"
    if not (beside or told_of) or _only_goods(passage, number, start):
        return None
    if passage.words(unit.end, unit.end + 1) and passage.lower[unit.end] in (
        "filter",
        "grille",
        "media",
        "pleated",
        "gap",
        "of",
        "nut",
        "line",
        "copper",
    ):
        return None
    count, inches, first = _count_and_size(number)
    if inches not in _DIAMETERS:
        return None
    if count is None and previous and previous.kind == "cardinal" and previous.value <= _MOST_RUNS:
        between = passage.words(previous.end, number.start)
        if between in ([], ["-"], ["lousy"], ["new"], ["more"], ["old"], ["existing"]) and passage.free(
            previous.start, previous.end
        ):
            return _Size(previous.start, unit.end, int(previous.value), (inches,), "round")
    return _Size(number.start, unit.end, count, (inches,), "round")


def _only_goods(passage: Passage, number: Number, start: int) -> bool:
    """ "Still need another forty feet of six inch flex": to be bought, no run."""
    needed = says_any(passage, _NEEDED, start, number.start)
    return needed and passage.words(number.start - 2, number.start) in (["feet", "of"], ["foot", "of"], ["roll", "of"])


def _count_and_size(number: Number) -> tuple[int | None, float, int]:
    """A count run into a size: "eight ten" and "210" before "inch" are eight of ten and two of ten."""
    if (
        len(number.parts) == 2
        and number.value > max(_DIAMETERS)
        and number.parts[1] in _DIAMETERS
        and number.parts[0] <= _MOST_RUNS
    ):
        return int(number.parts[0]), number.parts[1], number.start
    if number.value > max(_DIAMETERS) and len(number.parts) <= 1 and number.value == int(number.value):
        digits = f"{number.value:.0f}"
        for cut in (len(digits) - 2, len(digits) - 1):
            if (
                cut > 0
                and int(digits[cut:]) in _DIAMETERS
                and digits[cut] != "0"
                and 1 <= int(digits[:cut]) <= _MOST_RUNS
            ):
                return int(digits[:cut]), float(digits[cut:]), number.start
    return None, number.value, number.start


def _the_old(passage: Passage, number: Number, found: list[_Size]) -> _Size | None:
    """ "… and the old twelve stays": a bare size, once another size was named in the sentence."""
    before = passage.words(max(0, number.start - 2), number.start)
    if (
        found
        and (before[-1:] in (["old"], ["existing"], ["original"]) or before in (["and", "a"], [",", "a"]))
        and number.value in _DIAMETERS
        and number.end not in passage.units
    ):
        return _Size(number.start, number.end, 1, (number.value,), "round")
    return None


# ---------------------------------------------------------------- the run around a size


def _run(
    passage, context, systems, size: _Size, place: int, left: int, right: int, earlier: list[DuctRun], *, alone: bool
) -> DuctRun | None:
    start, end = passage.sentences[place]
    side = _side(passage, size, start, end, place, earlier, context)
    if side is None:
        return None
    material = which(passage, _MATERIAL, size.end, min(right, size.end + 8)) or which(
        passage, _MATERIAL, max(left, size.start - 6), size.start
    )
    system = system_at(size.start, systems, passage, context)
    known = [
        run
        for run in (*context.job.duct_runs, *earlier)
        if run.size_in == size.inches and run.system == system and run.side == side
    ]
    return DuctRun(
        side=side,
        count=size.count
        or _pair_of(passage, start, size.start)
        or (_count_apart(passage, start, size.start) if alone else None)
        or 1,
        shape=size.shape,
        material=material or (known[-1].material if known else None),
        size_in=size.inches,
        length_ft=_length(passage, size.end, right),
        system=system,
        status=_status(passage, size, left, right, start, end),
        note=context.note,
        said=passage.said(size.start, size.end),
    )


def _side(passage, size: _Size, start, end, place, earlier, context) -> str | None:
    """The nearest word for a side in the sentence, else in the one before, else the side of a run known already."""
    near = [
        (min(abs(a - size.end), abs(size.start - b)), a < size.end, side)  # of equals the one behind: "8 inch supplies"
        for side, says in _SIDE.items()
        for a, b in find_all(passage, says, start, end)
    ]
    if near:
        return min(near)[-1]
    if place:
        before = passage.sentences[place - 1]
        behind = [(a, side) for side, says in _SIDE.items() for a, _ in find_all(passage, says, *before)]
        if behind:
            return max(behind)[1]
    known = [run.side for run in (*context.job.duct_runs, *earlier) if run.size_in == size.inches]
    return known[-1] if known else None


def _pair_of(passage: Passage, start: int, size: int) -> int | None:
    return 2 if {"pair", "couple"} & set(passage.words(max(start, size - 3), size)) else None


def _count_apart(passage: Passage, start: int, end: int) -> int | None:
    """ "Six takeoffs on the upstairs supply, all seven inch flex"."""
    for number in passage.numbers_in(start, end):
        counts = number.kind == "cardinal" and number.value <= _MOST_RUNS
        noun = passage.words(number.end, number.end + 1)
        if counts and noun and noun[0] in _COUNTED and passage.free(number.start, number.end):
            passage.take(number.start, number.end)
            return int(number.value)
    return None


def _length(passage: Passage, start: int, end: int) -> float | None:
    for number in passage.numbers_in(start, end):
        unit = passage.units.get(number.end)
        if unit and unit.kinds[0] == "ft" and passage.free(number.start, number.end):
            between = passage.words(start, number.start)
            if len(between) <= 10:
                passage.take(number.start, unit.end)
                return number.value
    return None


def _status(passage, size: _Size, left: int, right: int, start: int, end: int) -> str:
    if says_any(passage, _STATUS["removed"], left, size.start) or says_any(
        passage, _STATUS["removed"], size.end, min(right, size.end + 5)
    ):
        return "removed"
    if passage.words(max(start, size.start - 1), size.start) == ["old"] or says_any(
        passage, _STATUS["existing"], size.end, min(right, size.end + 2)
    ):
        return "existing"
    for scope in ((left, right), (start, end)):
        if says_any(passage, _STATUS["removed"], *scope):
            return "removed"
        proposed, added = says_any(passage, _STATUS["proposed"], *scope), says_any(passage, _STATUS["added"], *scope)
        if added and not (proposed and says_any(passage, _ONLY_PROPOSED, *scope)):
            return "added"
        if proposed:
            return "proposed"
    if end < len(passage.lower) and says_any(passage, _PRICED, *passage.sentences[passage.sentence_of(end)]):
        return "proposed"
    if says_any(passage, _NEW_WORK):
        return "added"
    priced = any(passage.tokens[i] == "$" or passage.lower[i] in ("dollars", "bucks") for i in range(start, end))
    return "proposed" if priced else "existing"

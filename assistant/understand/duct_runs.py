"""Duct runs: how many, which size, what they are made of, which side, and whether they are there yet."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace

from assistant.records import DuctRun, Reading
from assistant.understand.context import Context
from assistant.understand.duct_sizes import Size, find_sizes
from assistant.understand.lexicon import lists_of, wordings
from assistant.understand.passage import Passage
from assistant.understand.systems import SystemMention, system_at
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import find_all, says_any, which

_TABLE = load_table("ducts.toml")
_WORDS = _TABLE["words"]
_OF_ALL = wordings(_WORDS["of_all"])
_DUCT, _NO_SIDE = wordings(_WORDS["duct"]), wordings(_WORDS["no_side"])
_COUNTED = frozenset(_WORDS["counted"])
_IN_ITS_PLACE = frozenset(_WORDS["in_its_place"])
_CHANGED = wordings(_WORDS["changed"])
_SIDE, _SIDE_HINT = lists_of(_TABLE["side"]), lists_of(_TABLE["side_hint"])
_MATERIAL = lists_of(_TABLE["material"])
_STATUS = lists_of(_TABLE["status"])
_ANSWERED = tuple(wordings(load_table("agreements.toml")["answer"][key]) for key in ("approved", "declined", "pending"))
_OFFER_OPENS = wordings(_WORDS["offer_opens"])
_ONLY_PROPOSED, _NEW_WORK, _PRICED, _IN_ALL, _THERE = (
    wordings(_WORDS[key]) for key in ("only_proposed", "new_work", "priced", "in_all", "what_is_there")
)
_MOST_RUNS = 24
_VERBS = ("removed", "added", "proposed", "to_go")
_DEAR = 100  # a bare number from here on, where an offer is told, is what it costs
_BE = frozenset({"is", "'s", "are", "was", "were", "has", "have", ":"})


def find_duct_runs(passage: Passage, context: Context, systems: list[SystemMention]) -> list[DuctRun]:
    """Every run or group of equal runs; their counts, sizes and lengths are taken out of the readings' way."""
    runs: list[DuctRun] = []
    if _DUCT not in passage.wordings:
        return runs
    known = {side for run in context.job.duct_runs for side in run.size_in if run.shape == "round"}
    for place, (start, end) in enumerate(passage.sentences):
        sizes = find_sizes(passage, start, end, known)
        for number, size in enumerate(sizes):
            left = sizes[number - 1].end if number else start
            right = sizes[number + 1].start if number + 1 < len(sizes) else end
            run = _run(passage, context, systems, size, sizes, place, left, right, runs)
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




# ---------------------------------------------------------------- the run around a size


def _run(
    passage,
    context,
    systems,
    size: Size,
    sizes: list[Size],
    place: int,
    left: int,
    right: int,
    earlier: list[DuctRun],
) -> DuctRun | None:
    start, end = passage.sentences[place]
    side = _side(passage, size, start, end, place, earlier, context)
    if side is None:
        return None
    material = which(passage, _MATERIAL, size.end, min(right, size.end + 8)) or which(
        passage, _MATERIAL, max(left, size.start - 6), size.start
    )
    material = material or _material_of_all(passage, sizes[-1].end, end)
    system = system_at(size.start, systems, passage, context)
    known = [
        run
        for run in (*context.job.duct_runs, *earlier)
        if run.size_in == size.inches and run.system == system and run.side == side
    ]
    if size.plural and size.count is None and not known:
        return None  # "the twelves": several, and nobody said how many
    return DuctRun(
        side=side,
        count=size.count
        or (known[-1].count if known and size.plural else None)
        or (_count_apart(passage, start, size.start) if len(sizes) == 1 else None)
        or 1,
        shape=size.shape,
        material=material or (known[-1].material if known else None),
        size_in=size.inches,
        length_ft=_length(passage, size, right),
        system=system,
        status=_status(passage, size, sizes, left, right, start, end),
        note=context.note,
        said=passage.said(size.start, size.end),
    )


def _material_of_all(passage: Passage, start: int, end: int) -> str | None:
    """ "Five eight inch and two six inch, all flex"."""
    behind = [b for _, b in find_all(passage, _OF_ALL, start, end)]
    return which(passage, _MATERIAL, behind[0], min(end, behind[0] + 2)) if behind else None


def _side(passage, size: Size, start, end, place, earlier, context) -> str | None:
    """The nearest word for a side in the sentence; else the side of a run known already, else what hints at one,
    else the side named in the sentence before, or the only one that the note names.
    """
    near = [
        (_apart(size, a, b), a < size.end, side)  # of equals the one behind: "8 inch supplies"
        for a, b, side in _sides(passage, _SIDE, start, end)
        if not _opens_another(passage, size, a, b)
    ]
    if near:
        return min(near)[-1]
    known = [run for run in (*context.job.duct_runs, *earlier) if run.size_in == size.inches]
    if known and known[-1].status == "proposed":
        return known[-1].side
    hints = [(_apart(size, a, b), side) for a, b, side in _sides(passage, _SIDE_HINT, start, end)]
    if hints:
        return min(hints)[-1]
    behind = _sides(passage, _SIDE, *passage.sentences[place - 1]) if place else []
    if behind:
        return max(behind)[-1]
    if known:
        return known[-1].side
    every = {side for _, _, side in _sides(passage, _SIDE, 0, len(passage.lower))}
    return every.pop() if len(every) == 1 else None


def _sides(passage: Passage, table, start: int, end: int) -> list[tuple[int, int, str]]:
    """Where a side is named in start..end; the supply house is none."""
    no_side = find_all(passage, _NO_SIDE, start, end)
    return sorted(
        (a, b, side)
        for side, says in table.items()
        for a, b in find_all(passage, says, start, end)
        if not any(first <= a < last for first, last in no_side)
    )


def _apart(size: Size, start: int, end: int) -> int:
    if size.start <= start < size.end:
        return 0
    return min(abs(start - size.end), abs(size.start - end))


def _opens_another(passage: Passage, size: Size, start: int, end: int) -> bool:
    """ "Supplies are two six inch flex, return's a twenty by ten": behind the comma the other side begins."""
    return start >= size.end and "," in passage.words(size.end, start) and bool(_BE & set(passage.words(end, end + 1)))


def _count_apart(passage: Passage, start: int, end: int) -> int | None:
    """ "Six takeoffs on the upstairs supply, all seven inch flex"."""
    for number in passage.numbers_in(start, end):
        counts = number.kind == "cardinal" and 1 <= number.value <= _MOST_RUNS
        noun = passage.words(number.end, number.end + 1)
        if counts and noun and noun[0] in _COUNTED and passage.free(number.start, number.end):
            passage.take(number.start, number.end)
            return int(number.value)
    return None


def _length(passage: Passage, size: Size, end: int) -> float | None:
    """ "Sixteen inch flex, twenty foot of it", "fourteen feet of twelve inch flex"; of several in all, nobody's."""
    for number in passage.numbers_in(max(0, size.start - 4), end):
        unit = passage.units.get(number.end)
        if unit is None or unit.kinds[0] != "ft" or number.value <= 0 or not passage.free(number.start, number.end):
            continue
        before = passage.words(unit.end, size.start) == ["of"]
        if before or (number.start >= size.end and number.start - size.end <= 10):
            if (size.count or 1) > 1 and says_any(passage, _IN_ALL, unit.end, unit.end + 5):
                return None
            passage.take(number.start, unit.end)
            return number.value
    return None


def _status(passage, size: Size, sizes: list[Size], left: int, right: int, start: int, end: int) -> str:
    if (changed := _changed(passage, size, sizes, start, end)) is not None:
        return changed
    behind = _last_verb(passage, size.end, right)
    verb = _last_verb(passage, left, size.start + 1) or (None if behind else _last_verb(passage, start, size.start + 1))
    if verb == "to_go":
        return "existing"
    if verb == "removed" or says_any(passage, _STATUS["removed"], size.end, min(right, size.end + 5)):
        return "removed"
    if passage.words(max(start, size.start - 1), size.start) == ["old"] or says_any(passage, _THERE, start, size.start):
        return "existing"
    if says_any(passage, _STATUS["existing"], size.end, min(right, size.end + 2)):
        return "existing"
    if not verb and says_any(passage, _STATUS["removed"], size.end, right):
        return "removed"
    for scope in ((left, right), (start, end)):
        proposed, added = says_any(passage, _STATUS["proposed"], *scope), says_any(passage, _STATUS["added"], *scope)
        if added and not (proposed and says_any(passage, _ONLY_PROPOSED, *scope)):
            return "added"
        if proposed:
            return "proposed"
    if end < len(passage.lower) and says_any(passage, _PRICED, *passage.sentences[passage.sentence_of(end)]):
        return "proposed"
    if says_any(passage, _NEW_WORK):
        return "added"
    return "proposed" if _has_a_price(passage, size, right, start, end) else "existing"


def _last_verb(passage: Passage, start: int, end: int) -> str | None:
    """Of the verbs before a size the last one rules it: "pulled the old one and ran a fourteen inch"."""
    said = [(a, key) for key in _VERBS for a, _ in find_all(passage, _STATUS[key], start, end)]
    return max(said)[1] if said else None


def _changed(passage: Passage, size: Size, sizes: list[Size], start: int, end: int) -> str | None:
    """ "Swapped the twelve inch for a sixteen", "went from a twelve to a sixteen": one is gone, one there."""
    if not says_any(passage, _CHANGED, start, end):
        return None
    to_come = any(says_any(passage, says, start, end) for says in (_STATUS["proposed"], _ONLY_PROPOSED))
    before, after = ("existing", "proposed") if to_come else ("removed", "added")
    for one, other in zip(sizes, sizes[1:], strict=False):
        between = set(passage.words(other.start - 3, other.start))
        if size in (one, other) and not _IN_ITS_PLACE.isdisjoint(between):
            return before if size == one else after
    return None


def _has_a_price(passage: Passage, size: Size, right: int, start: int, end: int) -> bool:
    """Money is named beside it; or a large bare sum, where an offer is answered or was opened before."""
    if any(passage.tokens[i] == "$" or passage.lower[i] in ("dollars", "bucks") for i in range(start, end)):
        return True
    opened = max(0, passage.sentence_of(start) - 3)
    offered = any(says_any(passage, says, size.end, end) for says in _ANSWERED) or says_any(
        passage, _OFFER_OPENS, passage.sentences[opened][0], end
    )
    return offered and any(
        number.value >= _DEAR
        and number.end not in passage.units
        and (passage.words(number.end, number.end + 1) or ["."])[0] in (",", ".", "and", "for", "all", "but", ";")
        for number in passage.numbers_in(size.end, right)
    )

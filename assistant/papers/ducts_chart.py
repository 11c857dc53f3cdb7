"""Duct need against have, side by side of a system, visit under visit, as an SVG picture."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.converse.history import JobHistory
from assistant.errors import MissingReadings, NoSuchSystem
from assistant.judge.airflow import run_in_words
from assistant.papers import svg
from assistant.papers.by_visit import Row, values_by_visit
from assistant.papers.text import amount, full_day, name_of, sentence, visit_days
from assistant.records import Calculation, JobLog

_SIDES = ("return", "supply")
_TRACK = 14  # [px] height of a bar


@dataclass(frozen=True, slots=True)
class Stand:
    """One side of the ducts on one visit."""

    day: str  # ISO date
    can_carry: tuple[float, float] | None  # cfm, low and high
    measured: float | None  # cfm
    of_the_system: bool  # it was measured at the system, not on this side
    done: str  # what was added or removed that day


def ducts_svg(history: JobHistory, system: str = "main") -> str:
    """What each side of a system's ducts has to move, can carry and was measured at, before and after each change.

    The need is 400 cfm a ton, or what was said to be the target, for the size that was said; without a size there is
    none. What the ducts can carry is a range (`compute.ducts`). 360 px wide, for light and dark screens.
    Raises NoSuchSystem; MissingReadings where neither runs nor an airflow were told.
    """
    log = history.latest
    if log is None or system not in log.systems():
        raise NoSuchSystem(system, log.systems() if log else ())
    rows = values_by_visit(history, system)
    sides = {side: stands for side in _SIDES if (stands := _stands(log, system, side, rows))}
    if not sides:
        raise MissingReadings(["duct runs with their sizes", "system_airflow"])
    need = next((c for c in log.calculations if (c.name, c.system) == ("airflow_target", system)), None)
    top = [s.can_carry[1] for stands in sides.values() for s in stands if s.can_carry]
    top += [s.measured for stands in sides.values() for s in stands if s.measured]
    scale = svg.scale_of([*top, *([need.value] if need else [])], from_zero=True)
    title = sentence(f"{name_of(system)} ducts: need and have")
    body, y = _head(title, log, system, need)
    told = [_need_in_words(log, system, need)]
    for side, stands in sides.items():
        parts, y = _side(side, stands, need, scale, y)
        body += parts
        told += [f"{sentence(side)}, {_in_words(stand)}." for stand in stands]
    return svg.document(title, " ".join(told), body, y)


def _stands(log: JobLog, system: str, side: str, rows: tuple[Row, ...]) -> list[Stand]:
    """The side on each visit on which it was measured or changed; what it can carry holds until it is changed."""
    carry = next((r for r in rows if (r.name, r.qualifier, r.worked_out) == ("duct_capacity", side, True)), None)
    ours = next((r for r in rows if r.name == f"{side}_airflow" and not r.worked_out and "," not in r.label), None)
    whole = next((r for r in rows if r.name == "system_airflow" and not r.worked_out and "," not in r.label), None)
    if carry is None and ours is None:
        return []
    dates = sorted({date for row in (carry, ours, whole) if row for date in row.cells})
    stands, range_now = [], None
    for date in dates:
        if carry and date in carry.cells:
            cell = carry.cells[date]
            range_now = (cell.value - cell.plus_minus, cell.value + cell.plus_minus)
        mine = ours.cells.get(date) if ours else None
        found = mine or (whole.cells.get(date) if whole else None)
        done = _done_on(log, system, side, date)
        stands.append(Stand(date, range_now, found.value if found else None, bool(found) and not mine, done))
    return stands


def _done_on(log: JobLog, system: str, side: str, date: str) -> str:
    days = visit_days(log)
    changed = [
        r for r in log.duct_runs
        if (r.system, r.side) == (system, side) and r.status in ("added", "removed") and days.get(r.note) == date
    ]  # fmt: skip
    return "; ".join(f"{run_in_words(run)} {run.status}" for run in changed)


def _need_in_words(log: JobLog, system: str, need: Calculation | None) -> str:
    if need is None:
        return "How much is needed is not known: the system's size was not said."
    tons = next((e.cooling_capacity for e in log.equipment if e.system == system and e.cooling_capacity), None)
    size = next((r.value for r in need.inputs if r.quantity == "cooling_capacity"), tons)
    each = f" ({need.value / size:,.0f} cfm a ton for {size:g} ton)" if size else ""
    return f"Needed: {amount(need.value, 'cfm')}{each}."


def _in_words(stand: Stand) -> str:
    parts = [full_day(stand.day), stand.done]
    if stand.can_carry:
        low, high = stand.can_carry
        parts.append(f"can carry {low:,.0f} to {high:,.0f} cfm")
    if stand.measured is not None:
        parts.append(f"measured {amount(stand.measured, 'cfm')}{' at the system' if stand.of_the_system else ''}")
    return ", ".join(part for part in parts if part)


def _head(title: str, log: JobLog, system: str, need: Calculation | None) -> tuple[list[str], float]:
    y = 24.0
    parts = [svg.text(svg.MARGIN, y + svg.LINE * at, each, bold=True) for at, each in enumerate(svg.wrapped(title))]
    y += svg.LINE * len(parts)
    for each in svg.wrapped(_need_in_words(log, system, need)):
        parts.append(svg.text(svg.MARGIN, y, each, kind="need" if need else "faint"))
        y += svg.LINE
    return [*parts, *_legend(y, with_need=need is not None)], y + svg.LINE * 1.5


def _legend(y: float, with_need: bool) -> Iterator[str]:
    yield svg.bar(svg.MARGIN, svg.MARGIN + 18, y - 9, 9)
    yield svg.text(svg.MARGIN + 24, y, "can carry", kind="faint")
    yield svg.diamond(svg.MARGIN + 110, y - 4, 5)
    yield svg.text(svg.MARGIN + 122, y, "measured", kind="faint")
    if with_need:
        yield svg.line(svg.MARGIN + 212, y - 11, svg.MARGIN + 212, y + 2, kind="need", width=2, dash="4 3")
        yield svg.text(svg.MARGIN + 220, y, "needed", kind="faint")


def _side(
    side: str, stands: list[Stand], need: Calculation | None, scale: svg.Scale, y: float
) -> tuple[list[str], float]:
    y += svg.LINE
    parts = [svg.text(svg.MARGIN, y, sentence(side), bold=True)]
    for stand in stands:
        for each in svg.wrapped(_in_words(stand)):
            y += svg.LINE
            parts.append(svg.text(svg.MARGIN, y, each))
        y += 8
        parts += _track(stand, need, scale, y)
        y += _TRACK + 10
    parts += svg.axis(scale, y, "cfm")
    return parts, y + svg.LINE * 3


def _track(stand: Stand, need: Calculation | None, scale: svg.Scale, y: float) -> Iterator[str]:
    middle = y + _TRACK / 2
    yield svg.line(scale.x(0), middle, svg.WIDTH - svg.MARGIN, middle)
    if stand.can_carry:
        low, high = (scale.x(each) for each in stand.can_carry)
        yield svg.bar(low, high, y, _TRACK)
        yield svg.line((low + high) / 2, y, (low + high) / 2, y + _TRACK, kind="ink", width=1.5)
    if need:
        yield svg.line(
            scale.x(need.value), y - 4, scale.x(need.value), y + _TRACK + 4, kind="need", width=2, dash="4 3"
        )
    if stand.measured is not None:
        yield svg.diamond(scale.x(stand.measured), middle)

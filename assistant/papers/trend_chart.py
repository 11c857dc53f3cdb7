"""One value over the visits, the first on top, with its target where there is one, as an SVG picture."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from assistant.converse import report_words as words
from assistant.converse.history import JobHistory
from assistant.errors import MissingReadings, NoSuchSystem
from assistant.papers import svg
from assistant.papers.by_visit import belongs, changed_by_hand, values_by_visit
from assistant.papers.text import amount, full_day, name_of, sentence, span, visit_days
from assistant.records import JobLog

_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class Point:
    """One value on one visit."""

    day: str  # ISO date
    value: float
    shown: str  # with its unit, as it is written
    unit: str
    kind: str  # told | worked_out | replaced | doubtful
    target: float | None = None
    tolerance: float | None = None  # plus or minus around the target
    changed: str = ""  # "corrected" or "confirmed" by a person


def trend_points(history: JobHistory, quantity: str, system: str = "main") -> tuple[Point, ...]:
    """Every value of a quantity in the order it was told: measured ones, else those worked out on each visit.

    Doubtful and replaced ones are there and say so; what was taken back is left out. Raises NoSuchSystem.
    """
    log = history.latest
    known = log.systems() if log else ()
    if log is None or system not in (*known, "site"):
        raise NoSuchSystem(system, known)
    made = list(_made(history, quantity, system))
    return tuple(made or _told(history, log, quantity, system))


def trend_svg(history: JobHistory, quantity: str, system: str = "main") -> str:
    """A quantity (the contract's name, also of a calculation) over the visits of a system; "site" for the weather.

    Time runs down; each value has a line of its own, so that no words meet. Target and tolerance are those it was
    judged by on its visit. Replaced values are faint, doubtful ones hollow; a doubtful one far beyond the others,
    or one in another unit, is in the words alone, so that it does not press the others together. 360 px wide, for
    light and dark screens.
    Raises NoSuchSystem; MissingReadings where no such value was told.
    """
    points = trend_points(history, quantity, system)
    if not points:
        raise MissingReadings([quantity])
    unit = words.value(0, points[0].unit).removeprefix("0").strip()
    title = f"{sentence(f'{name_of(system)} {words.title(quantity)}')} over the visits"
    sure = [point for point in points if point.kind != "doubtful"] or points
    scale = svg.scale_of(value for point in sure if point.unit == points[0].unit for value in _extent(point))
    body = [svg.text(svg.MARGIN, 24 + svg.LINE * at, each, bold=True) for at, each in enumerate(svg.wrapped(title))]
    y = 24.0 + svg.LINE * len(body)
    legend, y = _legend(points, y)
    rows, y = _rows(points, scale, y)
    description = " ".join(f"{_in_words(point)}." for point in points)
    return svg.document(title, description, [*body, *legend, *rows, *svg.axis(scale, y, unit)], y + svg.LINE * 2.6)


def _made(history: JobHistory, quantity: str, system: str) -> Iterator[Point]:
    for row in values_by_visit(history, system):
        if row.worked_out and row.name == quantity:
            for day, cell in sorted(row.cells.items()):
                target = _judged_by(history, day, system, cell.value)
                yield Point(day, cell.value, cell.text, cell.unit, "worked_out", *target)


def _told(history: JobHistory, log: JobLog, quantity: str, system: str) -> Iterator[Point]:
    order, days = log.note_order(), visit_days(log)
    kinds = {"current": "told", "superseded": "replaced", "doubtful": "doubtful"}
    for r in sorted(log.readings, key=lambda r: (order.get(r.note, -1), r.position)):
        measured = r.role in ("measured", "estimated") and r.quantity == quantity and r.status in kinds
        if not measured or not belongs(r, system) or r.note not in days or not math.isfinite(r.value):
            continue
        kind = "doubtful" if r.doubt else kinds[r.status]
        target = _judged_by(history, days[r.note], system, r.value) if kind == "told" else (None, None)
        about = "about " if r.role == "estimated" else ""
        yield Point(days[r.note], r.value, about + span(r), r.unit, kind, *target, changed_by_hand(r))


def _judged_by(history: JobHistory, day: str, system: str, value: float) -> tuple[float | None, float | None]:
    """Target and tolerance of the finding that rests on this very value after that visit; None where there is none."""
    number = history.visit_on(day)
    verdicts = history.log_after_visit(number).verdicts if number is not None else ()
    for verdict in verdicts:
        if verdict.system != system or verdict.value is None or verdict.target is None:
            continue
        if abs(verdict.value - value) <= _SAME * max(1.0, abs(value)):
            return verdict.target, verdict.tolerance
    return None, None


def _extent(point: Point) -> list[float]:
    around = point.tolerance or 0.0
    return [point.value, *([] if point.target is None else [point.target - around, point.target + around])]


def _in_words(point: Point) -> str:
    parts = [full_day(point.day), point.shown]
    if point.target is not None:
        within = f"±{amount(point.tolerance, point.unit).split(' ')[0]}" if point.tolerance else ""
        parts.append(f"against {amount(point.target, point.unit).split(' ')[0]}{within}")
    parts.append({"doubtful": "doubtful, not used", "replaced": "said again later"}.get(point.kind, ""))
    parts.append(f"{point.changed} by a person" if point.changed else "")
    return ", ".join(part for part in parts if part)


def _legend(points: tuple[Point, ...], y: float) -> tuple[list[str], float]:
    kinds = {point.kind for point in points}
    named = {
        "told": "told",
        "worked_out": "worked out",
        "replaced": "said again later",
        "doubtful": "doubtful, not used",
    }
    parts = []
    x = svg.MARGIN + 6
    for kind in (kind for kind in named if kind in kinds):
        parts.append(svg.dot(x, y - 4, hollow=kind == "doubtful", faint=kind == "replaced"))
        parts.append(svg.text(x + 12, y, named[kind], kind="faint"))
        y += svg.LINE
    if any(point.target is not None for point in points):
        parts.append(svg.bar(svg.MARGIN, svg.MARGIN + 12, y - 10, 11, opacity=0.5))
        parts.append(svg.line(svg.MARGIN + 6, y - 11, svg.MARGIN + 6, y + 2, kind="need", width=2))
        parts.append(svg.text(svg.MARGIN + 18, y, "what it was judged against, and how near", kind="faint"))
        y += svg.LINE
    return parts, y + 6


def _rows(points: tuple[Point, ...], scale: svg.Scale, y: float) -> tuple[list[str], float]:
    marks, parts = [], []
    for point in points:
        for each in svg.wrapped(_in_words(point)):
            y += svg.LINE
            parts.append(svg.text(svg.MARGIN, y, each, kind="ink" if point.kind in ("told", "worked_out") else "faint"))
        y += 16
        parts.append(svg.line(svg.MARGIN, y, svg.WIDTH - svg.MARGIN, y))
        parts += _target(point, scale, y)
        if point.unit == points[0].unit and scale.low <= point.value <= scale.high:
            marks.append(
                svg.dot(scale.x(point.value), y, hollow=point.kind == "doubtful", faint=point.kind == "replaced")
            )
        y += 14
    return [*parts, *marks], y


def _target(point: Point, scale: svg.Scale, y: float) -> Iterator[str]:
    if point.target is None:
        return
    if point.tolerance:
        low, high = (scale.x(point.target + way * point.tolerance) for way in (-1, 1))
        yield svg.bar(low, high, y - 7, 14, opacity=0.5)
    yield svg.line(scale.x(point.target), y - 8, scale.x(point.target), y + 8, kind="need", width=2)

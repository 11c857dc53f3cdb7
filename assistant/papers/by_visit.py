"""The values of a job side by side, one column for each visit: what was told, and what it came to that day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.converse import report_words as words
from assistant.converse.history import JobHistory
from assistant.papers.text import span, visit_days
from assistant.records import Calculation, JobLog, Reading

OF_THE_SITE = ("outdoor_temp", "altitude")
_ROLE = {"measured": "", "target": ", target", "rated": ", rated", "estimated": ", estimated"}


@dataclass(frozen=True, slots=True)
class Cell:
    """What one row has on one visit."""

    text: str  # "290, then 360 micron"; "10.3 ± 1.2 °F"
    value: float  # the one that stands
    unit: str
    changed: str = ""  # "corrected" or "confirmed" by a person
    plus_minus: float = 0.0  # of a calculation, in `unit`


@dataclass(frozen=True, slots=True)
class Row:
    """One quantity, spoken or worked out, over the visits."""

    name: str  # the contract's name
    label: str  # "subcooling, target"
    worked_out: bool
    cells: dict[str, Cell]  # by the visit's ISO date; a visit without it is not there
    qualifier: str | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """A value on the first and on the last visit that has it."""

    label: str
    unit: str
    before: float
    before_on: str  # ISO date
    after: float
    after_on: str
    worked_out: bool

    @property
    def difference(self) -> float:
        return self.after - self.before


def values_by_visit(history: JobHistory, system: str) -> tuple[Row, ...]:
    """Every value of a system that is in force on some visit, in the order it first came up; "site" for the site's.

    What was said again on a visit stands behind what was said before ("290, then 360"). Doubtful values and those
    that were taken back are left out. A calculation stands on the visit of the newest reading it was measured by.
    """
    log = history.latest
    if log is None:
        return ()
    return (*_told(log, system), *_worked_out(history, log, system))


def before_and_after(history: JobHistory, system: str) -> tuple[Change, ...]:
    """The rows of `values_by_visit` that two visits or more have, as first and last value. Targets that stayed too."""
    changes = []
    for row in values_by_visit(history, system):
        dates = sorted(row.cells)
        if len(dates) > 1:
            first, last = row.cells[dates[0]], row.cells[dates[-1]]
            changes.append(Change(row.label, last.unit, first.value, dates[0], last.value, dates[-1], row.worked_out))
    return tuple(changes)


def belongs(reading: Reading, system: str) -> bool:
    """Whether a reading is the system's; weather and altitude are the site's, whoever they were said of."""
    return reading.system == system if reading.quantity not in OF_THE_SITE else system == "site"


def in_force(reading: Reading) -> bool:
    """Whether a reading was once true: never one that is doubtful, was so, or was taken back."""
    return reading.status in ("current", "superseded") and reading.doubt is None


def changed_by_hand(reading: Reading) -> str:
    """What a person did about a reading, in a word; empty for nothing."""
    done = {"correct": "corrected", "confirm": "confirmed", "discard": "discarded"}
    return done.get(reading.correction.action, "changed") if reading.correction else ""


def _told(log: JobLog, system: str) -> Iterator[Row]:
    order, days = log.note_order(), visit_days(log)
    found: dict[tuple, dict[str, list[Reading]]] = {}
    for reading in sorted(log.readings, key=lambda r: (order.get(r.note, -1), r.position)):
        if belongs(reading, system) and in_force(reading) and reading.note in days:
            key = (reading.quantity, reading.role, reading.qualifier)
            found.setdefault(key, {}).setdefault(days[reading.note], []).append(reading)
    for (quantity, role, qualifier), on in found.items():
        label = words.title(quantity, qualifier) + _ROLE.get(role, f", {role}")
        yield Row(quantity, label, False, {day: _cell(told) for day, told in on.items()}, qualifier)


def _cell(told: list[Reading]) -> Cell:
    standing = [r for r in told if r.status == "current"] or told
    shown = [span(r) for r in told]
    changed = next((changed_by_hand(r) for r in reversed(standing) if r.correction), "")
    between = " and " if len(standing) == len(told) else ", then "
    return Cell(between.join(dict.fromkeys(shown)), standing[-1].value, standing[-1].unit, changed)


def _worked_out(history: JobHistory, log: JobLog, system: str) -> Iterator[Row]:
    days = visit_days(log)
    found: dict[tuple[str, str | None], dict[str, Cell]] = {}
    for visit in history.visits():
        for made in history.logs[visit.last].calculations:
            on = _made_on(made, days, visit.date)
            if made.system == system and on == visit.date:
                cells = found.setdefault((made.name, made.qualifier), {})
                cell = Cell(words.amount(made), made.value, made.unit, plus_minus=made.plus_minus)
                if made.inputs or cell not in cells.values():  # without readings: from the visit on that changed it
                    cells[on] = cell
    for (name, qualifier), cells in found.items():
        yield Row(name, words.title(name, qualifier), True, cells, qualifier)


def _made_on(made: Calculation, days: dict[str, str], now: str) -> str:
    """The visit a calculation belongs to: that of its newest measured reading; without any, of its newest."""
    measured = [r for r in made.inputs if r.role in ("measured", "estimated")] or list(made.inputs)
    return max((days.get(r.note, "") for r in measured), default=now)

"""Then and now: what was measured on more than one visit, what was found, and what was done in between. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from api.office_view import TONE, standing_of
from assistant.converse.history import JobHistory
from assistant.converse.report_words import duct_run, event, title, value
from assistant.converse.speech import number
from assistant.converse.vocabulary import title as finding_title
from assistant.papers.by_visit import OF_THE_SITE, Row, values_by_visit
from assistant.records import ADDING_UP, JobLog, Verdict

# What is looked at first, air before charge; whatever else was measured twice follows.
_FIRST = (
    "airflow_per_ton", "system_airflow", "return_airflow", "supply_airflow", "total_static_pressure", "subcooling",
    "superheat", "suction_pressure", "liquid_pressure", "liquid_line_temp", "suction_line_temp", "outdoor_temp",
    "temperature_split", "temperature_rise", "carbon_monoxide", "vacuum_level",
)  # fmt: skip
# What follows from the plate or says the same as another row, and amounts that add up instead of changing.
_LEFT_OUT = ADDING_UP | {
    "airflow_target", "airflow_shortfall", "return_airflow_shortfall", "supply_airflow_shortfall", "line_set_charge",
    "total_charge", "duct_capacity", "cooling_capacity",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cell:
    """What one visit says; empty words where it says nothing."""

    words: str = ""
    tone: str = ""


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One quantity or finding over the visits."""

    name: str
    quantity: str | None  # None for a finding
    cells: tuple[Cell, ...]  # one for each visit
    change: str  # "+380 cfm", "unchanged"; "" for a finding


@dataclass(frozen=True, slots=True)
class Changes:
    """One system over the visits."""

    system: str
    dates: tuple[str, ...]  # ISO, the visits on which something in `rows` was told
    rows: tuple[ChangeRow, ...]  # findings, then values
    done: tuple[tuple[str, str], ...]  # what was changed on site: ISO date, words


def changes(history: JobHistory) -> tuple[Changes, ...]:
    """Each system that has something to compare, with its findings and values visit by visit."""
    if history.latest is None:
        return ()
    found = (_changes(history, system) for system in history.latest.systems())
    return tuple(each for each in found if each.rows)


def measured_again(history: JobHistory, system: str) -> list[Row]:
    """What was measured of a system, or of the site, on more than one visit; what tells most comes first.

    A value worked out from readings stands before the spoken one of the same name, because it rules the verdict.
    """
    rows: dict[str, Row] = {}
    for row in (*values_by_visit(history, system), *values_by_visit(history, "site")):
        of_a_plate = not row.worked_out and row.label != title(row.name, row.qualifier)  # its label names the role
        if len(row.cells) > 1 and row.name not in _LEFT_OUT and not of_a_plate and row.qualifier is None:
            rows[row.name] = row
    return sorted(rows.values(), key=lambda r: (_FIRST.index(r.name) if r.name in _FIRST else len(_FIRST), r.name))


def _changes(history: JobHistory, system: str) -> Changes:
    days = [visit.date for visit in history.visits()]
    measured = measured_again(history, system)
    rows = _finding_rows(history, system)
    if rows or any(row.name not in OF_THE_SITE for row in measured):  # the weather alone compares nothing
        rows += [_value_row(row, days) for row in measured]
    shown = [place for place in range(len(days)) if any(row.cells[place].words for row in rows)]
    narrowed = tuple(
        ChangeRow(row.name, row.quantity, tuple(row.cells[place] for place in shown), row.change) for row in rows
    )
    return Changes(system, tuple(days[place] for place in shown), narrowed, _done(history.latest, system))


def _value_row(row: Row, days: list[str]) -> ChangeRow:
    cells = tuple(Cell(row.cells[day].text) if day in row.cells else Cell() for day in days)
    first, last = row.cells[min(row.cells)], row.cells[max(row.cells)]
    # Of the values as they are written, so that the difference told is that of the values told.
    difference = float(number(last.value, last.unit)) - float(number(first.value, first.unit))
    sign = "+" if difference > 0 else "\N{MINUS SIGN}"
    change = f"{sign}{value(abs(difference), last.unit)}" if difference else "unchanged"
    return ChangeRow(title(row.name), row.name, cells, change)


def _finding_rows(history: JobHistory, system: str) -> list[ChangeRow]:
    """Findings that were not always what they are now, as they stood after each visit; air before charge."""
    logs = [history.log_after_visit(visit) for visit in range(len(history.visits()))]
    over: dict[str, list[Verdict | None]] = {}
    for place, log in enumerate(logs):
        for verdict in log.verdicts:
            if verdict.system == system:
                over.setdefault(verdict.about, [None] * len(logs))[place] = verdict
    rows = []
    for about, verdicts in over.items():
        if len({(verdict.status, verdict.finding) for verdict in verdicts if verdict}) > 1:
            cells = tuple(Cell(standing_of(v), TONE.get(v.status, "")) if v else Cell() for v in verdicts)
            rows.append(ChangeRow(finding_title(about), None, cells, ""))
    return rows


def _done(log: JobLog, system: str) -> tuple[tuple[str, str], ...]:
    """What was built in, taken out, replaced or weighed in, by its visit's date."""
    days = {note: visit.date for visit in log.visits for note in visit.notes}
    parts = [(r.note, duct_run(r)) for r in log.duct_runs if r.system == system and r.status in ("added", "removed")]
    parts += [(e.note, event(e)) for e in log.events if e.kind == "part_replaced" and e.system == system]
    parts += [
        (r.note, f"{title(r.quantity)} {value(r.value, r.unit)}")
        for r in log.readings
        if r.quantity in ADDING_UP and r.system == system and r.status == "current"
    ]
    return tuple(sorted((days.get(note, ""), words) for note, words in parts))

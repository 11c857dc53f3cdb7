"""Then and now: what was measured on more than one visit, and what was done in between. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from api.office_view import TONE, standing_of
from assistant.converse.asking import inputs_of
from assistant.converse.history import JobHistory
from assistant.converse.report_words import duct_run, event, title, value
from assistant.converse.speech import number
from assistant.converse.vocabulary import title as finding_title
from assistant.records import ADDING_UP, Calculation, JobLog, Reading

# What is looked at first, air before charge; whatever else was measured twice follows.
_FIRST = (
    "airflow_per_ton", "system_airflow", "return_airflow", "supply_airflow", "total_static_pressure", "subcooling",
    "superheat", "suction_pressure", "liquid_pressure", "liquid_line_temp", "suction_line_temp", "outdoor_temp",
    "temperature_split", "temperature_rise", "carbon_monoxide", "vacuum_level",
)  # fmt: skip
# What follows from the plate or from another row, and would only repeat it.
_LEFT_OUT = frozenset(
    {
        "airflow_target", "airflow_shortfall", "line_set_charge", "total_charge", "duct_capacity", "cooling_capacity",
    }
)  # fmt: skip
OF_THE_SITE = frozenset({"outdoor_temp", "altitude"})


@dataclass(frozen=True, slots=True)
class Cell:
    """What one visit says; empty words where it says nothing."""

    words: str = ""
    tone: str = ""


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One quantity or finding over the visits."""

    name: str
    quantity: str | None  # for its trend; None for a finding
    cells: tuple[Cell, ...]  # one for each visit
    change: str  # "+380 cfm", or "" where nothing changed or words say it


@dataclass(frozen=True, slots=True)
class Changes:
    """One system over the visits."""

    system: str
    dates: tuple[str, ...]  # ISO, the visits on which something in `rows` was told
    rows: tuple[ChangeRow, ...]
    done: tuple[tuple[str, str], ...]  # what was changed on site: ISO date, words


def changes(history: JobHistory) -> tuple[Changes, ...]:
    """Each system that has something to compare, with its values and findings visit by visit."""
    if history.latest is None:
        return ()
    found = (_changes(history, system) for system in history.latest.systems())
    return tuple(each for each in found if each.rows)


def quantities_over_visits(history: JobHistory, system: str) -> list[str]:
    """The quantities of a system that more than one visit measured, the telling ones first."""
    per_visit = [_values(history, visit, system) for visit in range(len(history.visits()))]
    names = {name for values in per_visit for name in values}
    several = [name for name in names if sum(name in values for values in per_visit) > 1]
    return sorted(several, key=lambda name: (_FIRST.index(name) if name in _FIRST else len(_FIRST), name))


def _changes(history: JobHistory, system: str) -> Changes:
    visits = history.visits()
    per_visit = [_values(history, visit, system) for visit in range(len(visits))]
    values = [_value_row(name, per_visit) for name in quantities_over_visits(history, system)]
    rows = _finding_rows(history, system)
    if rows or any(row.quantity not in OF_THE_SITE for row in values):  # the weather alone compares nothing
        rows += values
    shown = [place for place in range(len(visits)) if any(row.cells[place].words for row in rows)]
    narrowed = tuple(
        ChangeRow(row.name, row.quantity, tuple(row.cells[place] for place in shown), row.change) for row in rows
    )
    return Changes(system, tuple(visits[place].date for place in shown), narrowed, _done(history.latest, system))


def _values(history: JobHistory, visit: int, system: str) -> dict[str, Reading | Calculation]:
    """What one visit itself measured and what follows from it, by quantity; a computed value stands before a spoken."""
    log = history.log_after_visit(visit)
    date = history.visits()[visit].date
    own = {note.id for note in history.notes if note.date == date}
    found: dict[str, Reading | Calculation] = {}
    for reading in log.readings:
        if (
            reading.note in own
            and reading.system in (system, "site")
            and reading.status == "current"
            and reading.role == "measured"
            and reading.quantity not in ADDING_UP
        ):
            found[reading.quantity] = reading
    for calculation in log.calculations:
        measured = [r for r in inputs_of(calculation) if r.role == "measured"]
        if calculation.system == system and measured and all(r.note in own for r in measured):
            found[calculation.name] = calculation
    return {name: record for name, record in found.items() if name not in _LEFT_OUT}


def _value_row(name: str, per_visit: list[dict[str, Reading | Calculation]]) -> ChangeRow:
    records = [values.get(name) for values in per_visit]
    there = [record for record in records if record]
    cells = tuple(Cell(value(record.value, record.unit)) if record else Cell() for record in records)
    first, last = there[0], there[-1]
    # Of the values as they are written, so that the difference told is that of the values told.
    difference = float(number(last.value, last.unit)) - float(number(first.value, first.unit))
    sign = "+" if difference > 0 else "\N{MINUS SIGN}"
    change = f"{sign}{value(abs(difference), last.unit)}" if difference else "unchanged"
    return ChangeRow(title(name), name, cells, change)


def _finding_rows(history: JobHistory, system: str) -> list[ChangeRow]:
    """Findings that were not always what they are now, as they stood after each visit."""
    logs = [history.log_after_visit(visit) for visit in range(len(history.visits()))]
    over = {}
    for place, log in enumerate(logs):
        for verdict in log.verdicts:
            if verdict.system == system:
                over.setdefault(verdict.about, [None] * len(logs))[place] = verdict
    rows = []
    for about in over:  # in the order of the judgement, air before charge
        verdicts = [verdict for verdict in over[about] if verdict]
        if len({(verdict.status, verdict.finding) for verdict in verdicts}) > 1:
            cells = tuple(Cell(standing_of(v), TONE.get(v.status, "")) if v else Cell() for v in over[about])
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

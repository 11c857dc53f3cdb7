"""The tasks of all jobs as a list and as a month. Pure."""

from __future__ import annotations

import calendar
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from assistant.converse.speech import clock
from assistant.judge.inspections import inspections_left
from assistant.records import JobLog

_GROUPS = ("overdue", "today", "to come", "waiting", "no day", "done", "dropped")


@dataclass(frozen=True, slots=True)
class TaskRow:
    """One task, or one inspection that is set."""

    job: str
    what: str
    day: str  # ISO date; "" for none
    hour: str  # "half past ten"; "" for none
    group: str  # one of _GROUPS
    waits_on: str
    who: str
    system: str  # "" for the only one
    follows: bool  # it follows from the readings, nobody said it
    inspection: bool = False


@dataclass(frozen=True, slots=True)
class Day:
    """One day of a month's sheet."""

    day: date
    within: bool  # of this month, not of its neighbours
    today: bool
    rows: tuple[TaskRow, ...]


@dataclass(frozen=True, slots=True)
class Month:
    """A month in weeks from Monday to Sunday, with the months before and after as "2026-05"."""

    name: str  # "May 2026"
    before: str
    after: str
    weeks: tuple[tuple[Day, ...], ...]


def task_rows(logs: Iterable[JobLog], today: str) -> list[TaskRow]:
    """Every task and every inspection that is set, the most pressing first.

    today  ISO date
    """
    return in_order(row for log in logs for row in tasks_of(log, today))


def tasks_of(log: JobLog, today: str) -> Iterable[TaskRow]:
    """One job's tasks and the inspections that are set in it, in the order they were told."""
    yield from _tasks(log, today)
    yield from _inspections(log, today)


def in_order(rows: Iterable[TaskRow]) -> list[TaskRow]:
    """The most pressing first, then by day."""
    return sorted(rows, key=lambda row: (_GROUPS.index(row.group), row.day or "9999", row.job))


def grouped(rows: Iterable[TaskRow]) -> list[tuple[str, list[TaskRow]]]:
    """The rows under each group's name that has any, in the groups' order."""
    found: dict[str, list[TaskRow]] = {name: [] for name in _GROUPS}
    for row in rows:
        found[row.group].append(row)
    return [(name, rows) for name, rows in found.items() if rows]


def month(rows: Iterable[TaskRow], of: str, today: str) -> Month:
    """The month `of` ("2026-05") with what is due on each day. Raises ValueError for what is no month."""
    year, number = (int(part) for part in of.split("-"))
    due: dict[str, list[TaskRow]] = {}
    for row in rows:
        if row.day and row.group not in ("done", "dropped"):
            due.setdefault(row.day, []).append(row)
    weeks = tuple(
        tuple(Day(d, d.month == number, d.isoformat() == today, tuple(due.get(d.isoformat(), ()))) for d in week)
        for week in calendar.Calendar().monthdatescalendar(year, number)
    )
    return Month(
        f"{calendar.month_name[number]} {year}", _month_off(year, number, -1), _month_off(year, number, 1), weeks
    )


def _month_off(year: int, number: int, by: int) -> str:
    place = year * 12 + number - 1 + by
    return f"{place // 12:04d}-{place % 12 + 1:02d}"


def _tasks(log: JobLog, today: str) -> Iterable[TaskRow]:
    for task in log.tasks:
        day, hour = _moment(task.due)
        if task.status != "open":
            group = task.status
        elif day:
            group = _when(day, today)
        else:
            group = "waiting" if task.waits_on else "no day"
        yield TaskRow(log.job.id, task.what, day, hour, group, task.waits_on or "", task.who or "",
                      _name(task.system), task.origin == "inferred")  # fmt: skip


def _inspections(log: JobLog, today: str) -> Iterable[TaskRow]:
    """Inspections that are set for a day, once each."""
    for event in inspections_left(log)[1]:
        day, hour = _moment(event.when)
        if day:
            what = f"{(event.trade or '').replace('_', ' ')} inspection".strip()
            yield TaskRow(log.job.id, what, day, hour, _when(day, today), "", "", _name(event.system), False, True)


def _when(day: str, today: str) -> str:
    return "overdue" if day < today else "today" if day == today else "to come"


def _moment(iso: str | None) -> tuple[str, str]:
    """ISO date or date-time as the day and the hour in words."""
    if not iso:
        return "", ""
    return iso[:10], clock(datetime.fromisoformat(iso)) if "T" in iso else ""


def _name(system: str) -> str:
    return "" if system in ("main", "site") else system

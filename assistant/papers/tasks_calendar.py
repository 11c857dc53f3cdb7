"""What is due, as an iCalendar file or feed.

Due days are events (VEVENT), because the calendars people carry show events and most leave to-dos out; only an open
task without a day is a to-do (VTODO), for the programs that have a list of them. Times are floating: a note says
"ten to eight", never a time zone, and the site's clock is meant. An hour has no length, because none was said.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

from icalendar import Calendar, Component, Event, Todo

from assistant.papers.text import clean, name_of
from assistant.records import Event as Happening
from assistant.records import JobLog, Task


def tasks_calendar(logs: Iterable[JobLog], name: str = "superheard") -> bytes:
    """Open tasks, appointments and inspections of the jobs as one iCalendar document (RFC 5545, UTF-8).

    logs  any number of jobs; name  what the calendar is called

    The same thing keeps its UID from day to day, and the same logs give the same bytes: DTSTAMP is the job's last
    visit. A finished task has no due day and leaves the calendar; one that was dropped and still has a day is
    shown as cancelled; an inspection shows its result in the place of its appointment.
    """
    calendar = Calendar()
    calendar.add("prodid", "-//superheard//papers//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("x-wr-calname", clean(name))
    for log in logs:
        for entry in (*_tasks(log), *_appointments(log)):
            calendar.add_component(entry)
    return calendar.to_ical()


def _tasks(log: JobLog) -> Iterable[Component]:
    same: Counter[str] = Counter()
    for task in log.tasks:
        key = f"{task.system}\0{task.what}"
        uid = _uid(log, "task", key, str(same[key]))
        same[key] += 1
        when = _moment(task.due)
        if when is not None:
            status = {"done": "CONFIRMED", "dropped": "CANCELLED"}.get(task.status, "CONFIRMED")
            mark = {"done": "Done: ", "dropped": "Dropped: "}.get(task.status, "")
            yield _event(log, uid, when, mark + _titled(log, task.system, task.what), status, _about(task))
        elif task.status == "open":
            yield _described(Todo(), log, uid, _titled(log, task.system, task.what), "NEEDS-ACTION", _about(task))


def _about(task: Task) -> str:
    facts = [f"Waits on: {task.waits_on}" if task.waits_on else "", f"For: {task.who}" if task.who else ""]
    facts.append("Follows from the readings." if task.origin == "inferred" else "")
    return "\n".join(clean(fact) for fact in facts if fact)


def _appointments(log: JobLog) -> Iterable[Component]:
    """Inspections with a day, and whatever else was scheduled; a later word on the same one takes its place."""
    for number, event in _last_words(log):
        when = _moment(event.when)
        if when is None:
            continue
        what = " ".join(part for part in (event.trade, event.kind) if part).replace("_", " ")
        outcome = "" if event.outcome in (None, "scheduled") else f": {event.outcome}"
        uid = _uid(log, event.kind, f"{event.system}\0{event.trade}\0{event.what}", str(number))
        yield _event(log, uid, when, _titled(log, event.system, what + outcome), "CONFIRMED", f'Said: "{event.said}"')


def _last_words(log: JobLog) -> list[tuple[int, Happening]]:
    """Each appointment as it stands now, with its number among those of the same kind, trade, system and thing.

    "Scheduled for Friday", then "moved to Monday", then "passed": one appointment. What comes after a result is
    the next one. A result that names no day keeps the day that was set.
    """
    order = log.note_order()
    slots: dict[tuple, list[Happening]] = {}
    for event in sorted(log.events, key=lambda e: order.get(e.note, -1)):
        if event.kind != "inspection" and event.outcome != "scheduled":
            continue
        mine = slots.setdefault((event.kind, event.trade, event.system, event.what), [])
        if mine and mine[-1].outcome in (None, "scheduled"):
            before = mine.pop()
            event = event if event.when else replace(event, when=before.when)
        mine.append(event)
    return [(number, event) for mine in slots.values() for number, event in enumerate(mine)]


def _event(log: JobLog, uid: str, when: date | datetime, title: str, status: str, about: str) -> Component:
    entry = _described(Event(), log, uid, title, status, about)
    entry.add("dtstart", when)
    if not isinstance(when, datetime):
        entry.add("dtend", when + timedelta(days=1))  # the day after, as all-day events are written
        entry.add("transp", "TRANSPARENT")  # something due that day does not fill the day
    return entry


def _described(entry: Component, log: JobLog, uid: str, title: str, status: str, about: str) -> Component:
    entry.add("uid", uid)
    last = log.visits[-1].date if log.visits else "1970-01-01"
    entry.add("dtstamp", datetime.combine(date.fromisoformat(last), time(), UTC))
    # Grows with the job, so that a file imported again replaces what was imported before.
    entry.add("sequence", len(log.note_order()))
    entry.add("summary", clean(title))
    entry.add("status", status)
    if about:
        entry.add("description", about)
    return entry


def _titled(log: JobLog, system: str, what: str) -> str:
    where = f", {name_of(system)}" if name_of(system) else ""
    return f"{what} ({log.job.id}{where})"


def _uid(log: JobLog, *parts: str) -> str:
    whole = "\0".join((log.job.id, *parts))
    return f"{hashlib.sha256(whole.encode('utf-8', 'replace')).hexdigest()[:32]}@superheard"


def _moment(iso: str | None) -> date | datetime | None:
    """A date, or a date-time where an hour was said; None for what is neither."""
    if not iso:
        return None
    try:
        moment = datetime.fromisoformat(iso)
    except ValueError:
        return None
    return moment.replace(tzinfo=None) if "T" in iso else moment.date()

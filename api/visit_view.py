"""A job's visits as the office's page shows them: note by note what was said and what was written down. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from api.office_view import Value, values_of
from assistant.converse import report_words as words
from assistant.records import JobLog

_ALSO = (  # what else a note brought, and how each is written
    ("events", words.event),
    ("duct_runs", words.duct_run),
    ("materials", words.material),
    ("labour", words.labour),
    ("agreements", words.agreement),
    ("tasks", words.task),
)
_INSPECTED = ("inspection", "permit")


@dataclass(frozen=True, slots=True)
class Heard:
    """What the page needs to know of a note beside the log."""

    text: str  # everything that was said
    recording: bool  # spoken, not typed
    by: str = ""  # who told it
    unclear: tuple[tuple[float, float], ...] = ()  # stretches that could not be trusted [s]
    photos: tuple[Photo, ...] = ()


@dataclass(frozen=True, slots=True)
class Photo:
    sha256: str
    media_type: str

    @property
    def shown(self) -> bool:
        """Whether every browser can show it; others are offered as a file."""
        return self.media_type in ("image/jpeg", "image/png", "image/webp")


@dataclass(frozen=True, slots=True)
class NotePart:
    """One note."""

    note: str
    number: int  # within its visit, from 1
    heard: Heard
    values: tuple[Value, ...]
    also: tuple[str, ...]  # what else it brought, in words


@dataclass(frozen=True, slots=True)
class VisitPart:
    date: str  # ISO
    notes: tuple[NotePart, ...] = field(default=())

    @property
    def values(self) -> int:
        return sum(len(part.values) for part in self.notes)


def visits(log: JobLog, heard: Mapping[str, Heard]) -> tuple[VisitPart, ...]:
    """Every visit, the newest first; of each its notes in the order they were told.

    heard  what is known of each note besides, by its id; notes it holds that the log does not are left out
    """
    values = values_of(log)
    return tuple(
        VisitPart(
            visit.date,
            tuple(
                NotePart(note, number, heard[note], tuple(values.get(note, ())), also_of(log, note))
                for number, note in enumerate(visit.notes, 1)
            ),
        )
        for visit in reversed(log.visits)
    )


def also_of(log: JobLog, note: str) -> tuple[str, ...]:
    """What a note brought besides values, each in a few words."""
    return tuple(write(record) for name, write in _ALSO for record in getattr(log, name) if record.note == note)


def inspections(log: JobLog) -> list[tuple[str, str]]:
    """Permits and inspections in the order they were told, as the date of the visit and words."""
    days = {note: visit.date for visit in log.visits for note in visit.notes}
    return [(days.get(e.note, ""), words.event(e)) for e in log.events if e.kind in _INSPECTED]


def hours(log: JobLog) -> float:
    """The hours that were said, each times the people it was said for."""
    return sum(each.hours * (each.people or 1) for each in log.labour if each.hours)


def dated(log: JobLog, records: Iterable, write) -> list[tuple[str, str]]:
    """Records that carry a note, as the date of its visit and words."""
    days = {note: visit.date for visit in log.visits for note in visit.notes}
    return [(days.get(record.note, ""), write(record)) for record in records]

"""A job as it stood after each of its notes, so that "what was it the first day?" has an answer."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.records import JobLog, Note, Reading

_RECORDS = ("readings", "equipment", "duct_runs", "events", "tasks", "agreements", "materials", "labour", "retractions")


def says_something(note: Note) -> bool:
    """Whether a note adds to the job; one that only asks a question does not, and makes no visit."""
    return any(getattr(note, name) for name in _RECORDS) or (bool(note.remarks) and not note.questions)


@dataclass(frozen=True, slots=True)
class DayOnSite:
    """One visit: its date, and the place in the history of its first and last note."""

    date: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class JobHistory:
    """A job's notes, oldest first; `logs[i]` is the job's whole log after `notes[i]`."""

    notes: tuple[Note, ...]
    logs: tuple[JobLog, ...]

    def __post_init__(self) -> None:
        if len(self.notes) != len(self.logs):
            raise ValueError(f"{len(self.notes)} notes need as many logs, not {len(self.logs)}.")

    @property
    def latest(self) -> JobLog | None:
        """The log as it stands now; None before the first note."""
        return self.logs[-1] if self.logs else None

    def visits(self) -> tuple[DayOnSite, ...]:
        """The days on which something was told, oldest first."""
        days: dict[str, list[int]] = {}
        for place, note in enumerate(self.notes):
            if says_something(note):
                days.setdefault(note.date, []).append(place)
        return tuple(DayOnSite(date, min(places), max(places)) for date, places in sorted(days.items()))

    def log_after_visit(self, visit: int) -> JobLog:
        """The log at the end of a visit (0 is the first, -1 the last). Raises IndexError beyond them."""
        return self.logs[self.visits()[visit].last]

    def visit_on(self, date: str) -> int | None:
        """Which visit was on `date` (ISO); None when nothing was told that day."""
        return next((number for number, visit in enumerate(self.visits()) if visit.date == date), None)

    def visit_of(self, note: str) -> int | None:
        """Which visit a note (by id) belongs to; None for one that is not in this history."""
        found = self.note(note)
        return self.visit_on(found.date) if found else None

    def note(self, note: str) -> Note | None:
        """The note with that id, or None."""
        return next((each for each in self.notes if each.id == note), None)

    def order(self, note: str) -> int:
        """A note's place, oldest 0; -1 for one that is not in this history."""
        return next((place for place, each in enumerate(self.notes) if each.id == note), -1)

    def last_telling(self) -> Note | None:
        """The newest note that adds something (not a question by itself)."""
        return next((note for note in reversed(self.notes) if says_something(note)), None)

    def newest(self, readings: tuple[Reading, ...] | list[Reading]) -> Reading | None:
        """The reading said last: by note, then by place in the note."""
        return max(readings, key=lambda r: (self.order(r.note), r.position), default=None)

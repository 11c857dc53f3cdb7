"""Short ways to read a text in tests."""

from assistant.log.settle import start_job
from assistant.records import JobLog, Note, Reading, Transcript
from assistant.understand.read import read


def note(text: str, job: JobLog | None = None, day: str = "2026-05-12") -> Note:
    return read(Transcript(text), "note", day, job or start_job("job"))


def readings(text: str, job: JobLog | None = None) -> list[Reading]:
    return list(note(text, job).readings)


def current(text: str, job: JobLog | None = None) -> dict[str, float]:
    """Current values by quantity."""
    return {r.quantity: r.value for r in readings(text, job) if r.status == "current"}


def the(text: str, job: JobLog | None = None) -> Reading:
    """The one reading of a text."""
    found = readings(text, job)
    assert len(found) == 1, found
    return found[0]

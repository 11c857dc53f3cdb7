"""Short ways to read a text in tests."""

from assistant.log.settle import start_job
from assistant.records import JobLog, Note, Reading, Transcript, Word
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


def spoken(text: str, job: JobLog | None = None, probability: float = 0.95) -> list[Reading]:
    """The readings of a text that a recogniser wrote, each word as probable."""
    return list(read(transcript(text, probability), "note", "2026-05-12", job or start_job("job")).readings)


def transcript(text: str, probability: float = 0.95) -> Transcript:
    """`text` as a recogniser gives it: a second for each word."""
    words = tuple(Word(word, float(at), at + 0.9, probability) for at, word in enumerate(text.split()))
    return Transcript(" ".join(text.split()), words, (), float(len(words)), "base")


def heard_values(text: str, job: JobLog | None = None, probability: float = 0.95) -> dict[str, float]:
    """Current values by quantity, of what a recogniser wrote."""
    return {r.quantity: r.value for r in spoken(text, job, probability) if r.status == "current"}

"""What the office's pages ask of the door, gathered for the pure modules that make the pages."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fastapi import Request

from api.all_jobs import AllJobs
from api.attention import Standing
from api.office_view import STATUS
from api.visit_view import Heard, Photo
from api.work import Hearing
from assistant import Assistant
from assistant.converse.history import JobHistory
from assistant.converse.vocabulary import title
from assistant.judge.tables import concern_rows

_MOST_CHOICES = 200  # jobs in one field; of more, the search by name is the way


@dataclass(frozen=True, slots=True)
class HitLine:
    """One note that was found."""

    note: str
    job: str
    date: str  # ISO
    start_s: float | None
    pieces: tuple[tuple[bool, str], ...]  # marked or not, words
    plain: str  # the same without marks
    recorded: bool


def all_jobs(request: Request) -> AllJobs:
    """What the server knows of every job; made when it is first asked for."""
    state = request.app.state
    if not hasattr(state, "all_jobs"):
        state.all_jobs = AllJobs(state.assistant)
    return state.all_jobs


def job_choices(every: Iterable[Standing], chosen: str = "") -> list[tuple[str, str]]:
    """The jobs told last, to choose from, and the one that is chosen."""
    names = [each.job for each in every]
    return [(name, name) for name in names[:_MOST_CHOICES] + [name for name in names[_MOST_CHOICES:] if name == chosen]]


def system_choices(every: Iterable[Standing]) -> list[tuple[str, str]]:
    """Every system of any job that has a name, to choose from."""
    return [(name, name) for name in sorted({s for each in every for s in each.systems} - {"main", "site"})]


def finding_choices(every: Iterable[Standing]) -> list[tuple[str, str]]:
    """Every finding there is in any job, to choose from: verdicts that are not simply good, then concerns."""
    there = {finding for each in every for finding in each.findings}
    judged = [tuple(name.split(":")) for name in sorted(there) if ":" in name]
    listed = [(f"{about}:{status}", f"{title(about)} {STATUS.get(status, status)}") for about, status in judged]
    return listed + [(code, code.replace("_", " ")) for code in concern_rows() if code in there]


@dataclass(frozen=True, slots=True)
class Unheard:
    """A recording whose words are not known yet."""

    note: str
    date: str  # ISO
    reason: str = ""  # why it was given up; "" while it waits


def unheard_of(assistant: Assistant, hearing: Hearing, job: str) -> list[Unheard]:
    """A job's recordings that are still to be heard or were given up."""
    told = (assistant.note_told(note) for note in assistant.waiting())
    return [Unheard(each.id, each.date, hearing.state(each.id).reason or "") for each in told if each.job == job]


def heard_of(assistant: Assistant, job: str, history: JobHistory) -> dict[str, Heard]:
    """What is known of each note of a job beside its log."""
    photos: dict[str, list[Photo]] = {}
    for each in assistant.attachments(job):
        photos.setdefault(each.note, []).append(Photo(each.sha256, each.media_type))
    found = {}
    for note in history.notes:
        told, transcript = assistant.note_told(note.id), assistant.transcript(note.id)
        unclear = tuple((each.start_s, each.end_s) for each in transcript.unclear) if transcript else ()
        found[note.id] = Heard(note.text, told.recording is not None, told.by, unclear, tuple(photos.get(note.id, ())))
    return found


def hits(assistant: Assistant, asked: dict[str, str], most: int) -> list[HitLine]:
    """The notes that fit, best first."""
    found = assistant.search(
        asked["words"],
        job=asked["job"] or None,
        since=asked["since"] or None,
        until=asked["until"] or None,
        system=asked["system"] or None,
        finding=asked["finding"] or None,
        limit=most,
    )
    return [HitLine(h.note, h.job, h.date, h.start_s, pieces(h.snippet, h.marks), h.snippet, h.recorded) for h in found]


def pieces(words: str, marks: Iterable[tuple[int, int]]) -> tuple[tuple[bool, str], ...]:
    """`words` cut at its marks [characters, in order], each piece with whether it is marked."""
    cut, at = [], 0
    for start, end in marks:
        cut += [(False, words[at:start]), (True, words[start:end])]
        at = end
    return tuple(piece for piece in (*cut, (False, words[at:])) if piece[1])

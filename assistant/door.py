"""The one door for programs: tell it a note, ask it a question.

from assistant import Assistant
assistant = Assistant(home=None)
reply = assistant.tell(text="head pressure 345", job="print-shop")
answer = assistant.ask("what was the head pressure?", job="print-shop")
"""

from __future__ import annotations

import datetime
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unicodedata import category

from assistant import converse
from assistant.converse import JobHistory
from assistant.errors import AssistantError, NoteError
from assistant.ledger import Ledger
from assistant.log import derived
from assistant.log.record_json import pack, unpack
from assistant.log.store import Store, Told
from assistant.records import Answer, JobLog, Note, plain
from assistant.settings import Settings
from assistant.understand.commands import job_change

if TYPE_CHECKING:
    from assistant.hear.recording import Recording
    from assistant.hear.transcript import Ears

Progress = Callable[[str, float, float], None]  # what is being done, how much is done, of how much

_SHORT_TURN = 6  # words; a turn of a conversation that records nothing by itself ("scratch that") is no longer


@dataclass(frozen=True, slots=True)
class Reply:
    """What comes back for a note."""

    note: dict[str, Any]  # what this note alone said, in the contract's lists
    log: dict[str, Any]  # the job's whole log after it
    say: str  # the assistant's answer, written for the ear
    new: bool = True  # False: it had been told before and nothing changed


@dataclass(frozen=True, slots=True)
class Reread:
    """What working everything out again came to."""

    jobs: int
    notes: int
    heard: int  # recordings transcribed
    changed: tuple[str, ...]  # jobs whose log is different now
    failed: tuple[str, ...]  # recordings that could not be transcribed, each with the reason


class Assistant:
    """The assistant for one technician.

    home      None: nothing is written to disk (the recogniser's cache apart). A folder: everything is kept there.
    settings  the recogniser and its limits; defaults if None. `settings.home` is not looked at.
    progress  called during long work with (what, done, of how much)

    Safe to use from several threads: one note or question is dealt with at a time.
    """

    def __init__(
        self, home: Path | str | None = None, *, settings: Settings | None = None, progress: Progress | None = None
    ):
        self.home = Path(home) if home is not None else None
        self.settings = settings or Settings()
        self._progress = progress
        self._lock = threading.RLock()
        self._ears: Ears | None = None
        self._store = Store(self.home)
        self._ledger = Ledger(self._store, self.settings.gauge_percent, self.settings.thermometer_degf)

    def __enter__(self) -> Assistant:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the store. What was told is safe already."""
        self._store.close()

    # ------------------------------------------------------------ telling

    def tell(
        self,
        text: str | None = None,
        *,
        audio: Path | str | bytes | None = None,
        job: str | None = None,
        date: datetime.date | None = None,
    ) -> Reply:
        """One note: typed `text`, or `audio` (a file, or the bytes of one).

        job   begun if there is none of that name; None continues the current job, else begins one named from the date
        date  of the visit; today if None

        The recording is on the disk before it is listened to. A recording that was told before, or the same
        words for the same job and date, changes nothing, and `reply.new` is False.
        Raises NoteError, RecordingError, ModelError, StoreError.
        """
        if (text is None) == (audio is None):
            raise NoteError("A note is either text or audio: give one of them.")
        day = _iso(date)
        with self._lock:
            if text is not None:
                return self._tell_text(_tidy(text, "note"), job, day)
            return self._tell_audio(audio, job, day)

    def _tell_text(self, text: str, job: str | None, day: str) -> Reply:
        job = self._job_for(job or self._job_spoken_of(text), day)
        before = self._ledger.log(job)
        earlier = self._store.same_words(job, day, text)
        if earlier and not self._is_a_turn(earlier[-1]):
            return self._reply(earlier[-1], before, new=False)
        return self._reply(self._store.add_note(job, day, text=text, again=len(earlier)), before, new=True)

    def _tell_audio(self, source: Path | str | bytes, job: str | None, day: str) -> Reply:
        recording = self._read(source)
        told = self._store.same_recording(recording.sha256, self._store.find_job(job) if job else None)
        self._store.keep_recording(recording.sha256, recording.suffix, recording.raw, recording.duration_s)
        if told is None or (job and told.job != self._store.find_job(job)):
            job = self._job_for(job, day)
            told = self._store.add_note(job, day, recording=recording.sha256)
        self._set_current(told.job)
        before = self._ledger.log(told.job)
        new = not told.is_heard
        if new:
            told = self._hear(told, recording)
        reply = self._reply(told, before, new)
        if job is None and (next_job := self._job_spoken_of(reply.note["text"])):
            self._set_current(self._store.open_job(next_job))  # what is told from here on
        return reply

    def _reply(self, told: Told, before: JobLog, new: bool) -> Reply:
        after = self._ledger.log(told.job)
        note = self._ledger.note(told.id)
        if note.questions:
            heard = converse.reply(replace(note, questions=()), before, after) if new and _records(note) else ""
            answers = [self._answer(question, told.job, told.job, told.date).say for question in note.questions]
            say = " ".join([heard, *answers]).strip()  # values are read back first, so that a mishearing is caught
        elif new:
            say = self._went_back(note, told.job) or converse.reply(note, before, after)
        else:
            say = f"I have that note already, from {told.date}. Nothing changed."
        return Reply(plain(note), plain(after), say, new)

    def _is_a_turn(self, told: Told) -> bool:
        """Whether the same words may be said again and mean something new: "94", "scratch that", "unit two"."""
        words = told.text.split()
        return len(words) == 1 or (len(words) <= _SHORT_TURN and not _records(self._ledger.note(told.id)))

    def _job_for(self, job: str | None, day: str) -> str:
        """The job a note belongs to, which is the current one from now on."""
        return self._set_current(self._store.open_job(job or self.current_job() or day))

    def _went_back(self, note: Note, job: str) -> str:
        """What is said after "go back to the … job": the job it went to, or that there is none."""
        change = job_change(note.text)
        if change is None or change.is_new:
            return ""
        target = self._job_spoken_of(note.text)
        return f"Back on {target}." if target else f"I know no job called {change.name}. This stays with {job}."

    def _job_spoken_of(self, text: str) -> str | None:
        """The job that "new job at …" or "go back to the … job" names; None where the words name none we know."""
        change = job_change(text)
        if change is None:
            return None
        known = self._store.find_job(change.name)
        if change.is_new or known:
            return known or change.name
        return converse.job_called(change.name, self._ledger.histories())

    def _set_current(self, job: str) -> str:
        if self.current_job() != job:
            self._store.set_state("current job", job)
        return job

    # ------------------------------------------------------------ hearing

    def _read(self, source: Path | str | bytes) -> Recording:
        from assistant.hear.recording import read_recording  # slow to load, and typed notes never need it

        return read_recording(source, longest_s=self.settings.max_recording_hours * 3600)

    def _hear(self, told: Told, recording: Recording) -> Told:
        from assistant.hear import transcript

        if self._ears is None:
            use, step = self.settings, self._step("making the recogniser ready")
            if step:
                step(0.0)
            self._ears = transcript.load_ears(use.model, use.device, use.compute_type, use.threads, use.cache)
        return self._store.add_transcript(told, transcript.transcribe(recording, self._ears, self._step("listening")))

    def _step(self, what: str) -> Callable[[float], None] | None:
        return (lambda share: self._progress(what, share, 1.0)) if self._progress else None

    # ------------------------------------------------------------ asking

    def ask(self, question: str, job: str | None = None) -> Answer:
        """The answer to a question about `job`, or over all jobs if None.

        "that" and "and upstairs?" refer to what was asked before. Raises NoSuchJob, NoteError, StoreError.
        """
        question = _tidy(question, "question")
        with self._lock:
            about = self._store.job(job) if job else None
            return self._answer(question, about, about or "", _iso(None))

    def _answer(self, question: str, job: str | None, key: str, today: str) -> Answer:
        kept = self._store.state(f"focus {key}")
        focus = unpack(converse.Focus, kept) if kept else None
        answer, focus = converse.ask(question, self._ledger.histories(), job, focus, today)
        self._store.set_state(f"focus {key}", pack(focus))
        return answer

    # ------------------------------------------------------------ looking

    def current_job(self) -> str | None:
        """The job that `tell` continues; None before the first note."""
        with self._lock:
            return self._store.state("current job")

    def jobs(self) -> list[dict[str, Any]]:
        """Every job in a line, the one told last first."""
        with self._lock:
            for job in self._store.job_names():
                self._ledger.bring_up_to_date(job)
            return plain(derived.job_lines(self._store))

    def log(self, job: str | None = None) -> dict[str, Any]:
        """A job's whole log as the contract has it; the current job's if None. Raises NoSuchJob."""
        return plain(self.job_log(job))

    def job_log(self, job: str | None = None) -> JobLog:
        """A job's whole log as records; the current job's if None. Raises NoSuchJob, NoteError."""
        with self._lock:
            name = job or self.current_job()
            if name is None:
                raise NoteError("There is no job yet; tell a note first.")
            return self._ledger.log(self._store.job(name))

    def job_history(self, job: str | None = None) -> JobHistory:
        """A job's notes and its log after each; the current job's if None. Raises NoSuchJob, NoteError."""
        with self._lock:
            name = job or self.current_job()
            if name is None:
                raise NoteError("There is no job yet; tell a note first.")
            return self._ledger.history(self._store.job(name))

    def reread(self, listen: bool = False) -> Reread:
        """Work out every log again from what was told.

        listen  transcribe every recording again too, with the recogniser that is set now; recordings that
                have never been transcribed are in any case
        """
        with self._lock:
            jobs = self._store.job_names()
            notes = [note for job in jobs for note in self._store.notes(job)]
            heard, failed = self._listen_again([n for n in notes if n.recording and (listen or not n.is_heard)])
            done, changed = 0, []
            for job in jobs:
                before = derived.packed_log(self._store, job)
                done += self._ledger.bring_up_to_date(job, afresh=True)
                if self._progress:
                    self._progress("reading", done, len(notes))
                if derived.packed_log(self._store, job) != before:
                    changed.append(job)
            return Reread(len(jobs), done, heard, tuple(changed), tuple(failed))

    def _listen_again(self, notes: list[Told]) -> tuple[int, list[str]]:
        heard, failed = 0, []
        for note in notes:
            try:
                self._hear(note, self._read(self._store.recording_file(note.recording)))
                heard += 1
            except AssistantError as err:
                failed.append(f"{note.job}, {note.date}, note {note.id}: {err}")
        return heard, failed


def _records(note: Note) -> bool:
    """Whether a note says something that stands by itself, not only a question or a correction."""
    lists = (note.readings, note.equipment, note.duct_runs, note.events, note.tasks, note.agreements)
    return any(lists) or bool(note.materials or note.labour)


def _tidy(words: str, what: str) -> str:
    words = words.encode("utf-8", "replace").decode()  # half a character cannot be stored
    words = "".join(char for char in words if char.isspace() or category(char) != "Cc").strip()  # nor is ESC a word
    if not words:
        raise NoteError(f"There is nothing in that {what}.")
    return words


def _iso(date: datetime.date | None) -> str:
    if isinstance(date, datetime.datetime):
        date = date.date()
    if date is not None and not isinstance(date, datetime.date):
        raise NoteError(f"The date of a note is a datetime.date, not {date!r}.")
    return (date or datetime.date.today()).isoformat()

"""Telling: a note is taken in, heard and answered, three steps that need not happen at once.

Taking in is quick and safe: when `accept` is back the note is on the disk. Hearing takes as long as the recogniser
does and holds up nobody else. The answer follows from the store, so it can be had again at any time.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant import converse
from assistant.errors import NoteConflict, NoteError
from assistant.ledger import THINKING, Ledger
from assistant.log import derived
from assistant.log.store import Store, Told
from assistant.records import Answer, JobLog, Note, Transcript, plain
from assistant.settings import Settings
from assistant.understand.commands import job_change

if TYPE_CHECKING:
    from assistant.hear.elsewhere import Elsewhere
    from assistant.hear.recording import SoundFile
    from assistant.hear.transcript import Ears

Progress = Callable[[str, float, float], None]  # what is being done, how much is done, of how much

_SHORT_TURN = 6  # words; a turn of a conversation that records nothing by itself ("scratch that") is no longer
_LONGEST_ID = 100  # characters of an id a sender makes


@dataclass(frozen=True, slots=True)
class Accepted:
    """A note that is on the disk."""

    note: str  # its id
    job: str
    date: str  # ISO date of the visit
    new: bool  # False: it had been told before and nothing changed
    heard: bool  # False: a recording that has not been transcribed yet


@dataclass(frozen=True, slots=True)
class Reply:
    """What comes back for a note."""

    note: dict[str, Any]  # what this note alone said, in the contract's lists
    log: dict[str, Any]  # the job's whole log after it
    say: str  # the assistant's answer, written for the ear
    new: bool = True  # False: it had been told before and nothing changed


class Telling:
    """Takes notes in, hears them and answers them. Safe from several threads.

    answer     (question, job, teller, ISO date) → Answer, for a question told as a note
    elsewhere  where recordings are heard; None: in this process
    """

    def __init__(
        self,
        store: Store,
        ledger: Ledger,
        settings: Settings,
        progress: Progress | None,
        answer: Callable[[str, str, str, str], Answer],
        elsewhere: Elsewhere | None = None,
    ):
        self._store, self._ledger, self._settings, self._progress = store, ledger, settings, progress
        self._answer, self._elsewhere = answer, elsewhere
        self._ears: Ears | None = None
        self._ears_lock = threading.RLock()  # the recogniser hears one recording at a time
        self._loading = threading.Lock()

    # ------------------------------------------------------------ taking in

    def accept_text(self, text: str, job: str | None, day: str, client_id: str | None, by: str) -> Accepted:
        content = hashlib.sha256(text.encode()).hexdigest()
        if known := self._known(client_id, content):
            return known
        named = job is not None
        job = job or self._job_spoken_of(text)
        at = self._store.find_job(job) if job else self.current_job(by) or self._store.find_job(day)
        earlier = self._store.same_words(at, day, text) if at else []
        is_new = not earlier or self._is_a_turn(earlier[-1])
        with self._store.writing():
            if known := self._known(client_id, content):
                return known
            job = self._job_for(job, day, by)
            earlier = self._store.same_words(job, day, text)
            if is_new or not earlier:
                told = self._store.add_note(job, day, text=text, again=len(earlier), by=by, named=named)
            else:
                told = earlier[-1]
            self._remember(client_id, told, content)
        return _accepted(told, is_new or not earlier)

    def accept_recording(
        self, recording: SoundFile, job: str | None, day: str, client_id: str | None, by: str
    ) -> Accepted:
        content = recording.sha256
        if known := self._known(client_id, content):
            return known
        if not self._store.is_expired(content):
            self._store.keep_recording(content, recording.suffix, recording.raw, recording.duration_s)
        with self._store.writing():
            if known := self._known(client_id, content):
                return known
            told = self._store.same_recording(content, self._store.find_job(job) if job else None)
            new = told is None or bool(job and told.job != self._store.find_job(job))
            if new:
                where, earlier = self._job_for(job, day, by), self._store.same_recording(content)
                told = self._store.add_note(where, day, recording=content, by=by, named=job is not None)
                if earlier and self._store.is_expired(content):  # only what was heard of it is left
                    told = self._store.add_transcript(told, self._store.transcript(earlier))
            self._remember(client_id, told, content)
            self.set_current(told.job, by)
        return _accepted(told, new)

    def _known(self, client_id: str | None, content: str) -> Accepted | None:
        """The note sent under that id before. Raises NoteConflict where it was another, NoteError if it was deleted."""
        if client_id is None:
            return None
        if not client_id.isprintable() or not 0 < len(client_id) <= _LONGEST_ID:
            raise NoteError(f"The id of a note has 1 to {_LONGEST_ID} characters that can be printed.")
        sent = self._store.sent(client_id)
        if sent is None:
            return None
        if sent[1] != content:
            raise NoteConflict(f"The id {client_id} was given to another note before; a new note takes a new id.")
        return _accepted(self._store.note(sent[0]), new=False)

    def _remember(self, client_id: str | None, told: Told, content: str) -> None:
        if client_id is not None:
            self._store.add_sent(client_id, told.id, content)

    def _is_a_turn(self, told: Told) -> bool:
        """Whether the same words may be said again and mean something new: "94", "scratch that", "unit two"."""
        words = told.text.split()
        if len(words) <= 1 or len(words) > _SHORT_TURN:
            return len(words) == 1
        self._ledger.bring_up_to_date(told.job)
        return not records(self._ledger.note(told.id))

    # ------------------------------------------------------------ which job

    def current_job(self, by: str) -> str | None:
        return self._store.state(_current_key(by))

    def set_current(self, job: str, by: str) -> str:
        if self.current_job(by) != job:
            self._store.set_state(_current_key(by), job)
        return job

    def _job_for(self, job: str | None, day: str, by: str) -> str:
        """The job a note belongs to, which is its teller's current one from now on."""
        return self.set_current(self._store.open_job(job or self.current_job(by) or day), by)

    def _job_spoken_of(self, text: str) -> str | None:
        """The job that "new job at …" or "go back to the … job" names; None where the words name none we know."""
        change = job_change(text)
        if change is None:
            return None
        known = self._store.find_job(change.name)
        if change.is_new or known:
            return known or change.name
        with THINKING:
            return converse.job_called(change.name, self._ledger.histories())

    # ------------------------------------------------------------ hearing

    def check(self, source: Path | str | bytes) -> SoundFile:
        """A recording, looked through to its end, its sound not kept in memory."""
        from assistant.hear.recording import check_recording  # slow to load, and typed notes never need it

        return check_recording(source, longest_s=self._settings.max_recording_hours * 3600)

    def hear(self, note: str, recording: SoundFile | None = None, progress: Progress | None = None) -> Told:
        """Transcribe a note that has not been yet."""
        told = self._store.note(note)
        if told.is_heard:
            return told
        if self._elsewhere is not None:  # twice at the same time does no harm there: the same transcript is kept once
            return self.heard(note, self._heard_elsewhere(told, self._elsewhere, progress))
        with self.ears(progress):  # until it is kept, so that nobody hears the same note again
            told = self._store.note(note)
            return told if told.is_heard else self.heard(note, self.transcribed(told, recording, progress))

    def transcribed(self, told: Told, recording: SoundFile | None, progress: Progress | None) -> Transcript:
        from assistant.hear import transcript

        recording = recording or self.check(self._store.recording(told.recording))
        with self.ears(progress) as ears:
            return transcript.transcribe(recording, ears, self._step("listening", progress))

    def _heard_elsewhere(self, told: Told, elsewhere: Elsewhere, progress: Progress | None) -> Transcript:
        from assistant.hear.elsewhere import Recogniser

        if step := self._step("listening", progress):
            step(0.0)  # how far another machine is, it does not say
        kept = self._store.recording(told.recording)
        raw = kept.read_bytes() if isinstance(kept, Path) else kept
        return elsewhere.hear(raw, Recogniser.of(self._settings), self._settings.max_recording_hours * 3600)

    def heard(self, note: str, transcript: Transcript) -> Told:
        """Keep what was heard of a note; it rules from now on. "New job at …" in it moves its teller there."""
        told = self._store.note(note)
        first_time = not told.is_heard
        told = self._store.add_transcript(told, transcript)
        if first_time and not told.named and (job := self._job_spoken_of(transcript.text)):
            self.set_current(self._store.open_job(job), told.by)  # what is told from here on
        return told

    @contextmanager
    def ears(self, progress: Progress | None = None) -> Iterator[Ears]:
        """The recogniser, loaded, for one user at a time."""
        with self._ears_lock:
            yield self.weights(progress)

    def weights(self, progress: Progress | None = None) -> Ears:
        """The recogniser, loaded, whoever is using it."""
        from assistant.hear import transcript

        with self._loading:
            if self._ears is None:
                use, step = self._settings, self._step("making the recogniser ready", progress)
                if step:
                    step(0.0)
                self._ears = transcript.load_ears(use.model, use.device, use.compute_type, use.threads, use.cache)
            return self._ears

    def _step(self, what: str, progress: Progress | None) -> Callable[[float], None] | None:
        progress = progress or self._progress
        return (lambda share: progress(what, share, 1.0)) if progress else None

    # ------------------------------------------------------------ answering

    def reply_to(self, note: str, new: bool = True) -> Reply:
        """The answer to a note that has been heard."""
        told = self._store.note(note)
        if not told.is_heard:
            raise NoteError(f"Note {note} has not been heard yet.")
        log = self._ledger.log(told.job)
        with self._store.reading():
            said = self._ledger.note(note)
            before = derived.log_before(self._store, note) or JobLog(log.job)
            after = derived.log_after(self._store, note)
        if new:
            say = self._say(told, said, before, after)
        else:
            say = f"I have that note already, from {told.date}. Nothing changed."
        return Reply(plain(said), plain(log), say, new)

    def _say(self, told: Told, note: Note, before: JobLog, after: JobLog) -> str:
        if not note.questions:
            with THINKING:
                return self._went_back(note, told.job) or converse.reply(note, before, after)
        with THINKING:
            heard = converse.reply(replace(note, questions=()), before, after) if records(note) else ""
        answers = [self._answer(question, told.job, told.by, told.date).say for question in note.questions]
        return " ".join([heard, *answers]).strip()  # values are read back first, so that a mishearing is caught

    def _went_back(self, note: Note, job: str) -> str:
        """What is said after "go back to the … job": the job it went to, or that there is none."""
        change = job_change(note.text)
        if change is None or change.is_new:
            return ""
        target = self._job_spoken_of(note.text)
        return f"Back on {target}." if target else f"I know no job called {change.name}. This stays with {job}."


def records(note: Note) -> bool:
    """Whether a note says something that stands by itself, not only a question or a correction."""
    lists = (note.readings, note.equipment, note.duct_runs, note.events, note.tasks, note.agreements)
    return any(lists) or bool(note.materials or note.labour)


def _accepted(told: Told, new: bool) -> Accepted:
    return Accepted(told.id, told.job, told.date, new, told.is_heard)


def _current_key(by: str) -> str:
    return f"current job\x1f{by}" if by else "current job"

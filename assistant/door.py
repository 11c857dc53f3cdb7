"""The one door for programs: tell it a note, ask it a question.

from assistant import Assistant
assistant = Assistant(home=None)
reply = assistant.tell(text="head pressure 345", job="print-shop")
answer = assistant.ask("what was the head pressure?", job="print-shop")
"""

from __future__ import annotations

import datetime
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unicodedata import category

from assistant import converse
from assistant.converse import JobHistory
from assistant.errors import NoteError
from assistant.ledger import THINKING, Ledger
from assistant.log import attachments, derived, forgetting, searching
from assistant.log.attachments import Attachment
from assistant.log.forgetting import Forgotten
from assistant.log.record_json import pack, unpack
from assistant.log.searching import Hit
from assistant.log.store import Store, Told
from assistant.log.versions import versions
from assistant.records import Answer, Correction, JobLog, Transcript, plain
from assistant.rereading import Reread, reread
from assistant.setting_right import set_right
from assistant.settings import Settings
from assistant.telling import Accepted, Progress, Reply, Telling

if TYPE_CHECKING:
    from assistant.hear.elsewhere import Elsewhere
    from assistant.hear.transcript import Ears

_LONGEST_NAME = 60  # characters of a person's name


class Assistant:
    """The assistant for one technician.

    home      None: nothing is written to disk (the recogniser's cache apart). A folder: everything is kept there.
    settings  the recogniser and its limits; defaults if None. `settings.home` is not looked at.
    progress  called during long work with (what, done, of how much)
    elsewhere where recordings are heard (`hear.elsewhere`); None: in this process

    Safe to use from several threads. While a recording is listened to, everything else stays quick.
    """

    def __init__(
        self,
        home: Path | str | None = None,
        *,
        settings: Settings | None = None,
        progress: Progress | None = None,
        elsewhere: Elsewhere | None = None,
    ):
        self.home = Path(home) if home is not None else None
        self.settings = settings or Settings()
        self._progress, self._elsewhere = progress, elsewhere
        self._store = Store(self.home)
        self._ledger = Ledger(self._store, self.settings.gauge_percent, self.settings.thermometer_degf)
        self._telling = Telling(self._store, self._ledger, self.settings, progress, self._answer, elsewhere)
        self._asking = threading.Lock()  # what the talk was about is read, and written, by one question at a time

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
        by: str = "",
    ) -> Reply:
        """One note, taken in, heard and answered: typed `text`, or `audio` (a file, or the bytes of one).

        job   begun if there is none of that name; None continues the current job, else begins one named from the date
        date  of the visit; today if None
        by    who tells it; each person has a current job of their own

        The recording is on the disk before it is listened to. A recording that was told before, or the same
        words for the same job and date, changes nothing, and `reply.new` is False.
        Raises NoteError, RecordingError, ModelError, StoreError.
        """
        accepted, recording = self._accept(text, audio, job, date, None, by)
        new = accepted.new or not accepted.heard
        self._telling.hear(accepted.note, recording)
        return self._telling.reply_to(accepted.note, new)

    def accept(
        self,
        text: str | None = None,
        *,
        audio: Path | str | bytes | None = None,
        job: str | None = None,
        date: datetime.date | None = None,
        client_id: str | None = None,
        by: str = "",
    ) -> Accepted:
        """Take a note in, as `tell` does, without listening to it: when this is back, it is on the disk.

        client_id  an id the sender made (a UUID): the same one again is the same note and changes nothing

        Raises NoteConflict for a client_id that was given to other words or another recording; otherwise as `tell`.
        """
        return self._accept(text, audio, job, date, client_id, by)[0]

    def _accept(self, text, audio, job, date, client_id, by):
        if (text is None) == (audio is None):
            raise NoteError("A note is either text or audio: give one of them.")
        day, by = _iso(date), _person(by)
        if text is not None:
            return self._telling.accept_text(_tidy(text, "note"), job, day, client_id, by), None
        recording = self._telling.check(audio)
        return self._telling.accept_recording(recording, job, day, client_id, by), recording

    def hear(self, note: str, progress: Progress | None = None) -> Told:
        """Listen to a note that was accepted; one that has been heard already is left as it is.

        Raises NoSuchNote, RecordingError, ModelError, StoreError.
        """
        return self._telling.hear(note, progress=progress)

    def heard(self, note: str, transcript: Transcript) -> Told:
        """Keep what was heard of a note by somebody who listened to it while it was spoken. Raises NoSuchNote."""
        return self._telling.heard(note, transcript)

    @contextmanager
    def ears(self) -> Iterator[Ears]:
        """The recogniser, loaded, for nobody else meanwhile. Raises ModelError."""
        with self._telling.ears() as ears:
            yield ears

    def weights(self) -> Ears:
        """The recogniser, loaded, whoever is using it: for those who have state of their own beside it, as
        `hear.transcript.one_by_one` has. Raises ModelError."""
        return self._telling.weights()

    def reply_to(self, note: str) -> Reply:
        """The answer to a note that has been heard. Raises NoSuchNote; NoteError for one that has not."""
        return self._telling.reply_to(note)

    def waiting(self) -> list[str]:
        """Notes that were accepted and not transcribed yet, oldest first."""
        return self._store.waiting()

    # ------------------------------------------------------------ setting right

    def correct(
        self,
        note: str,
        *,
        quantity: str,
        said: str,
        action: str,
        value: float | None = None,
        unit: str | None = None,
        by: str,
    ) -> Correction:
        """Set a reading right; kept for ever with who and when. The original stays, and the job's log follows.

        quantity, said  which reading of the note, as the log has it
        action          "correct" to `value`, "confirm" as it was heard, or "discard"
        value, unit     for "correct": what it is, in `unit`, or the quantity's own unit if None
        by              who; a value that was not said has to be somebody's

        Raises NoSuchNote; NoteError for a reading, an action or a value that cannot be; UnitMismatch.
        """
        person = _person(by)
        if not person:
            raise NoteError("A correction takes the name of who makes it.")
        return set_right(self._store, self._ledger, note, quantity, said, action, value, unit, person)

    def corrections(self, job: str) -> list[Correction]:
        """What was set right in a job, oldest first; `found` is False where no reading answers to it any more.

        Raises NoSuchJob.
        """
        log = self._ledger.log(self._store.job(job))
        return sorted(log.corrections, key=lambda each: each.at)

    # ------------------------------------------------------------ photos

    def attach(self, note: str, raw: bytes, by: str) -> Attachment:
        """Keep a photo with a note: JPEG, PNG, WebP or HEIC, at most `settings.max_photo_mb`. Twice is once.

        Raises NoSuchNote, AttachmentError, StoreError.
        """
        most = int(self.settings.max_photo_mb * 1_000_000)
        return attachments.add(self._store, self._store.note(note), raw, _person(by), most)

    def attachments(self, job: str) -> list[Attachment]:
        """The photos of a job's notes, oldest first. Raises NoSuchJob."""
        return attachments.of_job(self._store, self._store.job(job))

    def attachment(self, sha256: str) -> Attachment:
        """The photo of that hash. Raises NoSuchAttachment."""
        return attachments.of_hash(self._store, sha256)

    def attachment_file(self, sha256: str) -> Path:
        """Its file. Raises NoSuchAttachment; StoreError where the file is gone."""
        return attachments.file_of(self._store, sha256)

    # ------------------------------------------------------------ asking

    def ask(self, question: str, job: str | None = None, by: str = "") -> Answer:
        """The answer to a question about `job`, or over all jobs if None.

        "that" and "and upstairs?" refer to what the same person asked before. Raises NoSuchJob, NoteError, StoreError.
        """
        question = _tidy(question, "question")
        about = self._store.job(job) if job else None
        return self._answer(question, about, _person(by), _iso(None))

    def _answer(self, question: str, job: str | None, by: str, today: str) -> Answer:
        key = f"focus {job or ''}\x1f{by}" if by else f"focus {job or ''}"
        with self._asking, THINKING:
            kept = self._store.state(key)
            focus = unpack(converse.Focus, kept) if kept else None
            answer, focus = converse.ask(question, self._ledger.histories(), job, focus, today)
            self._store.set_state(key, pack(focus))
        return answer

    def search(
        self,
        words: str = "",
        *,
        job: str | None = None,
        since: datetime.date | str | None = None,
        until: datetime.date | str | None = None,
        system: str | None = None,
        finding: str | None = None,
        limit: int = 50,
    ) -> list[Hit]:
        """Notes in which all `words` were said, typed or spoken; the one told last first. All notes if no words.

        since, until  first and last date of the visit, dates or ISO strings
        system        something was said of that system
        finding       the note's job has that concern ("charge_low") or verdict ("charge", "charge:low")
        limit         at most so many

        "words in quotes" are looked for as they stand. Raises NoSuchJob, NoteError for a date that is none.
        """
        job = self._store.job(job) if job else None
        if system or finding:
            self._ledger.all_up_to_date()
        days = [_iso_or_none(day) for day in (since, until)]
        return searching.search(self._store, words, job, *days, system, finding, limit)

    # ------------------------------------------------------------ looking

    def current_job(self, by: str = "") -> str | None:
        """The job that `tell` continues for that person; None before their first note."""
        return self._telling.current_job(_person(by))

    def open_job(self, name: str, by: str = "") -> str:
        """Begin the job of that name, or go on with it: that person's current one from now on. Its name as it stands.

        Raises StoreError for a name that is none.
        """
        return self._telling.set_current(self._store.open_job(name), _person(by))

    def jobs(self, limit: int | None = None, behind: str | None = None) -> list[dict[str, Any]]:
        """Jobs in a line, the one told last first: every one, or a page of them.

        limit   at most so many
        behind  only those that come after that job, the last of the page before

        Raises NoSuchJob.
        """
        behind = self._store.job(behind) if behind else None
        self._ledger.all_up_to_date()
        return plain(derived.job_lines(self._store, limit, behind))

    def jobs_with_open_tasks(self) -> list[str]:
        """The jobs in which something is still to do, the one told last first."""
        self._ledger.all_up_to_date()
        return derived.with_open_tasks(self._store)

    def jobs_visited_since(self, day: datetime.date) -> list[str]:
        """The jobs with a visit on that day or later, the one told last first."""
        return derived.visited_since(self._store, _iso(day))

    def versions(self) -> dict[str, str]:
        """Every job with a word that differs whenever its log does, the one told last first."""
        self._ledger.all_up_to_date()
        return versions(self._store)

    def log(self, job: str | None = None) -> dict[str, Any]:
        """A job's whole log as the contract has it; the current job's if None. Raises NoSuchJob."""
        return plain(self.job_log(job))

    def job_log(self, job: str | None = None) -> JobLog:
        """A job's whole log as records; the current job's if None. Raises NoSuchJob, NoteError."""
        return self._ledger.log(self._named(job))

    def job_history(self, job: str | None = None) -> JobHistory:
        """A job's notes and its log after each; the current job's if None. Raises NoSuchJob, NoteError."""
        return self._ledger.history(self._named(job))

    def _named(self, job: str | None) -> str:
        name = job or self.current_job()
        if name is None:
            raise NoteError("There is no job yet; tell a note first.")
        return self._store.job(name)

    def note_told(self, note: str) -> Told:
        """A note as it was told. Raises NoSuchNote."""
        return self._store.note(note)

    def transcript(self, note: str) -> Transcript | None:
        """The newest transcript of a note; typed words are their own. None for one not heard yet. Raises NoSuchNote."""
        return self._store.transcript(self._store.note(note))

    def recording_file(self, note: str) -> Path:
        """The file of a note's recording. Raises NoSuchNote; NoteError for a typed one; StoreError if it is gone."""
        told = self._store.note(note)
        if told.recording is None:
            raise NoteError(f"Note {note} was typed; there is no recording of it.")
        return self._store.recording_file(told.recording)

    # ------------------------------------------------------------ deleting

    def forget(self, job: str, by: str) -> Forgotten:
        """Delete a job for good: notes, recordings, photos, corrections, and all that follows from them.

        What stays is that a job was deleted, when and by whom. Copies made before are not touched.
        Raises NoSuchJob; NoteError without a name; StoreError where the disk will not have it.
        """
        by = _person(by)
        if not by:
            raise NoteError("A deletion takes the name of who makes it.")
        return forgetting.forget_job(self._store, job, by)

    def expire(self, by: str = "") -> int:
        """Delete recordings older than `settings.keep_recordings_days`, their words kept; how many. 0 days: none."""
        days = self.settings.keep_recordings_days
        return len(forgetting.expire(self._store, days, _person(by))) if days else 0

    def reread(self, listen: bool = False) -> Reread:
        """Work out every log again from what was told.

        listen  transcribe every recording again too, with the recogniser that is set now; recordings that
                have never been transcribed are in any case
        """
        return reread(self._store, self._ledger, self._telling, listen, self._progress, self._elsewhere)


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


def _iso_or_none(date: datetime.date | str | None) -> str | None:
    if isinstance(date, str):
        try:
            date = datetime.date.fromisoformat(date)
        except ValueError as err:
            raise NoteError(f"{date!r} is no date; it takes year-month-day.") from err
    return None if date is None else _iso(date)


def _person(name: str) -> str:
    """The name of whoever tells or corrects, as it is kept; "" for nobody in particular."""
    name = " ".join(name.split())
    if len(name) > _LONGEST_NAME or not name.isprintable():
        raise NoteError(f"{name[:40]!r} is no person's name; it has at most {_LONGEST_NAME} characters.")
    return name

"""What was told, kept for ever: jobs, recordings, notes and transcripts, in SQLite and files beside it.

A note is acknowledged (`add_note` returns) only once its recording and its row are on the disk. Notes and
transcripts are never changed; everything else in the store follows from them (`assistant.log.derived`).
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from assistant.errors import JobForgotten, NoSuchJob, NoSuchNote, NoteError, StoreError
from assistant.log import recordings
from assistant.log.connection import Connection
from assistant.log.record_json import pack, unpack
from assistant.log.trouble import told_plainly
from assistant.records import Transcript

DATABASE = "superheard.db"
RECORDINGS = "recordings"  # folder
_LONGEST_NAME = 200  # characters of a job's name


@dataclass(frozen=True, slots=True)
class Told:
    """One note as it was told."""

    id: str  # follows from the job, the words or the recording: the same note has the same id anywhere
    job: str
    date: str  # ISO date of the visit
    text: str | None  # typed words; None for a recording
    recording: str | None  # SHA-256 of the recording; None for typed words
    received_at: str  # ISO date-time with zone
    transcript: int | None  # row of the newest transcript; None where there is none (yet)
    by: str = ""  # who told it; nobody in particular on a command line
    named: bool = True  # whether its job was named by the teller, not found by where they were

    @property
    def is_heard(self) -> bool:
        """Whether its words are known; a recording's are once it has been transcribed."""
        return self.text is not None or self.transcript is not None


@dataclass(frozen=True, slots=True)
class Tombstone:
    """That a job was deleted; not which, unless one knows its name."""

    by: str
    at: str  # ISO date-time with zone
    notes: int
    salt: str
    key_hash: str  # `name_hash` of its name


class Store(Connection):
    """The store in `home` (made if need be), or one in memory that writes nothing at all (home None).

    Raises StoreError, saying what to do, when the disk or the database will not have it.
    """

    def __init__(self, home: Path | None):
        self.home = home
        self._unheard: dict[str, bytes] = {}  # recordings of a store in memory, until they are transcribed
        if home:
            with told_plainly(home / DATABASE):
                home.mkdir(parents=True, exist_ok=True)
        super().__init__(home / DATABASE if home else None)

    # ------------------------------------------------------------ jobs

    def job_names(self) -> list[str]:
        """Every job, the one told last first."""
        told_last = "SELECT id FROM job LEFT JOIN tally ON tally.job = job.id ORDER BY newest DESC, opened_at DESC"
        return [row["id"] for row in self.rows(told_last)]

    def find_job(self, name: str) -> str | None:
        """The job called that, whatever the case, spaces and hyphens; None if there is none."""
        found = self.rows("SELECT id FROM job WHERE key = ?", job_key(name))
        return found[0]["id"] if found else None

    def job(self, name: str) -> str:
        """The job called that. Raises NoSuchJob, and its kind JobForgotten for one that was deleted."""
        found = self.find_job(name)
        if found is not None:
            return found
        for stone in self.tombstones():
            if stone.key_hash == name_hash(stone.salt, name):
                raise JobForgotten(name, self.job_names(), stone.by, stone.at)
        raise NoSuchJob(name, self.job_names())

    def tombstones(self) -> list[Tombstone]:
        """Which jobs were deleted, as far as that is kept; the last one first."""
        sql = "SELECT by, at, notes, salt, key_hash FROM forgotten ORDER BY seq DESC"
        return [Tombstone(**row) for row in self.rows(sql)]

    def open_job(self, name: str) -> str:
        """The job called that, begun if there is none yet. Raises StoreError for a name that is none."""
        name = " ".join(name.split())
        if not job_key(name) or len(name) > _LONGEST_NAME or not name.isprintable():
            raise StoreError(
                f"{name[:40]!r} is no name for a job; it takes letters or digits, at most {_LONGEST_NAME}."
            )
        with self.writing() as db:
            db.table("job").insert({"id": name, "key": job_key(name), "opened_at": now()}, ignore=True)
        return self.job(name)

    # ------------------------------------------------------------ notes

    def keep_recording(self, sha256: str, suffix: str, raw: bytes, duration_s: float | None) -> None:
        """A recording, safe on the disk before its row says that it is there. Kept once, however often told."""
        if self.home:
            with self._plainly():
                recordings.keep(self.home / RECORDINGS, sha256, suffix, raw)
        else:
            self._unheard[sha256] = raw
        row = {"sha256": sha256, "suffix": suffix, "bytes": len(raw), "duration_s": duration_s, "received_at": now()}
        with self.writing() as db:
            db.table("recording").insert(row, ignore=True)
            if self.home and not recordings.place_of(self.home / RECORDINGS, sha256, suffix).exists():
                recordings.keep(self.home / RECORDINGS, sha256, suffix, raw)  # it was being deleted just now

    def recording(self, sha256: str) -> Path | bytes:
        """A recording to listen to: its file, or its bytes in a store in memory. Raises StoreError if it is gone."""
        return self._unheard.get(sha256) or self.recording_file(sha256)

    def recording_file(self, sha256: str) -> Path:
        """The file of a recording that is in the store. Raises StoreError where there is no such file."""
        row = self.rows("SELECT suffix FROM recording WHERE sha256 = ?", sha256)
        path = recordings.place_of(self.home / RECORDINGS, sha256, row[0]["suffix"]) if self.home and row else None
        for gone in self.rows("SELECT at FROM expired WHERE sha256 = ?", sha256):
            raise StoreError(
                f"The recording {sha256[:12]} was deleted on {gone['at'][:10]} by age; its words are kept."
            )
        if path is None or not path.exists():
            raise StoreError(f"The recording {sha256[:12]} is not on this disk{f' (it was {path})' if path else ''}.")
        return path

    def is_expired(self, sha256: str) -> bool:
        """Whether the file of a recording was deleted by age."""
        return bool(self.rows("SELECT 1 FROM expired WHERE sha256 = ?", sha256))

    def add_note(
        self,
        job: str,
        date: str,
        *,
        text: str | None = None,
        recording: str | None = None,
        again: int = 0,
        by: str = "",
        named: bool = True,
    ) -> Told:
        """A new note of `job`: typed `text`, or the hash of a `recording` that is kept already.

        date   ISO date of the visit
        again  how often the same words have been told before and meant something new each time
        """
        note = note_id(job, date, text, recording, again)
        row = {"id": note, "job": job, "date": date, "text": text, "recording": recording, "received_at": now()}
        with self.writing() as db:
            db.table("note").insert(row | {"by": by, "named": named}, ignore=True)
        return self.note(note)

    def note(self, note: str) -> Told:
        """The note with that id. Raises NoSuchNote."""
        found = self._told("note.id = ?", note)
        if not found:
            raise NoSuchNote(note)
        return found[0]

    def add_sent(self, client_id: str, note: str, content: str) -> None:
        """The sender's own id for a note, with a hash of what was sent under it."""
        with self.writing() as db:
            db.table("sent").insert({"client_id": client_id, "note": note, "content": content}, ignore=True)

    def sent(self, client_id: str) -> tuple[str, str] | None:
        """The note that was sent under an id and the hash of what was sent; None for an id that is new.

        Raises NoteError for a note that was deleted since.
        """
        if self.rows("SELECT 1 FROM not_again WHERE client_id = ?", client_id):
            raise NoteError("That note was told before and has been deleted since; it is not taken again.")
        found = self.rows("SELECT note, content FROM sent WHERE client_id = ?", client_id)
        return (found[0]["note"], found[0]["content"]) if found else None

    def waiting(self) -> list[str]:
        """Notes whose recording has not been transcribed yet, in the order they came in."""
        return [row["id"] for row in self.rows("SELECT id FROM unheard JOIN note USING (seq) ORDER BY seq")]

    def notes(self, job: str) -> list[Told]:
        """A job's notes, by date and then as they came in."""
        return self._told("job = ?", job)

    def same_words(self, job: str, date: str, text: str) -> list[Told]:
        """Typed notes of that job and date in just those words."""
        return self._told("job = ? AND date = ? AND text = ?", job, date, text)

    def same_recording(self, sha256: str, job: str | None = None) -> Told | None:
        """The note that recording was told as: in `job`, or in any job; None for a recording that is new."""
        found = self._told("recording = ? AND (job = ? OR ? IS NULL)", sha256, job, job)
        return found[0] if found else None

    def _told(self, where: str, *values: object) -> list[Told]:
        newest = "(SELECT max(seq) FROM transcript WHERE transcript.note = note.id) AS transcript"
        columns = f"id, job, date, text, recording, received_at, {newest}, by, named"
        found = self.rows(f"SELECT {columns} FROM note WHERE {where} ORDER BY date, seq", *values)
        return [Told(**row | {"named": bool(row["named"])}) for row in found]

    # ------------------------------------------------------------ transcripts

    def transcript(self, note: Told) -> Transcript | None:
        """The newest transcript of a note; typed words are their own. None for a recording not heard yet."""
        if note.transcript is None:
            return None if note.text is None else Transcript(note.text)
        row = self.rows("SELECT content FROM transcript WHERE seq = ?", note.transcript)[0]
        return unpack(Transcript, row["content"])

    def add_transcript(self, note: Told, transcript: Transcript) -> Told:
        """A further transcript, which rules from now on; earlier ones stay. The same one again changes nothing."""
        with self.writing() as db:
            if transcript != self.transcript(self.note(note.id)):
                row = {"note": note.id, "model": transcript.model, "content": pack(transcript), "made_at": now()}
                db.table("transcript").insert(row)
        self._unheard.pop(note.recording or "", None)
        return self.note(note.id)

    # ------------------------------------------------------------ where the conversation is

    def state(self, key: str) -> str | None:
        found = self.rows("SELECT value FROM state WHERE key = ?", key)
        return found[0]["value"] if found else None

    def set_state(self, key: str, value: str) -> None:
        with self.writing() as db:
            db.table("state").insert({"key": key, "value": value}, pk="key", replace=True)


def note_id(job: str, date: str, text: str | None, recording: str | None, again: int = 0) -> str:
    """A note's id: the same for the same recording of a job, or the same typed words of a job and date."""
    what = (job, "recording", recording) if recording else (job, "text", date, text, str(again))
    return hashlib.sha256("\0".join(map(str, what)).encode()).hexdigest()[:12]


def name_hash(salt: str, job: str) -> str:
    """What is kept of a deleted job's name: whether a name is the same can be told, the name cannot."""
    return hashlib.sha256(f"{salt}\0{job_key(job)}".encode()).hexdigest()


def job_key(name: str) -> str:
    """What names of the same job have in common."""
    return re.sub(r"[\W_]+", "-", name.casefold()).strip("-")


def now() -> str:
    return datetime.now().astimezone().isoformat(timespec="seconds")

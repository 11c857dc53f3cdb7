"""A job's log as the fold of its notes, worked out when it is needed and kept while it still holds.

Between the pure pipeline and the store: reads transcripts, runs the pipeline over them in order, and keeps
each step. Better rules, a back-dated note or a new transcript make the steps from there on again.
"""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

from assistant.converse.history import JobHistory
from assistant.log import derived
from assistant.log.store import Store, Told
from assistant.records import Job, JobLog, Note, Remark, Transcript

_reports = logging.getLogger("superheard")
RULES = (
    "understand",
    "compute",
    "judge",
    "log/settle.py",
    "log/tasks.py",
    "pipeline.py",
    "records.py",
    "units.py",
    "quantities.toml",
)


@cache
def rules_version() -> str:
    """A hash over every file that decides what a note means. It differs when a log may have to be worked out again."""
    package = Path(__file__).parent
    summed = hashlib.sha256()
    for name in RULES:
        part = package / name
        for file in sorted(part.rglob("*")) if part.is_dir() else [part]:
            if file.is_file() and file.suffix != ".pyc":
                summed.update(f"{file.relative_to(package)}\0".encode() + file.read_bytes())
    return summed.hexdigest()[:16]


class Ledger:
    """The logs of all jobs in a store, each brought up to date before it is handed out."""

    def __init__(self, store: Store, gauge_percent: float = 1.0, thermometer_degF: float = 1.0):
        self.store = store
        self._accuracy = (gauge_percent, thermometer_degF)

    def _rules(self) -> str:
        """What a log depends on besides its notes: the rules, and how well the instruments read."""
        return f"{rules_version()} {self._accuracy[0]:g} {self._accuracy[1]:g}"

    def bring_up_to_date(self, job: str, afresh: bool = False) -> int:
        """Work out what no longer holds, or everything if `afresh`; how many notes that took.

        A recording that has not been transcribed yet takes no part.
        """
        if not afresh and self._first_out_of_date(job)[0] is None:
            return 0
        from assistant import pipeline  # slow to load, and a log that still holds never needs it

        # Looked at again inside the transaction: another program may tell a note, or do this same work, just now.
        with self.store.writing():
            first, notes, chains = self._first_out_of_date(job, afresh)
            if first is None:
                return 0
            log = derived.log_after(self.store, notes[first - 1].id) if first else pipeline.start_job(job)
            steps = []
            for told, chain in zip(notes[first:], chains[first:], strict=True):
                note, log = _taken(told, self.store.transcript(told), log, self._accuracy)
                steps.append(derived.Step(chain, note, log))
            derived.save(self.store, job, first, steps)
        return len(steps)

    def _first_out_of_date(self, job: str, afresh: bool = False) -> tuple[int | None, list[Told], list[str]]:
        """The place of the first note whose step no longer holds (None: all hold), the notes, and their chains."""
        notes = [note for note in self.store.notes(job) if note.is_heard]
        chains = derived.chains(job, notes, self._rules())
        known = {} if afresh else derived.known_chains(self.store, job)
        held = (known.get(note.id) == chain for note, chain in zip(notes, chains, strict=True))
        return next((place for place, holds in enumerate(held) if not holds), None), notes, chains

    def log(self, job: str) -> JobLog:
        """The job's whole log as it stands now."""
        self.bring_up_to_date(job)
        return derived.latest_log(self.store, job) or JobLog(Job(job))

    def note(self, note: str) -> Note:
        """What one note says, by itself."""
        return derived.note_read(self.store, note)

    def history(self, job: str) -> JobHistory:
        """Every note of the job, and the log after each."""
        self.bring_up_to_date(job)
        return JobHistory(*derived.history(self.store, job))

    def histories(self) -> Histories:
        return Histories(self)


def _taken(told: Told, transcript: Transcript, log: JobLog, accuracy: tuple[float, float]) -> tuple[Note, JobLog]:
    """A note taken, or kept in the speaker's words alone where a fault in the rules stops it.

    One note that trips a rule must not lock the whole job away. The fault is reported, the words stay as a
    remark, and once the rule is mended the note is read again like any that is out of date.
    """
    from assistant import pipeline
    from assistant.compute import Instruments
    from assistant.log.settle import settle

    try:
        return pipeline.take_note(transcript, told.id, told.date, log, Instruments(*accuracy))
    except Exception as fault:
        _reports.error(
            "Note %s of %s (%s) is kept unread; a rule failed on it: %r", told.id, told.job, told.date, fault
        )
        note = Note(told.id, told.date, transcript.text, remarks=(Remark(transcript.text, told.id),))
        return note, settle(log, note)


class Histories(Mapping[str, JobHistory]):
    """Every job's history by job, each loaded when it is looked at."""

    def __init__(self, ledger: Ledger):
        self._ledger = ledger
        self._names = ledger.store.job_names()
        self._loaded: dict[str, JobHistory] = {}

    def __getitem__(self, job: str) -> JobHistory:
        if job not in self._names:
            raise KeyError(job)
        if job not in self._loaded:
            self._loaded[job] = self._ledger.history(job)
        return self._loaded[job]

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)

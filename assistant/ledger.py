"""A job's log as the fold of its notes, worked out when it is needed and kept while it still holds.

Between the pure pipeline and the store: reads transcripts, runs the pipeline over them in order, and keeps
each step. Better rules, a back-dated note or a new transcript make the steps from there on again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from pathlib import Path

from assistant.converse.history import JobHistory
from assistant.log import derived
from assistant.log.store import Store
from assistant.records import Job, JobLog, Note

RULES = ("understand", "compute", "judge", "log/settle.py", "pipeline.py", "records.py", "units.py", "quantities.toml")


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

    def __init__(self, store: Store):
        self.store = store

    def bring_up_to_date(self, job: str, afresh: bool = False, step: Callable[[], None] | None = None) -> int:
        """Work out what no longer holds, or everything if `afresh`; how many notes that took.

        A recording that has not been transcribed yet takes no part. `step` is called after each note.
        """
        notes = [note for note in self.store.notes(job) if note.is_heard]
        chains = derived.chains(job, notes, rules_version())
        known = {} if afresh else derived.known_chains(self.store, job)
        good = 0
        while good < len(notes) and known.get(notes[good].id) == chains[good]:
            good += 1
        if good == len(notes):
            return 0
        from assistant import pipeline  # slow to load, and a log that still holds never needs it

        log = derived.log_after(self.store, notes[good - 1].id) if good else pipeline.start_job(job)
        steps = []
        for told, chain in zip(notes[good:], chains[good:], strict=True):
            note, log = pipeline.take_note(self.store.transcript(told), told.id, told.date, log)
            steps.append(derived.Step(chain, note, log))
            if step:
                step()
        derived.save(self.store, job, good, steps)
        return len(steps)

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

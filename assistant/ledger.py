"""A job's log as the fold of its notes, worked out when it is needed and kept while it still holds.

Between the pure pipeline and the store: reads transcripts, runs the pipeline over them in order, and keeps
each step. Better rules, a back-dated note, a new transcript or a correction make the steps from there on again.
"""

from __future__ import annotations

import hashlib
import logging
import threading
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from assistant.converse.history import JobHistory
from assistant.errors import RulesDiffer
from assistant.log import corrections, derived
from assistant.log.store import Store, Told
from assistant.records import Correction, Job, JobLog, Note, Remark, Transcript

THINKING = threading.RLock()  # reading and answering share tables that are filled as they go
_reports = logging.getLogger("superheard")
RULES = (
    "understand",
    "compute",
    "judge",
    "log/correcting.py",
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
        self._jobs: dict[str, threading.Lock] = {}

    def _rules(self) -> str:
        """What a log depends on besides its notes: the rules, and how well the instruments read."""
        return f"{rules_version()} {self._accuracy[0]:g} {self._accuracy[1]:g}"

    def bring_up_to_date(self, job: str, afresh: bool = False, thinking: bool = False) -> int:
        """Work out what no longer holds, or everything if `afresh`; how many notes that took.

        thinking  whether the caller has THINKING: then it waits for nobody who is at the same job

        A recording that has not been transcribed yet takes no part. Nothing is held up while it works: what others
        tell of the job meanwhile is taken in too before it is done.
        """
        rules = self._rules()
        if not afresh and derived.holds(self.store, job, rules):
            return 0
        if thinking:
            return self._work_out(job, rules, afresh)
        with self._jobs.setdefault(job, threading.Lock()):  # so that two who look at a job do not both work it out
            if not afresh and derived.holds(self.store, job, rules):
                return 0
            return self._work_out(job, rules, afresh)

    def _work_out(self, job: str, rules: str, afresh: bool) -> int:
        made: dict[str, derived.Step] = {}  # by chain: what was worked out still holds if others tell more meanwhile
        while True:
            with self.store.reading():
                told = self._told(job, rules)
                first = 0 if afresh else self._first_out_of_date(job, told)
                log = derived.log_after(self.store, told[first - 1].id) if first else None
            self._make(job, told[first:], log, made)
            if self._saved(job, rules, afresh, made):
                return len(made)

    def work(self, job: str) -> Work:
        """All that is needed to work a job out anywhere else."""
        rules = self._rules()
        with self.store.reading():
            told = tuple(self._told(job, rules))
            words = tuple(self.store.transcript(each.note) for each in told)
        return Work(job, told, words, rules, self._accuracy)

    def keep(self, work: Work, steps: Sequence[derived.Step]) -> int:
        """Keep what `worked_out` made of a job; how many notes. What was told meanwhile is worked out here."""
        if self._saved(work.job, work.rules, True, {step.chain: step for step in steps}):
            return len(steps)
        return self.bring_up_to_date(work.job, afresh=True)

    def all_up_to_date(self) -> None:
        """Bring every job up to date."""
        for job in derived.out_of_date(self.store, self._rules()):
            self.bring_up_to_date(job)

    def _told(self, job: str, rules: str) -> list[_Known]:
        """The job's notes that have been heard, each with its words, corrections and chain."""
        notes = [note for note in self.store.notes(job) if note.is_heard]
        made = corrections.of_job(self.store, job)
        chains = derived.chains(job, notes, rules, made)
        return [_Known(note, chain, made.get(note.id, ())) for note, chain in zip(notes, chains, strict=True)]

    def _first_out_of_date(self, job: str, told: list[_Known]) -> int:
        """The place of the first note whose step no longer holds; the number of notes if all hold."""
        known = derived.known_chains(self.store, job)
        held = (known.get(each.id) == each.chain for each in told)
        return next((place for place, holds in enumerate(held) if not holds), len(told))

    def _make(self, job: str, told: list[_Known], log: JobLog | None, made: dict[str, derived.Step]) -> None:
        """Work out the steps of notes that follow one another, `log` being what stands before them."""
        for each in told:
            if each.chain not in made:
                with THINKING:
                    made[each.chain] = _step(job, each, self.store.transcript(each.note), log, self._accuracy)
            log = made[each.chain].log

    def _saved(self, job: str, rules: str, afresh: bool, made: dict[str, derived.Step]) -> bool:
        """Keep what was worked out, unless something was told meanwhile that is still to be."""
        with self.store.writing():
            told = self._told(job, rules)
            first = 0 if afresh else self._first_out_of_date(job, told)  # another program may have done some of it
            if any(each.chain not in made for each in told[first:]):
                return False
            if told[first:]:
                derived.save(self.store, job, first, [made[each.chain] for each in told[first:]])
            derived.settle(self.store, job, rules)
            return True

    def log(self, job: str) -> JobLog:
        """The job's whole log as it stands now."""
        self.bring_up_to_date(job)
        return derived.latest_log(self.store, job) or JobLog(Job(job))

    def note(self, note: str) -> Note:
        """What one note says, by itself. Raises NoSuchNote for one that was deleted meanwhile."""
        return derived.note_read(self.store, note)

    def history(self, job: str, thinking: bool = False) -> JobHistory:
        """Every note of the job, and the log after each."""
        self.bring_up_to_date(job, thinking=thinking)
        return JobHistory(*derived.history(self.store, job))

    def histories(self) -> Histories:
        return Histories(self)


@dataclass(frozen=True, slots=True)
class _Known:
    """A note that has been heard, with all that its step depends on."""

    note: Told
    chain: str
    corrections: tuple[Correction, ...]

    @property
    def id(self) -> str:
        return self.note.id


@dataclass(frozen=True, slots=True)
class Work:
    """A job to be worked out, in plain values that any process or machine can be sent."""

    job: str
    told: tuple[_Known, ...]
    words: tuple[Transcript, ...]  # of each note that was told
    rules: str
    accuracy: tuple[float, float]


def worked_out(work: Work) -> list[derived.Step]:
    """The steps of a job, from its first note on. Raises RulesDiffer where this program has other rules."""
    if work.rules.split()[0] != rules_version():
        raise RulesDiffer("a worker has another version of superheard")
    steps: list[derived.Step] = []
    for each, transcript in zip(work.told, work.words, strict=True):
        log = steps[-1].log if steps else None
        steps.append(_step(work.job, each, transcript, log, work.accuracy))
    return derived.packed_up(steps)


def _step(
    job: str, known: _Known, transcript: Transcript, log: JobLog | None, accuracy: tuple[float, float]
) -> derived.Step:
    from assistant import pipeline  # slow to load, and a log that still holds never needs it

    note, after = _taken(known, transcript, log or pipeline.start_job(job), accuracy)
    return derived.Step(known.chain, note, after)


def _taken(known: _Known, transcript: Transcript, log: JobLog, accuracy: tuple[float, float]) -> tuple[Note, JobLog]:
    """A note taken, or kept in the speaker's words alone where a fault in the rules stops it.

    One note that trips a rule must not lock the whole job away. The fault is reported, the words stay as a
    remark, and once the rule is mended the note is read again like any that is out of date.
    """
    from assistant import pipeline
    from assistant.compute import Instruments
    from assistant.log.settle import settle

    told = known.note
    try:
        return pipeline.take_note(transcript, told.id, told.date, log, Instruments(*accuracy), known.corrections)
    except Exception as fault:
        _reports.error(
            "Note %s of %s (%s) is kept unread; a rule failed on it: %r", told.id, told.job, told.date, fault
        )
        note = Note(told.id, told.date, transcript.text, remarks=(Remark(transcript.text, told.id),))
        lost = tuple(replace(each, found=False) for each in known.corrections)
        return note, settle(replace(log, corrections=log.corrections + lost), note)


class Histories(Mapping[str, JobHistory]):
    """Every job's history by job, each loaded when it is looked at, by whoever has THINKING."""

    def __init__(self, ledger: Ledger):
        self._ledger = ledger
        self._names = ledger.store.job_names()
        self._loaded: dict[str, JobHistory] = {}

    def __getitem__(self, job: str) -> JobHistory:
        if job not in self._names:
            raise KeyError(job)
        if job not in self._loaded:
            self._loaded[job] = self._ledger.history(job, thinking=True)
        return self._loaded[job]

    def __iter__(self) -> Iterator[str]:
        return iter(self._names)

    def __len__(self) -> int:
        return len(self._names)

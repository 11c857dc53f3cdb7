"""What follows from a job's notes, kept so that it need not be worked out again: each note read, and the log after it.

A row is good as long as its `chain` is: a hash over the rules, the notes up to it, their transcripts and corrections.
When any of those changes, the rows from there on no longer match and are made again.
"""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from assistant.errors import NoSuchNote
from assistant.log.record_json import pack, unpack
from assistant.log.store import Store, Told
from assistant.records import Correction, JobLog, Note


@dataclass(frozen=True, slots=True)
class Step:
    """One note of a job: what it says, and the job's log after it."""

    chain: str
    note: Note
    log: JobLog


@dataclass(frozen=True, slots=True)
class JobLine:
    """One job in a list of jobs."""

    id: str
    site: str | None
    customer: str | None
    first: str | None  # ISO date of the first note
    last: str | None
    notes: int
    open_tasks: int
    verdicts: tuple[tuple[str, str, str], ...]  # system, about, status
    stop: int  # concerns by severity
    attention: int


def chains(
    job: str, notes: Iterable[Told], rules: str, corrections: Mapping[str, Sequence[Correction]] = MappingProxyType({})
) -> list[str]:
    """For each note of a job in order, what everything derived up to it depends on."""
    link, made = hashlib.sha256(f"{rules}\0{job}".encode()).hexdigest(), []
    for note in notes:
        for correction in corrections.get(note.id, ()):
            link = hashlib.sha256(f"{link}\0{pack(correction)}".encode()).hexdigest()
        link = hashlib.sha256(f"{link}\0{note.id}\0{note.date}\0{note.transcript}".encode()).hexdigest()
        made.append(link)
    return made


def known_chains(store: Store, job: str) -> dict[str, str]:
    """The chain of each note of the job that has been derived, by note id."""
    return {row["note"]: row["chain"] for row in store.rows("SELECT note, chain FROM derived WHERE job = ?", job)}


def holds(store: Store, job: str, rules: str) -> bool:
    """Whether nothing was told of the job, and no rule changed, since everything about it was derived."""
    return bool(store.rows("SELECT 1 FROM settled WHERE job = ? AND rules = ?", job, rules))


def out_of_date(store: Store, rules: str) -> list[str]:
    """The jobs about which something has to be derived."""
    sql = "SELECT id FROM job LEFT JOIN settled ON settled.job = job.id WHERE settled.rules IS NOT ?"
    return [row["id"] for row in store.rows(sql, rules)]


def settle(store: Store, job: str, rules: str) -> None:
    """Remember that everything derived of the job holds; whatever is told of it next undoes that (by trigger)."""
    with store.writing() as db:
        db.execute("INSERT OR REPLACE INTO settled (job, rules) SELECT id, ? FROM job WHERE id = ?", (rules, job))


def log_after(store: Store, note: str) -> JobLog:
    """The job's log after a note that has been derived."""
    return _log_of(store.rows("SELECT log_json FROM derived WHERE note = ?", note)[0]["log_json"])


def log_before(store: Store, note: str) -> JobLog | None:
    """The job's log before a note that has been derived; None if it is the job's oldest."""
    found = store.rows(
        """SELECT earlier.log_json FROM derived
        JOIN derived AS earlier ON earlier.job = derived.job AND earlier.place = derived.place - 1
        WHERE derived.note = ?""",
        note,
    )
    return _log_of(found[0]["log_json"]) if found else None


def note_read(store: Store, note: str) -> Note:
    """What a note that has been derived says. Raises NoSuchNote for one that is not there."""
    found = store.rows("SELECT note_json FROM derived WHERE note = ?", note)
    if not found:
        raise NoSuchNote(note)
    return unpack(Note, _open(found[0]["note_json"]))


def latest_log(store: Store, job: str) -> JobLog | None:
    """The newest log kept for the job; None if there is none."""
    packed = packed_log(store, job)
    return _log_of(packed) if packed else None


def packed_log(store: Store, job: str) -> bytes | None:
    """The newest log as it lies in the store, to see whether it changed; None if there is none."""
    found = store.rows("SELECT log_json FROM derived WHERE job = ? ORDER BY place DESC LIMIT 1", job)
    return found[0]["log_json"] if found else None


class Logs(Sequence[JobLog]):
    """Logs as they lie in the store, each unpacked when it is looked at: a question seldom needs them all."""

    def __init__(self, packed: Sequence[bytes]):
        self._packed = packed

    def __len__(self) -> int:
        return len(self._packed)

    def __getitem__(self, place):
        if isinstance(place, slice):
            return tuple(self[each] for each in range(*place.indices(len(self))))
        return _log_of(self._packed[place])


def history(store: Store, job: str) -> tuple[tuple[Note, ...], Logs]:
    """Every note of the job as read, and the log after each, oldest first."""
    found = store.rows("SELECT note_json, log_json FROM derived WHERE job = ? ORDER BY place", job)
    notes = tuple(unpack(Note, _open(row["note_json"])) for row in found)
    return notes, Logs([row["log_json"] for row in found])


def save(store: Store, job: str, first: int, steps: Sequence[Step]) -> None:
    """Replace what is derived of `job` from place `first` on. Saved twice, the same rows."""
    log = steps[-1].log
    open_tasks = sum(task.status == "open" for task in log.tasks)
    with store.writing() as db:
        db.execute("DELETE FROM derived WHERE job = ? AND place >= ?", (job, first))
        for place, step in enumerate(steps, first):
            packed = {"note_json": _close(pack(step.note)), "log_json": _close(pack(step.log))}
            row = {"note": step.note.id, "job": job, "place": place, "chain": step.chain, **packed}
            db.table("derived").insert(row, replace=True)
            systems = _systems(step.note)
            db.execute("DELETE FROM mention WHERE job = ? AND note = ?", (job, step.note.id))
            db.conn.executemany("INSERT INTO mention VALUES (?, ?, ?)", [(job, step.note.id, s) for s in systems])
        standing = {"job": job, "site": log.job.site, "customer": log.job.customer, "open_tasks": open_tasks}
        db.table("standing").insert(standing, replace=True)
        for table, columns, records in (
            ("reading", ("note", "system", "quantity", "role", "qualifier", "value", "unit", "status"), log.readings),
            ("verdict", ("system", "about", "status"), log.verdicts),
            ("concern", ("system", "code", "severity"), log.concerns),
        ):
            # By hand, because this runs with every note and the library looks every table up again each time.
            db.execute(f"DELETE FROM {table} WHERE job = ?", (job,))
            places = ", ".join("?" * (len(columns) + 1))
            rows = [(job, *(getattr(record, column) for column in columns)) for record in records]
            db.conn.executemany(f"INSERT INTO {table} (job, {', '.join(columns)}) VALUES ({places})", rows)


def _systems(note: Note) -> set[str]:
    """The systems a note says something of."""
    lists = (note.readings, note.equipment, note.duct_runs, note.events, note.tasks, note.agreements)
    return {record.system for records in lists for record in records}


def job_lines(store: Store) -> list[JobLine]:
    """Every job in a line, the one told last first. Only as good as what has been derived."""
    verdicts: dict[str, list[tuple[str, str, str]]] = {}
    for row in store.rows("SELECT DISTINCT job, system, about, status FROM verdict"):
        verdicts.setdefault(row["job"], []).append((row["system"], row["about"], row["status"]))
    found = store.rows(
        """
        SELECT job.id, site, customer, first, last, coalesce(notes, 0) AS notes,
               coalesce(open_tasks, 0) AS open_tasks,
               (SELECT count(*) FROM concern WHERE concern.job = job.id AND severity = 'stop') AS stop,
               (SELECT count(*) FROM concern WHERE concern.job = job.id AND severity = 'attention') AS attention
        FROM job LEFT JOIN tally ON tally.job = job.id LEFT JOIN standing ON standing.job = job.id
        ORDER BY newest DESC, opened_at DESC
        """
    )
    return [JobLine(**row, verdicts=tuple(verdicts.get(row["id"], ()))) for row in found]


@lru_cache(maxsize=64)
def _log_of(packed: bytes) -> JobLog:
    """A log out of its stored form. Remembered: the same few are looked at before and after each note."""
    return unpack(JobLog, _open(packed))


def let_go() -> None:
    """Forget the logs that are remembered in memory."""
    _log_of.cache_clear()


def _close(text: str) -> bytes:
    return zlib.compress(text.encode())


def _open(packed: bytes) -> str:
    return zlib.decompress(packed).decode()

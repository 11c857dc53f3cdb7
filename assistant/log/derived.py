"""What follows from a job's notes, kept so that it need not be worked out again: each note read, and the log after it.

A row is good as long as its `chain` is: a hash over the rules, the notes up to it, their transcripts and corrections.
When any of those changes, the rows from there on no longer match and are made again.
"""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
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
    log: JobLog | None  # None where it is only kept packed
    packed: tuple[bytes, bytes] | None = None  # note and log as they are stored, where that was done already


def packed_up(steps: Sequence[Step]) -> list[Step]:
    """Steps ready to be stored, the logs but the last only packed: less to send, and less to do for whoever stores."""
    ready = [replace(step, log=None, packed=(_close(pack(step.note)), _close(pack(step.log)))) for step in steps]
    return [*ready[:-1], replace(ready[-1], log=steps[-1].log)] if ready else []


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
    with store.reading():
        others = "SELECT job FROM settled WHERE rules < ?1 UNION ALL SELECT job FROM settled WHERE rules > ?1"
        found = store.rows(others, rules)
        (count,) = store.rows("SELECT (SELECT count(*) FROM job) AS jobs, (SELECT count(*) FROM settled) AS settled")
        if count["jobs"] != count["settled"]:  # every settled job is one, so as many are all of them
            found += store.rows("SELECT id AS job FROM job WHERE id NOT IN (SELECT job FROM settled)")
    return [row["job"] for row in found]


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
            note_json, log_json = step.packed or (_close(pack(step.note)), _close(pack(step.log)))
            row = {"note": step.note.id, "job": job, "place": place, "chain": step.chain}
            row |= {"note_json": note_json, "log_json": log_json}
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


def job_lines(store: Store, limit: int | None = None, behind: str | None = None) -> list[JobLine]:
    """Jobs in a line, the one told last first, those of which nothing was told at the end; as good as what is derived.

    limit   at most so many; None: all
    behind  only those that come after that job: the last of the page before
    """
    told = _told_jobs(store, limit, behind)
    left = None if limit is None else limit - len(told)
    rows = told + (_untold_jobs(store, left, behind) if left != 0 else [])
    verdicts = _verdicts_of(store, None if limit is None else [row["id"] for row in rows])
    return [JobLine(**row, verdicts=tuple(verdicts.get(row["id"], ()))) for row in rows]


_LINE = """
    SELECT job.id, site, customer, first, last, coalesce(notes, 0) AS notes,
           coalesce(open_tasks, 0) AS open_tasks,
           (SELECT count(*) FROM concern WHERE concern.job = job.id AND severity = 'stop') AS stop,
           (SELECT count(*) FROM concern WHERE concern.job = job.id AND severity = 'attention') AS attention
"""


def _told_jobs(store: Store, limit: int | None, behind: str | None) -> list[dict]:
    # By the note told last, which no two jobs share: what is told meanwhile moves a job to the front and never
    # makes a later page miss or repeat another.
    newest = store.rows("SELECT newest FROM tally WHERE job = ?", behind) if behind else []
    if behind and not newest:
        return []  # behind a job of which nothing was told there is none of which something was
    sql = f"""{_LINE} FROM tally CROSS JOIN job ON job.id = tally.job LEFT JOIN standing ON standing.job = job.id
        WHERE newest < ? ORDER BY newest DESC LIMIT ?"""
    return store.rows(sql, newest[0]["newest"] if newest else _LAST, -1 if limit is None else limit)


def _untold_jobs(store: Store, limit: int | None, behind: str | None) -> list[dict]:
    found = store.rows(
        f"""{_LINE} FROM job LEFT JOIN tally ON tally.job = job.id LEFT JOIN standing ON standing.job = job.id
        WHERE tally.job IS NULL ORDER BY opened_at DESC, job.id"""
    )  # few: a job is opened to be told of
    names = [row["id"] for row in found]
    first = names.index(behind) + 1 if behind in names else 0
    return found[first:] if limit is None else found[first : first + limit]


_LAST = 2**63 - 1
_AT_ONCE = 500  # jobs asked about in one go


def _verdicts_of(store: Store, jobs: Sequence[str] | None) -> dict[str, list[tuple[str, str, str]]]:
    """What was found of each job, or of all (None)."""
    columns = "SELECT DISTINCT job, system, about, status FROM verdict"
    found: list[dict] = [] if jobs is not None else store.rows(columns)
    for at in range(0, len(jobs or ()), _AT_ONCE):
        some = jobs[at : at + _AT_ONCE]
        found += store.rows(f"{columns} WHERE job IN ({', '.join('?' * len(some))})", *some)
    verdicts: dict[str, list[tuple[str, str, str]]] = {}
    for row in found:
        verdicts.setdefault(row["job"], []).append((row["system"], row["about"], row["status"]))
    return verdicts


def with_open_tasks(store: Store) -> list[str]:
    """The jobs in which something is still to do, the one told last first. Only as good as what has been derived."""
    sql = "SELECT job FROM standing JOIN tally USING (job) WHERE open_tasks > 0 ORDER BY newest DESC"
    return [row["job"] for row in store.rows(sql)]


def visited_since(store: Store, day: str) -> list[str]:
    """The jobs with a visit on that ISO date or later, the one told last first."""
    return [row["job"] for row in store.rows("SELECT job FROM tally WHERE last >= ? ORDER BY newest DESC", day)]


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

"""Working everything out again from what was told, and listening again where that is wanted."""

from __future__ import annotations

import logging
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Future, wait
from dataclasses import dataclass

from assistant.errors import AssistantError, RulesDiffer
from assistant.hear.elsewhere import Elsewhere
from assistant.ledger import Ledger, Work, worked_out
from assistant.log import derived
from assistant.log.store import Store, Told
from assistant.telling import Progress, Telling


@dataclass(frozen=True, slots=True)
class Reread:
    """What working everything out again came to."""

    jobs: int
    notes: int
    heard: int  # recordings transcribed
    changed: tuple[str, ...]  # jobs whose log is different now
    failed: tuple[str, ...]  # recordings that could not be transcribed, each with the reason


_reports = logging.getLogger("superheard")


def reread(
    store: Store,
    ledger: Ledger,
    telling: Telling,
    listen: bool,
    progress: Progress | None,
    elsewhere: Elsewhere | None = None,
) -> Reread:
    """Every log again; recordings too if `listen`, and in any case those that were never transcribed.

    elsewhere  where logs are worked out, as recordings are heard there; None: in this process, one after another
    """
    jobs = store.job_names()
    notes = [note for job in jobs for note in store.notes(job)]
    recorded = [note for note in notes if note.recording and (listen or not note.is_heard)]
    heard, failed = _listen_again(telling, [note for note in recorded if not store.is_expired(note.recording)])
    done, changed = 0, []
    for job, count, was in _worked_out(store, ledger, jobs, elsewhere):
        done += count
        if progress:
            progress("reading", done, len(notes))
        if derived.packed_log(store, job) != was:
            changed.append(job)
    return Reread(len(jobs), done, heard, tuple(changed), tuple(failed))


def _worked_out(
    store: Store, ledger: Ledger, jobs: Sequence[str], elsewhere: Elsewhere | None
) -> Iterator[tuple[str, int, bytes | None]]:
    """Each job once it is worked out anew, its notes counted, and its log as it was before.

    Jobs do not depend on each other: elsewhere as many are under way as are allowed at once, whatever their order,
    and this process alone writes. What is lost on the way is worked out here.
    """
    under_way: dict[Future, tuple[Work, bytes | None]] = {}
    for job in jobs:
        was = derived.packed_log(store, job)
        if elsewhere is None:
            yield job, ledger.bring_up_to_date(job, afresh=True), was
            continue
        work = ledger.work(job)
        try:
            under_way[elsewhere.executor.submit(worked_out, work)] = (work, was)
        except (BrokenExecutor, RuntimeError):  # the pool has lost a process, and takes nothing more
            yield job, ledger.bring_up_to_date(job, afresh=True), was
        while len(under_way) >= elsewhere.at_once:
            yield from _come_back(ledger, under_way)
    while under_way:
        yield from _come_back(ledger, under_way)


def _come_back(
    ledger: Ledger, under_way: dict[Future, tuple[Work, bytes | None]]
) -> Iterator[tuple[str, int, bytes | None]]:
    """The jobs that are done by now, at least one, each kept."""
    for future in wait(under_way, return_when=FIRST_COMPLETED).done:
        work, was = under_way.pop(future)
        try:
            count = ledger.keep(work, future.result())
        except (BrokenExecutor, RulesDiffer, OSError) as fault:
            _reports.warning("Job %s was lost on its way and is worked out here: %r", work.job, fault)
            count = ledger.bring_up_to_date(work.job, afresh=True)
        yield work.job, count, was


def _listen_again(telling: Telling, notes: list[Told]) -> tuple[int, list[str]]:
    heard, failed = 0, []
    for note in notes:
        try:
            telling.heard(note.id, telling.transcribed(note, None, None))
            heard += 1
        except AssistantError as err:
            failed.append(f"{note.job}, {note.date}, note {note.id}: {err}")
    return heard, failed

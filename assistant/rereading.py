"""Working everything out again from what was told, and listening again where that is wanted."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.errors import AssistantError
from assistant.ledger import Ledger
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


def reread(store: Store, ledger: Ledger, telling: Telling, listen: bool, progress: Progress | None) -> Reread:
    """Every log again; recordings too if `listen`, and in any case those that were never transcribed."""
    jobs = store.job_names()
    notes = [note for job in jobs for note in store.notes(job)]
    recorded = [note for note in notes if note.recording and (listen or not note.is_heard)]
    heard, failed = _listen_again(telling, [note for note in recorded if not store.is_expired(note.recording)])
    done, changed = 0, []
    for job in jobs:
        before = derived.packed_log(store, job)
        done += ledger.bring_up_to_date(job, afresh=True)
        if progress:
            progress("reading", done, len(notes))
        if derived.packed_log(store, job) != before:
            changed.append(job)
    return Reread(len(jobs), done, heard, tuple(changed), tuple(failed))


def _listen_again(telling: Telling, notes: list[Told]) -> tuple[int, list[str]]:
    heard, failed = 0, []
    for note in notes:
        try:
            telling.heard(note.id, telling.transcribed(note, None, None))
            heard += 1
        except AssistantError as err:
            failed.append(f"{note.job}, {note.date}, note {note.id}: {err}")
    return heard, failed

"""What persons in the office set right: rows of who, when and what, kept for ever beside the original."""

from __future__ import annotations

from collections.abc import Iterable

from assistant.log.store import Store, now
from assistant.records import Correction

_COLUMNS = "note, quantity, said, action, value, unit, was, was_unit, by, at"


def add(store: Store, correction: Correction) -> None:
    """Keep a correction; its moment is now."""
    row = {name: getattr(correction, name) for name in _COLUMNS.split(", ")} | {"at": now()}
    with store.writing() as db:
        db.table("correction").insert(row)


def of_job(store: Store, job: str) -> dict[str, tuple[Correction, ...]]:
    """The corrections of a job's notes by note, the oldest first."""
    sql = f"""SELECT {_COLUMNS} FROM correction WHERE note IN (SELECT id FROM note WHERE job = ?) ORDER BY seq"""
    return _by_note(Correction(**row) for row in store.rows(sql, job))


def _by_note(corrections: Iterable[Correction]) -> dict[str, tuple[Correction, ...]]:
    found: dict[str, tuple[Correction, ...]] = {}
    for each in corrections:
        found[each.note] = (*found.get(each.note, ()), each)
    return found

"""Job histories for the tests of this folder, folded from what was marked as right in the corpus."""

from __future__ import annotations

import functools
import json
import re
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

from assistant.compute import work_out
from assistant.converse import JobHistory
from assistant.judge import weigh
from assistant.records import (
    Agreement,
    DuctRun,
    Equipment,
    Event,
    Job,
    JobLog,
    Labour,
    Material,
    Note,
    Reading,
    Task,
    Visit,
)
from assistant.units import quantities

_CORPUS = Path(__file__).parent.parent / "corpus"
NOTES = [json.loads(line) for line in (_CORPUS / "notes.jsonl").read_text("utf-8").splitlines()]
DIALOGUES = [json.loads(line) for line in (_CORPUS / "dialogues.jsonl").read_text("utf-8").splitlines()]
_ADDS_UP = ("refrigerant_added", "refrigerant_recovered")
# Said in the note and needed by its calculation, though not marked as a reading.
_SAID_BESIDES = {"d013": [{"quantity": "gas_heating_value", "value": 1030, "unit": "Btu/ft3", "role": "rated"}]}


def note_of(name: str, date: str, text: str, gold: dict[str, Any]) -> Note:
    """One note as the gold has it."""
    known = gold.get("equipment", [])
    readings = gold.get("readings", []) + _SAID_BESIDES.get(name, [])
    return Note(
        name,
        date,
        text,
        readings=tuple(_reading(place, row, name) for place, row in enumerate(readings)),
        equipment=tuple(Equipment(**row, note=name) for row in (known if isinstance(known, list) else [known])),
        duct_runs=tuple(
            DuctRun(**{**row, "size_in": tuple(row["size_in"])}, note=name) for row in gold.get("duct_runs", [])
        ),
        events=tuple(Event(**row, note=name) for row in gold.get("events", [])),
        tasks=tuple(_task(row, name) for row in gold.get("tasks", []) if row.get("origin") != "inferred"),
        agreements=tuple(Agreement(**row, note=name) for row in gold.get("agreements", [])),
        materials=tuple(Material(**row, note=name) for row in gold.get("materials", [])),
        labour=tuple(Labour(**row, note=name) for row in gold.get("labour", [])),
    )


def _reading(place: int, row: dict[str, Any], note: str) -> Reading:
    """A reading of the gold; one that nobody could have measured is kept as doubtful, as the program does."""
    reading = Reading(**{"position": place, **row, "note": note})
    possible = quantities()[reading.quantity]
    if possible.low <= reading.value <= possible.high:
        return reading
    return replace(reading, status="doubtful", doubt="value_implausible")


def _task(row: dict[str, Any], note: str) -> Task:
    waits = " ".join(row["waits_on_keywords"]) if "waits_on_keywords" in row else row.get("waits_on")
    return Task(
        row.get("what") or " ".join(row["keywords"]), row.get("due"), waits, row.get("status", "open"), note=note
    )


@functools.cache
def corpus_job(job: str, last: str | None = None) -> JobHistory:
    """A job of the corpus up to and with note `last`."""
    told = [row for row in NOTES if row["job"] == job and (last is None or row["id"] <= last)]
    return history(job, [note_of(row["id"], row["date"], row["text"], row["gold"]) for row in told])


def history(job: str, notes: Iterable[Note]) -> JobHistory:
    """The log after each note: settled, worked out and weighed as the program does."""
    log, told, logs = JobLog(Job(job)), [], []
    for note in notes:
        log = after(log, note)
        told.append(note)
        logs.append(log)
    return JobHistory(tuple(told), tuple(logs))


def after(log: JobLog, note: Note) -> JobLog:
    """`log` with one more note."""
    visits = {visit.date: visit.notes for visit in log.visits}
    visits[note.date] = (*visits.get(note.date, ()), note.id)
    today = visits[note.date]
    taken_back = {(r.note, r.position) for r in note.retractions}
    old = [replace(r, status="retracted") if (r.note, r.position) in taken_back else r for r in log.readings]
    readings = [_settled(r, note, today) for r in old] + list(note.readings)
    log = replace(
        log,
        visits=tuple(Visit(date, names) for date, names in visits.items()),
        equipment=log.equipment + note.equipment,
        readings=tuple(readings),
        duct_runs=log.duct_runs + note.duct_runs,
        events=log.events + note.events,
        tasks=_tasks(log.tasks, note.tasks),
        agreements=_agreements(log.agreements, note.agreements),
        materials=log.materials + note.materials,
        labour=log.labour + note.labour,
        remarks=log.remarks + note.remarks,
    )
    return weigh(replace(log, calculations=work_out(log)))


def _settled(old: Reading, note: Note, today: tuple[str, ...]) -> Reading:
    def key(r: Reading) -> tuple:
        return r.quantity, r.role, r.qualifier, r.system

    new = [r for r in note.readings if r.status in ("current", "superseded")]
    replaced = old.quantity == "capacitance" and any(r.quantity == "capacitance" for r in new)
    again = old.note in today and old.quantity not in _ADDS_UP and any(key(r) == key(old) for r in new)
    return replace(old, status="superseded") if (replaced or again) and old.status == "current" else old


def _tasks(old: tuple[Task, ...], new: tuple[Task, ...]) -> tuple[Task, ...]:
    tasks = list(old)
    for task in new:
        words = set(task.what.lower().split())
        same = next((place for place, each in enumerate(tasks) if words & set(each.what.lower().split())), None)
        if task.status == "done" and same is not None:
            tasks[same] = replace(tasks[same], status="done")
        elif same is None or task.status != "done":
            tasks.append(task)
    return tuple(tasks)


def _agreements(old: tuple[Agreement, ...], new: tuple[Agreement, ...]) -> tuple[Agreement, ...]:
    by_scope = {each.scope: each for each in old}
    for each in new:
        before = by_scope.get(each.scope)
        price = each.price if each.price is not None or before is None else before.price
        by_scope[each.scope] = replace(each, price=price)
    return tuple(by_scope.values())


def all_jobs() -> dict[str, JobHistory]:
    """Every job of the corpus."""
    return {name: corpus_job(name) for name in dict.fromkeys(row["job"] for row in NOTES)}


def numbers_in(say: str) -> list[float]:
    """Every number of an answer in digits."""
    return [float(number) for number in re.findall(r"(?<![\w.-])-?\d+(?:\.\d+)?(?![\w])", say)]


def says_number(say: str, value: float, plus_minus: float) -> bool:
    """Whether a number of the answer is `value`."""
    return any(abs(number - value) <= plus_minus + 1e-9 for number in numbers_in(say))


def states_number(say: str) -> bool:
    """Whether any digit or number word stands in an answer that has no value to give."""
    words = "two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|twenty|thirty|forty|fifty|hundred"
    return bool(re.search(rf"\d|\b(?:{words})\b", say))

"""Job logs for the tests of this folder, told note by note and weighed after each, without any text to understand."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from assistant.compute import work_out
from assistant.judge import weigh
from assistant.records import (
    Agreement,
    Concern,
    DuctRun,
    Equipment,
    Event,
    Job,
    JobLog,
    Reading,
    Remark,
    Task,
    Verdict,
    Visit,
)
from assistant.units import unit_of

CORPUS = [
    json.loads(line)
    for line in (Path(__file__).parent.parent / "corpus" / "notes.jsonl").read_text("utf-8").splitlines()
]
_ADDS_UP = ("refrigerant_added", "refrigerant_recovered")  # a second weigh-in does not undo the first


def r(quantity: str, value: float, role: str = "measured", **more: Any) -> Reading:
    """One reading in the contract's unit; its note and place are given when it is told."""
    return Reading(quantity, value, more.pop("unit", None) or unit_of(quantity), role, **more)


def target(quantity: str, value: float, **more: Any) -> Reading:
    return r(quantity, value, "target", **more)


def rated(quantity: str, value: float, **more: Any) -> Reading:
    return r(quantity, value, "rated", **more)


@dataclass
class Told:
    """A job as it grows. `tell` adds one note, works it out and weighs it, as the program does."""

    log: JobLog = field(default_factory=lambda: JobLog(Job("test")))

    def tell(self, *items: Any, date: str = "2026-05-12", note: str | None = None) -> Told:
        name = note or f"n{len(self.log.note_order()) + 1}"
        log = replace(self.log, visits=_with_note(self.log.visits, date, name))
        placed = [_said_in(item, name, place) for place, item in enumerate(items)]
        told = [item for item in placed if isinstance(item, Reading)]
        log = replace(
            log,
            readings=_settled(log, told),
            equipment=log.equipment + _of(Equipment, placed),
            duct_runs=log.duct_runs + _of(DuctRun, placed),
            events=log.events + _of(Event, placed),
            tasks=_tasks(log.tasks, _of(Task, placed)),
            agreements=_agreements(log.agreements, _of(Agreement, placed)),
            remarks=log.remarks + _of(Remark, placed),
        )
        self.log = weigh(replace(log, calculations=work_out(log)))
        return self

    def verdict(self, about: str, system: str = "main") -> Verdict:
        return next(v for v in self.log.verdicts if v.about == about and v.system == system)

    def abouts(self) -> set[str]:
        return {v.about for v in self.log.verdicts}

    def codes(self, system: str | None = None) -> set[str]:
        return {c.code for c in self.log.concerns if system in (None, c.system)}

    def concern(self, code: str) -> Concern:
        return next(c for c in self.log.concerns if c.code == code)

    def rechecks(self, status: str = "open") -> list[Task]:
        return [t for t in self.log.tasks if "recheck the charge" in t.what and t.status == status]

    def asks(self) -> list[str]:
        return [a.quantity for a in self.log.asks]


def told(*items: Any, **more: Any) -> Told:
    """A job of one note."""
    return Told().tell(*items, **more)


def _with_note(visits: tuple[Visit, ...], date: str, note: str) -> tuple[Visit, ...]:
    if visits and visits[-1].date == date:
        return (*visits[:-1], Visit(date, (*visits[-1].notes, note)))
    return (*visits, Visit(date, (note,)))


def _said_in(item: Any, note: str, place: int) -> Any:
    more: dict[str, Any] = {"note": note}
    if isinstance(item, Reading):
        more["position"] = 20 * place
        if item.quantity in ("outdoor_temp", "altitude"):
            more["system"] = "site"
    return replace(item, **more)


def _of(kind: type, items: Iterable[Any]) -> tuple:
    return tuple(item for item in items if type(item) is kind)


def _settled(log: JobLog, new: list[Reading]) -> tuple[Reading, ...]:
    """Readings with earlier ones of the same visit superseded by later ones of the same name."""
    today = {note for note, visit in ((n, v) for v in range(len(log.visits)) for n in log.visits[v].notes)
             if visit == len(log.visits) - 1}  # fmt: skip
    settled: list[Reading] = list(log.readings)
    for reading in new:
        if reading.status == "current" and reading.quantity not in _ADDS_UP:
            settled = [
                replace(old, status="superseded") if _same(old, reading) and old.note in today else old
                for old in settled
            ]
        settled.append(reading)
    return tuple(settled)


def _same(old: Reading, new: Reading) -> bool:
    keys = [(x.quantity, x.role, x.qualifier, x.system) for x in (old, new)]
    return old.status == "current" and keys[0] == keys[1]


def _tasks(old: tuple[Task, ...], new: tuple[Task, ...]) -> tuple[Task, ...]:
    """A task said to be done closes the open one of the same words."""
    tasks = list(old)
    for task in new:
        words = set(task.what.split())
        match = next((t for t in tasks if t.status == "open" and words <= set(t.what.split())), None)
        if task.status == "done" and match:
            tasks[tasks.index(match)] = replace(match, status="done")
        else:
            tasks.append(task)
    return tuple(tasks)


def _agreements(old: tuple[Agreement, ...], new: tuple[Agreement, ...]) -> tuple[Agreement, ...]:
    scopes = {a.scope for a in new}
    return tuple(a for a in old if a.scope not in scopes) + new


# ---------------------------------------------------------------- the corpus, from its gold


def corpus_items(entry: dict) -> list[Any]:
    """Everything the gold of one note says was said. What is to be derived (rechecks) is left out."""
    gold = entry["gold"]
    items: list[Any] = [_gold_reading(entry, reading) for reading in gold["readings"]]
    if entry["id"] == "d013":  # "a thousand thirty a cubic foot" is said, and not marked as a reading
        items.append(rated("gas_heating_value", 1030))
    if entry["id"] == "d039":  # "suction line temp is fifty five psi"
        items.append(r("suction_line_temp", 55, unit="psi", status="doubtful", doubt="unit_mismatch"))
    equipment = gold.get("equipment", [])
    items += [Equipment(**e) for e in (equipment if isinstance(equipment, list) else [equipment])]
    items += [DuctRun(**{**run, "size_in": tuple(run["size_in"])}) for run in gold.get("duct_runs", [])]
    parts = [m["item"] for m in gold.get("materials", []) if m["unit"] == "ea"]
    for event in gold.get("events", []):
        what = parts[0] if event["kind"] == "part_replaced" else None
        items.append(Event(**{**event, "what": what}))
    for task in gold.get("tasks", []):
        if {"recheck", "charge"} <= set(task["keywords"]) and task.get("status") == "done":
            continue
        if task.get("origin") != "inferred":
            items.append(_gold_task(entry, task))
    items += [Agreement(**agreement) for agreement in gold.get("agreements", [])]
    return items


def _gold_reading(entry: dict, reading: dict) -> Reading:
    if entry["id"] == "d039" and reading["value"] == 704:
        return r(**reading, status="doubtful", doubt="value_implausible")
    return r(**reading)


def _gold_task(entry: dict, task: dict) -> Task:
    what = " ".join(task["keywords"])
    systems = {x.get("system") for x in entry["gold"]["readings"] + entry["gold"].get("duct_runs", [])} - {None}
    system = next((s for s in systems if s in what), "main")
    waits_on = " ".join(task["waits_on_keywords"]) if "waits_on_keywords" in task else None
    return Task(what, task["due"], waits_on, task.get("status", "open"), system=system)


def corpus_jobs() -> Iterator[tuple[str, list[dict]]]:
    """Each job of the corpus with its notes, in order."""
    for job in dict.fromkeys(entry["job"] for entry in CORPUS):
        yield job, [entry for entry in CORPUS if entry["job"] == job]

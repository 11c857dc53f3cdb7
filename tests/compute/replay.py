"""Job logs for the tests of this folder, made from readings alone: no text has to be understood."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

from assistant.records import DuctRun, Equipment, Job, JobLog, Reading, Visit
from assistant.units import unit_of

_NOTES = Path(__file__).parent.parent / "corpus" / "notes.jsonl"
CORPUS = [json.loads(line) for line in _NOTES.read_text("utf-8").splitlines()]
# Said in the note ("a thousand thirty a cubic foot") and needed for its calculation, though not marked as a reading.
_SAID_BESIDES = {"d013": [{"quantity": "gas_heating_value", "value": 1030, "unit": "Btu/ft3", "role": "rated"}]}
_ADDS_UP = ("refrigerant_added", "refrigerant_recovered")  # a second weigh-in does not undo the first


def reading(quantity: str, value: float, **more: object) -> Reading:
    """One measured reading of the main system, in the contract's unit, unless `more` says otherwise."""
    site = {"system": "site"} if quantity in ("outdoor_temp", "altitude") else {}
    return Reading(quantity, value, unit_of(quantity), **{"note": "n1", **site, **more})


def job(*readings: Reading, equipment: dict | None = None, **more: object) -> JobLog:
    """A job whose notes n1, n2 … are one visit each; positions follow the order given."""
    placed = tuple(replace(r, position=place) for place, r in enumerate(readings))
    notes = sorted({r.note for r in readings} | {"n1"})
    visits = tuple(Visit(f"2026-05-{number:02}", (note,)) for number, note in enumerate(notes, start=1))
    known = (Equipment(**equipment),) if equipment else ()
    return JobLog(Job("test"), visits=visits, equipment=known, readings=placed, **more)


def replay(name: str, last: str) -> JobLog:
    """The corpus job `name` up to and with note `last`, from what was marked as right in each note."""
    readings: list[Reading] = []
    equipment: list[Equipment] = []
    runs: list[DuctRun] = []
    visits: dict[str, list[str]] = {}
    for entry in (entry for entry in CORPUS if entry["job"] == name and entry["id"] <= last):
        visits.setdefault(entry["date"], []).append(entry["id"])
        gold, told = entry["gold"], entry["gold"]["readings"] + _SAID_BESIDES.get(entry["id"], [])
        new = [Reading(**{"note": entry["id"], "position": place, **r}) for place, r in enumerate(told)]
        today = visits[entry["date"]]
        readings = [_after(old, new, today) for old in readings] + new
        known = gold.get("equipment", [])
        equipment += [Equipment(**e) for e in (known if isinstance(known, list) else [known])]
        told_runs = gold.get("duct_runs", [])
        runs += [DuctRun(**{"note": entry["id"], **r, "size_in": tuple(r["size_in"])}) for r in told_runs]
    days = tuple(Visit(day, tuple(notes)) for day, notes in visits.items())
    return JobLog(Job(name), days, tuple(equipment), tuple(readings), tuple(runs))


def _after(old: Reading, new: list[Reading], today: list[str]) -> Reading:
    """`old` once the readings of a later note are known."""

    def key(r: Reading) -> tuple:
        return r.quantity, r.role, r.qualifier, r.system

    if old.quantity == "capacitance" and any(r.quantity == "capacitance" for r in new):
        return replace(old, status="superseded")  # the part was replaced, and its values went with it
    again = old.note in today and old.quantity not in _ADDS_UP and any(key(r) == key(old) for r in new)
    return replace(old, status="superseded") if again and old.status == "current" else old

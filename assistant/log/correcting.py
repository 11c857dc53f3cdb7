"""What a person set right takes its place in a note, before the note joins its job. Pure.

A correction names its reading by note, quantity and words, so it finds it again when better rules read the note
anew. One that finds it no more is kept and shown as such; nothing is guessed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from assistant.records import Corrected, Correction, Note, Reading


def corrected(note: Note, corrections: Sequence[Correction]) -> tuple[Note, tuple[Correction, ...]]:
    """`note` with its corrections applied, and the corrections with what became of each.

    corrections  the note's own, oldest first; of several to one reading the newest rules
    """
    readings, done = list(note.readings), []
    for correction in corrections:
        place = place_of(correction, note.readings)
        done.append(replace(correction, found=place is not None))
        if place is not None:
            readings[place] = _applied(note.readings[place], correction)
    changed = [(old, new) for old, new in zip(note.readings, readings, strict=True) if old is not new]
    note = replace(note, readings=tuple(readings))
    for old, new in changed:
        note = _followed(note, old, new)
    return note, tuple(done)


def place_of(correction: Correction, readings: Sequence[Reading]) -> int | None:
    """Which reading is meant: the one in those words; of several, the one of that value. None if there is none."""
    same = [place for place, r in enumerate(readings) if r.quantity == correction.quantity]
    meant = [place for place in same if _words(readings[place].said) == _words(correction.said)]
    meant = meant or [place for place in same if _overlap(readings[place].said, correction.said)]
    exact = [p for p in meant if (readings[p].value, readings[p].unit) == (correction.was, correction.was_unit)]
    return next(iter(exact or meant), None)


def _words(said: str) -> list[str]:
    return re.findall(r"[\w.]*\w", said.casefold())


def _overlap(said: str, other: str) -> bool:
    """Whether one quotes the other: better rules may take a word more or less for the reading's own."""
    short, long = sorted((f" {' '.join(_words(each))} " for each in (said, other)), key=len)
    return bool(short.strip()) and short in long


def _applied(reading: Reading, correction: Correction) -> Reading:
    mark = Corrected(correction.action, correction.by, correction.at, reading.value, reading.unit)
    if correction.action == "discard":
        return replace(reading, status="retracted", correction=mark)
    if correction.action == "confirm":
        usable = reading.status == "doubtful" and reading.doubt != "unit_mismatch"
        status, doubt = ("current", None) if usable else (reading.status, reading.doubt)
        return replace(reading, status=status, doubt=doubt, confidence=1.0, correction=mark)
    return replace(
        reading,
        value=correction.value,
        unit=correction.unit,
        low=None,
        high=None,
        status="current" if reading.status == "doubtful" else reading.status,
        doubt=None,
        confidence=1.0,
        correction=mark,
    )


def _followed(note: Note, old: Reading, new: Reading) -> Note:
    """What the note took from a reading goes with it: a system's size, a duct's airflow, refrigerant used."""
    gone = new.status == "retracted"
    value = None if gone else new.value
    if old.quantity == "cooling_capacity":
        equipment = tuple(
            replace(e, cooling_capacity=value) if (e.system, e.cooling_capacity) == (old.system, old.value) else e
            for e in note.equipment
        )
        return replace(note, equipment=equipment)
    if old.quantity in ("return_airflow", "supply_airflow", "system_airflow"):
        side = old.quantity.partition("_")[0]
        runs = tuple(
            replace(run, airflow_cfm=value)
            if run.airflow_cfm == old.value and run.system == old.system and side in (run.side, "system")
            else run
            for run in note.duct_runs
        )
        return replace(note, duct_runs=runs)
    if old.quantity == "refrigerant_added":
        used = [m for m in note.materials if not (m.unit == "lb" and m.quantity == old.value)]
        if not gone:
            used = [
                replace(m, quantity=new.value) if m.unit == "lb" and m.quantity == old.value else m
                for m in note.materials
            ]
        return replace(note, materials=tuple(used))
    return note

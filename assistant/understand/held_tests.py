"""The events that readings amount to: a pressure test, an evacuation, refrigerant put in or taken out."""

from __future__ import annotations

from assistant.records import Event, Reading
from assistant.understand.context import Context
from assistant.understand.lexicon import wordings
from assistant.understand.passage import Passage
from assistant.understand.tokens import load_table
from assistant.understand.vocabulary import says_any

_KIND = {"test_pressure": "pressure_test", "vacuum_level": "evacuation"}
_MOVED = {"refrigerant_added": "charging", "refrigerant_recovered": "recovery"}
_TABLE = load_table("held_tests.toml")
_OUTCOMES = {
    kind: {outcome: wordings(_TABLE[kind][outcome]) for outcome in ("failed", "passed")} for kind in _KIND.values()
}


def find_moved(context: Context, readings: list[Reading], events: list[Event]) -> list[Event]:
    """Refrigerant that went in is a charging, and what came out a recovery, however it was put."""
    found = []
    for quantity, kind in _MOVED.items():
        moved = [r for r in readings if r.quantity == quantity and r.status == "current" and r.role == "measured"]
        if moved and not any(e.kind == kind for e in events):
            found.append(Event(kind, None, "finished", None, moved[-1].said, moved[-1].system, None, context.note))
    return found


def find_weak_capacitors(context: Context, readings: list[Reading], events: list[Event]) -> list[Event]:
    """A capacitor measured well below its rating in the same note is a fault found."""
    if any(e.kind == "failure_found" for e in events):
        return []
    rated = {(r.system, r.qualifier): r.value for r in readings if r.quantity == "capacitance" and r.role == "rated"}
    weak = [
        r
        for r in readings
        if r.quantity == "capacitance"
        and r.role == "measured"
        and r.status in ("current", "superseded")
        and r.value < rated.get((r.system, r.qualifier), 0) * _TABLE["capacitor"]["bad_below_percent"] / 100
    ]
    return [Event("failure_found", None, None, None, r.said, r.system, "capacitor", context.note) for r in weak[:1]]


def without_overtaken(events: list[Event]) -> list[Event]:
    """A test that was started and ended within one note ended."""
    ended = {(e.kind, e.system) for e in events if e.outcome in ("passed", "failed", "finished")}
    return [e for e in events if e.outcome != "started" or (e.kind, e.system) not in ended]


def find_test_events(passage: Passage, context: Context, readings: list[Reading]) -> list[Event]:
    """A held test ends passed or failed by what the speaker says of it, else by whether the needle moved.

    A vacuum that was not held has no outcome yet; what counts as passing is judged later, with its limit.
    """
    found = []
    for quantity, kind in _KIND.items():
        values = [
            r
            for r in readings
            if r.quantity == quantity and r.status in ("current", "superseded") and r.role == "measured"
        ]
        held = [r for r in readings if r.quantity == "test_duration" and r.qualifier == kind]
        if not values and not held:
            continue
        earlier = [r for r in context.last_readings() if r.quantity == quantity]
        outcome = (
            _spoken(passage, kind)
            or _still_there(passage, kind, values)
            or (_by_needle(kind, values, earlier) if held else None)
        )
        if outcome == "passed" and (lost := _lost_before(kind, values)):
            found.append(Event(kind, None, "failed", None, lost.said, lost.system, None, context.note))
        if outcome:
            last = (values or held)[-1]
            found.append(Event(kind, None, outcome, None, last.said, last.system, None, context.note))
    return found


def _lost_before(kind: str, values: list[Reading]) -> Reading | None:
    """The reading that showed a first test lost, where pressure was put on again: 500, 482, then 510."""
    width = _TABLE["pressure_test"]["needle_width_psi"]
    if kind != "pressure_test":
        return None
    drops = (
        (at, low)
        for at, (high, low) in enumerate(zip(values, values[1:], strict=False))
        if low.value < high.value - width
    )
    return next((low for at, low in drops if any(later.value > low.value + width for later in values[at + 2 :])), None)


def _spoken(passage: Passage, kind: str) -> str | None:
    return next((outcome for outcome, says in _OUTCOMES[kind].items() if says_any(passage, says)), None)


def _still_there(passage: Passage, kind: str, values: list[Reading]) -> str | None:
    """ "four fifty at nine, still four fifty at ten"."""
    pressed = {r.value for r in values} if kind == "pressure_test" else set()
    again = any(n.value in pressed and "still" in passage.words(n.start - 2, n.start) for n in passage.numbers)
    return "passed" if again else None


def _by_needle(kind: str, values: list[Reading], earlier: list[Reading]) -> str | None:
    if not values:
        return None
    if kind == "evacuation":
        return "passed" if values[-1].value <= _TABLE["evacuation"]["hold_below_micron"] else "failed"
    first = values[0] if len(values) > 1 else earlier[-1] if earlier else values[0]
    return "failed" if values[-1].value < first.value - _TABLE["pressure_test"]["needle_width_psi"] else "passed"

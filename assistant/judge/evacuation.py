"""A vacuum counts when it was reached, isolated, and held."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.judge.facts import Facts, evidence, shown
from assistant.judge.tables import concern, limit
from assistant.records import Concern, Reading, Verdict


def weigh_vacuum(facts: Facts) -> Iterator[Verdict | Concern]:
    """The last evacuation: the level reached, the level after the hold, and how long it was held."""
    levels = facts.history("vacuum_level")
    last = facts.measured("vacuum_level")
    if last is None:
        return
    earlier = [r for r in levels if facts.at(r) < facts.at(last)]
    before = earlier[-1] if earlier else None
    hold = _hold(facts, last, before)
    most, least_minutes = limit("vacuum").at, limit("vacuum_hold").at
    level = shown(last.value, "micron")
    # Without a hold, or with a lower reading after it, the last reading is where the pump has got to.
    isolated = hold is not None or _said_to_have(facts, "passed", last) or _said_to_have(facts, "failed", last)
    reached = before if isolated and before is not None and before.value <= last.value else None
    minutes = shown(hold.value, "min") if hold else "a time not said"
    proof = evidence(reached, last, hold)
    figures = f"{level}" + (f" after {minutes}, from {reached.value:g}" if reached else f" against {most:g}")
    if last.value > most:
        held = isolated and (reached.value <= most if reached else hold is not None)
        code = "vacuum_not_held" if held else "vacuum_not_reached"
        why = f"rose to {figures}, above {most:g}" if held else f"{level}, not down to {most:g} yet"
        yield Verdict("vacuum", facts.system, "fail", why, last.value, most)
        yield concern(code, facts.system, proof, figures=why)
    elif hold is not None and hold.value < least_minutes:
        because = f"{figures}: held {minutes} so far, {least_minutes:g} wanted"
        yield Verdict("vacuum", facts.system, "unknown", because, last.value, most, needs=("test_duration",))
    elif hold is not None:
        rise = f", {_speed(reached, last, hold)}" if reached else ""
        because = f"held {level} after {minutes}{rise}, against {most:g}"
        yield Verdict("vacuum", facts.system, "pass", because, last.value, most)
    elif _said_to_have(facts, "passed", last):
        because = f"said to have held at {level}, against {most:g}; for how long was not said"
        yield Verdict("vacuum", facts.system, "pass", because, last.value, most)
    else:
        because = f"{level} reached, but it has not been isolated and held for {least_minutes:g} min: valve it off"
        yield Verdict("vacuum", facts.system, "unknown", because, last.value, most, needs=("test_duration",))


def _hold(facts: Facts, last: Reading, before: Reading | None) -> Reading | None:
    """The hold that belongs to the last reading: said in its note, or since a lower reading before it.

    A level below the one before is a new pull, and an older hold says nothing about it.
    """
    for duration in reversed(facts.history("test_duration", qualifier="evacuation")):
        if duration.note == last.note:
            return duration
        risen = before is None or (before.value <= last.value and facts.at(duration) > facts.at(before))
        if risen and facts.visit(duration.note) == facts.visit(last.note):
            return duration
    return None


def _said_to_have(facts: Facts, outcome: str, last: Reading) -> bool:
    """Whether the last word on the evacuation, in this reading's note or later, was `outcome`."""
    told = [e for e in facts.events if e.kind == "evacuation" and facts.place(e.note) >= facts.place(last.note)]
    return bool(told) and told[-1].outcome == outcome


def _speed(reached: Reading, last: Reading, hold: Reading) -> str:
    return f"{shown(last.value - reached.value, 'micron')} up, {(last.value - reached.value) / hold.value:.0f} a minute"

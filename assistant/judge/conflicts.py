"""Whether two values belong to one moment of the job, and where what was read off fights what follows from the rest."""

from __future__ import annotations

from assistant.judge.facts import Facts, Moment
from assistant.judge.tables import limit
from assistant.records import Calculation, Reading

# What the speaker may read off an instrument that also follows from other readings, and how far apart
# the two may be beyond the computed value's own uncertainty.
_BOTH_WAYS = {
    "subcooling": "spoken_rounding",
    "superheat": "spoken_rounding",
    "suction_saturation_temp": "spoken_saturation",
    "liquid_saturation_temp": "spoken_saturation",
    "total_static_pressure": "spoken_static",
    "temperature_split": "spoken_rounding",
    "temperature_rise": "spoken_rounding",
}


def charge_touched(facts: Facts, after: Moment, before: Moment) -> bool:
    """Whether refrigerant was added or taken out between two moments."""
    moves = facts.history("refrigerant_added") + facts.history("refrigerant_recovered")
    return any(after < facts.at(r) < before for r in moves)


def moved_since(facts: Facts, moment: Moment) -> bool:
    """Whether refrigerant was added or taken out in a later note; within a note the order of telling may be any."""
    moves = facts.history("refrigerant_added") + facts.history("refrigerant_recovered")
    return any(facts.place(r.note) > moment[0] for r in moves)


def conflicts(facts: Facts) -> list[tuple[Reading, Calculation]]:
    """Spoken values that differ from what the speaker's other readings of the same visit give."""
    found = []
    for name, slack in _BOTH_WAYS.items():
        spoken, worked_out = facts.current(name), facts.calculation(name)
        if spoken is None or worked_out is None or not _comparable(facts, spoken, worked_out):
            continue
        half = (spoken.high - spoken.low) / 2 if spoken.low is not None and spoken.high is not None else 0.0
        allowed = limit(slack).within + half
        if slack == "spoken_rounding":
            allowed += worked_out.plus_minus
        if abs(spoken.value - worked_out.value) > allowed:
            found.append((spoken, worked_out))
    return found


def _comparable(facts: Facts, spoken: Reading, worked_out: Calculation) -> bool:
    """Of the same visit, with no refrigerant moved and no input read again in between."""
    then, at = facts.when(worked_out), facts.at(spoken)
    if facts.visit(spoken.note) != facts.visit_at(then) or charge_touched(facts, min(then, at), max(then, at)):
        return False
    names = {r.quantity for r in worked_out.inputs}
    older = [r for name in names for r in facts.history(name) if r.status == "superseded"]
    # An input that was read again after the spoken value belongs to another moment of the job.
    return not any(facts.visit(r.note) == facts.visit(spoken.note) and facts.at(r) < at < then for r in older)

"""Values that cannot be right, do not fit their unit, or fight each other. They are asked about, never mended."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.judge.charge import charge_touched
from assistant.judge.facts import Facts, evidence, inputs_of, shown, told
from assistant.judge.tables import concern, limit
from assistant.records import Ask, Calculation, Concern, JobLog, Reading
from assistant.units import quantities

_DOUBTS = ("value_implausible", "unit_mismatch", "value_conflict")
# What the speaker may read off an instrument that also follows from other readings, and how far apart
# the two may be beyond the computed value's own uncertainty.
_BOTH_WAYS = {
    "subcooling": "spoken_rounding",
    "superheat": "spoken_rounding",
    "suction_saturation_temp": "spoken_saturation",
    "liquid_saturation_temp": "spoken_saturation",
    "temperature_split": "spoken_rounding",
    "temperature_rise": "spoken_rounding",
}
_CHARGE = ("subcooling", "superheat")


def doubtful(job: JobLog) -> list[Reading]:
    """Readings still in doubt: not said again, well, in the same or a later note."""
    order = job.note_order()
    settled: dict[tuple, tuple[int, int]] = {}
    for r in job.readings:
        if r.status == "current":
            key = (r.quantity, r.role, r.system, r.qualifier)
            settled[key] = max(settled.get(key, (-1, -1)), (order.get(r.note, -1), r.position))
    return [
        r
        for r in job.readings
        if r.status == "doubtful"
        and settled.get((r.quantity, r.role, r.system, r.qualifier), (-1, -1)) < (order.get(r.note, -1), r.position)
    ]


def weigh_doubts(job: JobLog) -> Iterator[Concern]:
    for reading in doubtful(job):
        code = reading.doubt if reading.doubt in _DOUBTS else "value_implausible"
        yield concern(code, reading.system, evidence(reading), what=told(reading))


def conflicts(facts: Facts) -> list[tuple[Reading, Calculation]]:
    """Spoken values that differ from what the speaker's other readings of the same visit give."""
    found = []
    for name, slack in _BOTH_WAYS.items():
        spoken, worked_out = facts.measured(name), facts.calculation(name)
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


def weigh_conflicts(facts: Facts) -> Iterator[Concern]:
    for spoken, worked_out in conflicts(facts):
        name = spoken.quantity.replace("_", " ")
        both = (shown(spoken.value, spoken.unit), shown(worked_out.value, worked_out.unit))
        what = f"{name} {both[0]} as spoken, {both[1]} worked out"
        yield concern("value_conflict", facts.system, evidence(spoken) + inputs_of(worked_out), what=what)


def ask_about(reading: Reading) -> Ask:
    """A question to settle a doubtful reading."""
    known = quantities().get(reading.quantity)
    title = known.title if known else reading.quantity.replace("_", " ")
    words = f"“{reading.said}”" if reading.said else f"{reading.value:g} {reading.unit}"
    return Ask(reading.quantity, f"I heard {words} for the {title}, which cannot be right. What is it?", reading.system)


def ask_to_settle(spoken: Reading, worked_out: Calculation) -> Ask:
    """A question about two values that disagree."""
    name = spoken.quantity.replace("_", " ")
    text = (
        f"Your {name} of {spoken.value:g} does not match the {worked_out.value:.1f} your other readings give. "
        "Would you read them again?"
    )
    return Ask(spoken.quantity, text, spoken.system)

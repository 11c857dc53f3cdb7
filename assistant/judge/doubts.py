"""Values that cannot be right, do not fit their unit, or fight each other. They are asked about, never mended."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from assistant.judge.conflicts import conflicts
from assistant.judge.facts import Facts, evidence, inputs_of, shown, told
from assistant.judge.tables import concern
from assistant.records import Ask, Calculation, Concern, JobLog, Reading
from assistant.units import quantities

_DOUBTS = ("value_implausible", "unit_mismatch", "value_conflict")


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
        what = told(replace(reading, said=""))
        what = what[:1].upper() + what[1:]
        if reading.doubt == "misheard":
            may = f"{what} may have been heard wrong. It is kept and not used until you say it again."
            yield concern("not_understood", reading.system, evidence(reading), what=may)
            continue
        code = reading.doubt if reading.doubt in _DOUBTS else "value_implausible"
        yield concern(code, reading.system, evidence(reading), what=what)


def weigh_conflicts(facts: Facts) -> Iterator[Concern]:
    for spoken, worked_out in conflicts(facts):
        name = spoken.quantity.replace("_", " ")
        both = (shown(spoken.value, spoken.unit), shown(worked_out.value, worked_out.unit))
        what = f"{name} {both[0]} as spoken, {both[1]} worked out"
        yield concern("value_conflict", facts.system, evidence(spoken) + inputs_of(worked_out), what=what)


def weigh_corrections(job: JobLog) -> Iterator[Concern]:
    """What a person set right and cannot be found any more, because the note is read in another way now."""
    lost = {(c.note, c.quantity, c.said): c for c in job.corrections if not c.found}
    for each in lost.values():
        name = each.quantity.replace("_", " ")
        given = f" to {shown(each.value, each.unit)}" if each.value is not None else ""
        done = {"correct": "corrected", "confirm": "confirmed", "discard": "discarded"}[each.action]
        what = f'{each.by} {done} the {name} said as "{each.said}"{given}, and that reading is not found any more'
        yield concern("not_understood", "main", (each.said,), severity="attention", what=what)


def ask_about(reading: Reading) -> Ask:
    """A question to settle a doubtful reading."""
    known = quantities().get(reading.quantity)
    title = known.title if known else reading.quantity.replace("_", " ")
    words, why = f"{reading.value:g}", "that cannot be right"
    if reading.doubt == "misheard":
        text = f"I heard {words} for the {title}. Would you say that value again?"
        return Ask(reading.quantity, text, reading.system)
    if reading.doubt == "unit_mismatch":
        words, why = f"{reading.value:g} {reading.unit}", "that unit does not fit"
    if reading.doubt == "value_conflict":
        why = "that does not fit the rest"
    return Ask(reading.quantity, f"I heard {words} for the {title}, and {why}. What is it?", reading.system)


def ask_to_settle(spoken: Reading, worked_out: Calculation) -> Ask:
    """A question about two values that disagree."""
    name = spoken.quantity.replace("_", " ")
    text = (
        f"Your {name} of {spoken.value:g} does not match the {worked_out.value:.1f} your other readings give. "
        "Would you read them again?"
    )
    return Ask(spoken.quantity, text, spoken.system)

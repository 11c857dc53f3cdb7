"""The refrigeration cycle of a job as it was judged."""

from __future__ import annotations

from assistant.compute.cycle import Cycle, cycle_points
from assistant.compute.facts import Facts
from assistant.errors import MissingReadings, NoSuchSystem
from assistant.records import Calculation, JobLog, Reading

_RESTS_ON = {
    "superheat": ("suction_pressure", "suction_line_temp"),
    "subcooling": ("liquid_pressure", "liquid_line_temp"),
}


def cycle_of(job: JobLog, system: str = "main") -> Cycle:
    """The cycle described by the readings that the log's own superheat and subcooling rest on.

    Both have to be of one visit, because Monday's suction and Wednesday's head were never true together; so has
    the discharge line temperature, without which the discharge is estimated. Altitude counts as it does there.
    Expects the calculations of the readings as they stand. Pure.
    Raises NoSuchSystem; MissingReadings, naming what was not said; UnknownRefrigerant; OutOfRange for states
    that cannot be.
    """
    used = cycle_readings(job, system)
    facts = Facts(job, system)
    discharge = used.get("discharge_line_temp")
    return cycle_points(
        *(used[name].value for pair in _RESTS_ON.values() for name in pair),
        facts.refrigerant,
        discharge_line_temp=discharge.value if discharge else None,
        atmosphere=facts.atmosphere()[0],
    )


def cycle_readings(job: JobLog, system: str = "main") -> dict[str, Reading]:
    """The readings a system's cycle is drawn of, by quantity, without drawing it: CoolProp is not asked.

    The discharge line temperature is among them where it was said. Raises NoSuchSystem, MissingReadings.
    """
    if system not in job.systems():
        raise NoSuchSystem(system, job.systems())
    facts = Facts(job, system)
    judged = {c.name: c for c in job.calculations if c.system == system and c.name in _RESTS_ON}
    newest = max((_visit(facts, calculation) for calculation in judged.values()), default=-1)
    used: dict[str, Reading] = {}
    for calculation in judged.values():
        if _visit(facts, calculation) == newest:
            used |= {reading.quantity: reading for reading in calculation.inputs}
    needed = [name for pair in _RESTS_ON.values() for name in pair]
    lacking = [name for name in needed if name not in used]
    missing = [name for name in lacking if facts.latest(name) is None]
    if facts.refrigerant is None:
        raise MissingReadings([*missing, "refrigerant"])
    if lacking:
        raise MissingReadings(missing, [] if missing else lacking)
    discharge = facts.latest("discharge_line_temp", visit=newest)
    return {name: used[name] for name in needed} | ({"discharge_line_temp": discharge} if discharge else {})


def _visit(facts: Facts, calculation: Calculation) -> int:
    pair = _RESTS_ON[calculation.name]
    return max(facts.visit(reading) for reading in calculation.inputs if reading.quantity in pair)

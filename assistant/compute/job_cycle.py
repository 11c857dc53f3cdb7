"""The refrigeration cycle of a job as it was judged."""

from __future__ import annotations

from assistant.compute.cycle import Cycle, cycle_points
from assistant.compute.facts import Facts
from assistant.errors import MissingReadings
from assistant.records import JobLog, Reading

_NEEDED = ("suction_pressure", "suction_line_temp", "liquid_pressure", "liquid_line_temp")


def cycle_of(job: JobLog, system: str = "main") -> Cycle:
    """The cycle described by the readings that the log's own superheat and subcooling rest on.

    A discharge line temperature counts where it was measured in the same note as the head pressure.
    Raises MissingReadings, naming what was not said; UnknownRefrigerant; OutOfRange for states that cannot be.
    """
    used: dict[str, Reading] = {}
    for calculation in job.calculations:
        if calculation.system == system and calculation.name in ("superheat", "subcooling"):
            used |= {reading.quantity: reading for reading in calculation.inputs}
    facts = Facts(job, system)
    missing = [name for name in _NEEDED if name not in used] + ([] if facts.refrigerant else ["refrigerant"])
    if missing:
        raise MissingReadings(missing)
    head = used["liquid_pressure"]
    discharge = [r for r in facts.current("discharge_line_temp") if r.note == head.note and r.role == "measured"]
    return cycle_points(
        *(used[name].value for name in _NEEDED),
        facts.refrigerant,
        discharge_line_temp=discharge[-1].value if discharge else None,
        atmosphere=facts.atmosphere()[0],
    )

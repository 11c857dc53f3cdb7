"""What is there: the equipment and the duct runs as they were told."""

from __future__ import annotations

import re

from assistant.converse.asking import Asking, Told, equipment_of, system_name
from assistant.converse.speech import joined, listed, number
from assistant.records import Answer, DuctRun

_DEVICE = {
    "txv": "an expansion valve (TXV)",
    "eev": "an electronic expansion valve (EEV)",
    "fixed_orifice": "a fixed orifice (piston)",
    "capillary": "a capillary tube",
}


def equipment_answer(asking: Asking) -> Told:
    """Refrigerant, metering device, size and plate of each system."""
    texts = []
    value = None
    for system in asking.systems:
        known = equipment_of(asking.log, system)
        if known is None:
            continue
        value = known.cooling_capacity
        parts = [
            f"{number(known.cooling_capacity)} ton" if known.cooling_capacity else "",
            known.kind or "",
            known.refrigerant or "",
            f"with {_DEVICE[known.metering_device]}" if known.metering_device else "",
            f"model {known.model}" if known.model else "",
            f"serial {known.serial}" if known.serial else "",
        ]
        where = f"{system_name(system)}: " if system_name(system) else ""
        texts.append(f"{where}{', '.join(part for part in parts if part)}")
        missing = [
            name for name in ("model", "serial") if re.search(rf"\b{name}\b", asking.words) and not getattr(known, name)
        ]
        if missing:
            return Told(Answer(joined(f"The {listed(missing)} number was not said")))
    if not texts:
        return Told(
            Answer(
                joined(
                    "Nothing was said about the equipment yet: "
                    "it would need the refrigerant, the metering device and the size"
                )
            )
        )
    size = re.search(r"\b(?:ton|tons|tonnage|big|size)\b", asking.words)
    return Told(
        Answer(joined(*texts), value if size else None, "ton" if size and value else None),
        system=asking.systems[0] if asking.single else None,
    )


def ducts_answer(asking: Asking) -> Told:
    """The duct runs that were told, on the side that was asked."""
    side = (
        "return"
        if re.search(r"\breturns?\b", asking.words)
        else "supply"
        if re.search(r"\b(?:supply|supplies|takeoffs?|take offs)\b", asking.words)
        else None
    )
    runs = [
        run
        for run in asking.log.duct_runs
        if side in (None, run.side) and (not asking.single or run.system in asking.systems)
    ]
    if not runs:
        return Told(Answer(joined(f"No {side or 'duct'} runs were told")))
    standing = [run for run in runs if run.status in ("existing", "added")]
    count = sum(run.count for run in standing)
    say = joined(listed(dict.fromkeys(run_text(run) for run in runs)))
    counted = re.search(r"\bhow many\b", asking.words) and standing
    return Told(
        Answer(f"{count}: {say}" if counted else say, float(count) if counted else None, "ea" if counted else None)
    )


def run_text(run: DuctRun) -> str:
    """ "2 returns, 12 inch flex", with what came of it."""
    size = " by ".join(number(side) for side in run.size_in)
    length = f", {number(run.length_ft)} feet" if run.length_ft else ""
    air = f", {number(run.airflow_cfm)} cfm" if run.airflow_cfm else ""
    status = {"proposed": ", proposed", "added": ", added", "removed": ", taken out"}.get(run.status, "")
    where = f"{system_name(run.system)} " if system_name(run.system) else ""
    side = {"return": "return", "supply": "supply run"}[run.side] + ("s" if run.count > 1 else "")
    return f"{run.count} {where}{side}, {size} inch {run.material or run.shape}{length}{air}{status}"

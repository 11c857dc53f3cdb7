"""Settles what a wording leaves open: which section of a capacitor, which side of a hood, which kind of target."""

from __future__ import annotations

import re
from dataclasses import replace

from assistant.understand.context import Context
from assistant.understand.number import Number
from assistant.understand.passage import Passage
from assistant.understand.systems import system_at

_CAPACITOR_SECTIONS = {
    "herm": ("herm", "hermetic", "compressor", "hem", "hermes", "harm", "home", "arm"),
    "fan": ("fan", "fans"),
    "run": ("run",),
}
_DIAL = re.compile(r"^(\d+(?:\.\d+)?)$")


def qualifier_of(passage: Passage, item) -> str | None:
    """The contract's qualifier for a capacitor's section or a gas meter's dial; None for everything else."""
    if item.sense.quantity == "capacitance":
        words = set(passage.words(item.name.start, item.name.end)) if item.name else set()
        if words & {"cap", "capacitor"}:  # "the herm side of the cap reads"
            words |= set(passage.words(item.name.start - 4, item.name.start))
        near = passage.words(item.number.end, min(item.number.end + 6, len(passage.lower)))
        stop = next((i for i, word in enumerate(near) if word in (",", ".", "and", ";")), len(near))
        words |= set(near[:stop])
        for section, said in _CAPACITOR_SECTIONS.items():
            if words & set(said):
                return section
    if item.sense.quantity == "meter_time":
        return item.qualifier
    return None


def settle_sections(passage: Passage, heard: list) -> None:
    """Beside a fan section the other one of a dual capacitor is the compressor's, though nobody says so."""
    caps = [item for item in heard if item.sense.quantity == "capacitance"]
    for item in caps:
        item.qualifier = item.qualifier or qualifier_of(passage, item)
    for item in caps:
        beside = [o for o in caps if o.sentence == item.sentence and o.role.role == item.role.role]
        fans = [other.sense.value for other in beside if other.qualifier == "fan"]
        if item.qualifier is None and fans and item.sense.value > max(fans):
            item.qualifier = "herm"


def settle_pseudo(listening, heard: list) -> list:
    """Give hood readings their side and bare targets their quantity."""
    passage, context, facts = listening.passage, listening.context, listening.facts
    settled = []
    for item in heard:
        wordings = item.name.quantities() if item.name else ()
        if item.sense.quantity == "carbon_monoxide" and _in_a_room(passage, item):
            item.sense = replace(item.sense, quantity="ambient_carbon_monoxide")
        if item.sense.quantity == "refrigerant_added" and _taken_out(passage, item):
            item.sense = replace(item.sense, quantity="refrigerant_recovered")
        if item.sense.quantity == "system_airflow" and (side := _side_of_the_runs(passage, item, facts)):
            item.sense = replace(item.sense, quantity=f"{side}_airflow")
        if "hood_airflow" in wordings and item.sense.quantity.endswith("airflow"):
            item.sense = replace(item.sense, quantity=_hood_side(passage, item, context, facts))
        elif "line_temp" in wordings and item.sense.quantity.endswith("line_temp"):
            before = [
                other.sense.quantity
                for other in settled
                if other.sense.quantity in ("suction_pressure", "liquid_pressure", "discharge_line_temp")
            ]
            if not before or item.role.role != "measured":
                continue  # a line nobody can tell is no reading
            item.sense = replace(
                item.sense, quantity="suction_line_temp" if before[-1] == "suction_pressure" else "liquid_line_temp"
            )
        elif wordings[:1] == ("charge_target",) and item.sense.quantity in ("subcooling", "superheat"):
            item.sense = replace(item.sense, quantity=target_kind(listening, item.number))
        settled.append(item)
    return settled


_ROOMS = frozenset({"room", "house", "basement", "kitchen", "hallway", "bedroom", "closet", "garage", "space", "shop"})
_FLUE = frozenset({"flue", "stack", "vent", "exhaust"})


def _in_a_room(passage: Passage, item) -> bool:
    """ "Zero CO in the mechanical room": what people breathe, not what goes up the flue."""
    end = max(item.number.end, item.name.end if item.name else 0)
    behind = passage.words(end, end + 4)
    place = set(behind[: behind.index(",")] if "," in behind else behind)
    start, stop = passage.sentences[item.sentence]
    return behind[:1] == ["in"] and bool(place & _ROOMS) and not _FLUE & set(passage.words(start, stop))


def _side_of_the_runs(passage: Passage, item, facts) -> str | None:
    """ "Three returns, all twelve inch flex, moving about nine hundred between them"."""
    start, end = passage.sentences[item.sentence]
    first, last = passage.offsets[start][0], passage.offsets[end - 1][1]
    together = {"between", "pair", "both", "together", "among"} & set(passage.words(item.number.start, end))
    here = [run.side for run in facts.duct_runs if run.said in passage.text[first:last]]
    return here[-1] if here and together else None


def _taken_out(passage: Passage, item) -> bool:
    """ "Took thirteen ounces out of the back one"."""
    unit = passage.units.get(item.number.end)
    end = unit.end if unit else item.number.end
    verb = item.name and passage.words(item.name.start, item.name.end)[0]
    if verb == "weighed":  # "refrigerant's out, weighed two pounds nine"
        before = passage.names_in(passage.sentences[item.sentence][0], item.name.start)
        in_again = {"in", "into"}.intersection(passage.words(item.name.end, item.name.end + 2))  # "weighed back in"
        return not in_again and any("refrigerant_recovered" in name.quantities() for name in before)
    took = verb in ("took", "dropped", "fed")
    behind = passage.words(end, min(end + 5, passage.sentences[item.sentence][1]))
    clause = behind[: behind.index(",")] if "," in behind else behind
    return took and bool({"out", "off"} & set(clause))


def _hood_side(passage: Passage, item, context: Context, facts) -> str:
    start, end = passage.sentences[item.sentence]
    words = set(passage.words(start, end))
    if words & {"return", "returns"}:
        return "return_airflow"
    if words & {"supply", "supplies", "register", "registers"}:
        return "supply_airflow"
    runs = [run.side for run in facts.duct_runs] or [run.side for run in context.job.duct_runs]
    return f"{runs[-1]}_airflow" if runs else "system_airflow"


def target_kind(listening, number: Number) -> str:
    """Subcooling for an expansion valve, superheat for a fixed orifice; subcooling while nothing is known."""
    system = system_at(number.start, listening.systems, listening.passage, listening.context)
    told = [*listening.context.job.equipment, *listening.facts.equipment]
    devices = [e.metering_device for e in told if e.metering_device and e.system == system]
    return "superheat" if devices and devices[-1] in ("fixed_orifice", "capillary") else "subcooling"


def dial_text(number: Number) -> str:
    """A meter's dial as its qualifier: "2 ft3", "0.5 ft3"."""
    return f"{number.value:g} ft3"

"""What subcooling and superheat are, what they should be, and which of the two decides."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.judge.conflicts import charge_touched, moved_since
from assistant.judge.facts import Facts, Moment, evidence, inputs_of, shown
from assistant.judge.tables import limit
from assistant.records import Calculation, Reading

VALVES = ("txv", "eev")
ORIFICES = ("fixed_orifice", "capillary")
MADE_OF = {
    "subcooling": ("liquid_pressure", "liquid_line_temp"),
    "superheat": ("suction_pressure", "suction_line_temp"),
}
_CHARGE_TALK = ("subcooling", "superheat", *MADE_OF["subcooling"], *MADE_OF["superheat"])


@dataclass(frozen=True, slots=True)
class Found:
    """A temperature or difference as it stands: worked out where it can be, else as the speaker read it off."""

    value: float  # [degF or delta_degF]
    plus_minus: float
    first: Moment  # when its first input was said
    last: Moment
    words: str  # "subcooling 9.7 °F"
    because: tuple[str, ...]


def found(facts: Facts, name: str) -> Found | None:
    """The computed value rules the spoken one, unless refrigerant went in or out since its readings."""
    worked_out, spoken = facts.calculation(name), facts.measured(name)
    if worked_out and moved_since(facts, facts.when(worked_out)):
        worked_out = None
    if spoken and moved_since(facts, facts.at(spoken)):
        spoken = None
    if worked_out and not (spoken and _newer(facts, spoken, worked_out)):
        return as_worked_out(facts, name, worked_out)
    return as_spoken(facts, name, spoken) if spoken else None


def as_worked_out(facts: Facts, title: str, worked_out: Calculation) -> Found:
    """A temperature or difference that follows from other readings."""
    words = f"{title} {shown(worked_out.value, worked_out.unit)}"
    span = (facts.since(worked_out), facts.when(worked_out))
    return Found(worked_out.value, worked_out.plus_minus, *span, words, inputs_of(worked_out))


def as_spoken(facts: Facts, title: str, spoken: Reading) -> Found:
    """A temperature or difference as it was read off, good to the rounding of what is said and to its swing."""
    half = (spoken.high - spoken.low) / 2 if spoken.low is not None and spoken.high is not None else 0.0
    how = "as estimated" if spoken.role == "estimated" else "as spoken"
    words = f"{title} {shown(spoken.value, spoken.unit)} {how}"
    at = facts.at(spoken)
    return Found(spoken.value, half + limit("spoken_rounding").within, at, at, words, evidence(spoken))


def _newer(facts: Facts, spoken: Reading, worked_out: Calculation) -> bool:
    at = facts.at(spoken)
    if facts.visit(spoken.note) > facts.visit_at(facts.when(worked_out)):
        return True
    return at > facts.when(worked_out) and charge_touched(facts, facts.when(worked_out), at)


@dataclass(frozen=True, slots=True)
class Target:
    value: float  # [delta_degF]
    words: str  # whose it is
    plus_minus: float = 0.0
    half: float = 0.0  # half of the plate's own range, where it gives one


def target_of(facts: Facts, name: str, value: Found | None = None) -> Target | None:
    """The plate's or chart's target as spoken; for superheat else the one worked out from the weather.

    The weather has to be that of the visit on which `value` was read.
    """
    spoken = facts.plate(name)
    if spoken is None and name == "superheat":
        spoken = facts.plate("target_superheat") or facts.measured("target_superheat")
    if spoken is not None:
        ranged = spoken.low is not None and spoken.high is not None
        half = (spoken.high - spoken.low) / 2 if ranged else 0.0
        return Target(spoken.value, _whose(spoken), half=half)
    table = facts.calculation("target_superheat") if name == "superheat" else None
    if table and value and facts.visit_of(table) != facts.visit_at(value.last):
        return None
    return Target(table.value, "target for this weather", table.plus_minus) if table else None


def _whose(reading: Reading) -> str:
    said = reading.said.lower()
    for words, name in ((("plate", "sticker", "tag", "label"), "nameplate"), (("chart", "book"), "chart")):
        if any(word in said for word in words):
            return name
    return "nameplate" if reading.role == "rated" else "target"


def method_of(facts: Facts) -> str | None:
    """Which value decides: by the metering device, or where that was not said by the target that was."""
    device = facts.equipment.metering_device
    if device in VALVES:
        return "subcooling"
    if device in ORIFICES:
        return "superheat"
    if facts.plate("subcooling"):
        return "subcooling"
    return "superheat" if target_of(facts, "superheat") and facts.plate("superheat") else None


def charge_visit(facts: Facts) -> int | None:
    """The last visit on which anything was said that a charge verdict is made of; None for never."""
    read = [facts.visit(r.note) for name in _CHARGE_TALK if (r := facts.measured(name))]
    added = facts.current("refrigerant_added")
    weighed = [facts.visit(e.note) for e in facts.events if e.kind == "charging"]
    return max(read + weighed + ([facts.visit(added.note)] if added else []), default=None)

"""Refrigerant records: the annualised leak rate, the rule in force, and what a flammable refrigerant asks for."""

from __future__ import annotations

import functools
import math
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from importlib import resources

from assistant.compute.ranges import above, within
from assistant.compute.refrigerant import canonical
from assistant.errors import OutOfRange, SettingsError
from assistant.records import JobLog

USES = ("industrial_process", "commercial_refrigeration", "comfort_cooling", "light_commercial", "residential")
POUNDS_PER_KILOGRAM = 2.20462


@dataclass(frozen=True, slots=True)
class RefrigerantFacts:
    """One row of refrigerants.toml."""

    name: str
    safety_class: str  # ASHRAE 34: A1, A2L, A3
    gwp: float  # global warming potential over 100 years
    ozone_depleting: bool
    source: str
    lower_flammability_limit: float | None = None  # kg/m3; None: does not burn

    @property
    def flammable(self) -> bool:
        return self.lower_flammability_limit is not None


@dataclass(frozen=True, slots=True)
class LeakRule:
    """The rule a system falls under, and the leak rate above which it asks for repair."""

    name: str  # "ozone" | "hfc"
    threshold: float  # percent a year
    source: str


@functools.cache
def _facts() -> dict[str, RefrigerantFacts]:
    rows = tomllib.loads(_text("refrigerants.toml"))
    for name, row in rows.items():
        if not row.get("source"):
            raise SettingsError(f"The facts of {name} have no source; they are not used without one.")
    return {name: RefrigerantFacts(name, **row) for name, row in rows.items()}


def _text(name: str) -> str:
    return resources.files("assistant.compute").joinpath(name).read_text("utf-8")


def refrigerant_facts(refrigerant: str) -> RefrigerantFacts:
    """Safety class, global warming potential and flammability limit. Raises UnknownRefrigerant."""
    return _facts()[canonical(refrigerant)]


@dataclass(frozen=True, slots=True)
class Ledger:
    """Refrigerant that went in and out of one system over a whole job."""

    system: str
    refrigerant: str | None
    added: float  # lb
    recovered: float  # lb

    @property
    def net(self) -> float:
        """What the job left in the system more than it found [lb]; below zero when more came out."""
        return self.added - self.recovered


def refrigerant_ledger(job: JobLog) -> tuple[Ledger, ...]:
    """Refrigerant in and out of every system of a job that had any of either [lb].

    Only what was measured and stands; a weigh-in that was told again the same day counts once, as it is
    superseded by the later one. The record of it is the technician's to keep. Source: arithmetic.
    """
    kinds = ("refrigerant_added", "refrigerant_recovered")
    weighed = [r for r in job.readings if r.quantity in kinds and r.role == "measured" and r.status == "current"]
    named = {e.system: e.refrigerant for e in job.equipment}
    return tuple(
        Ledger(
            system,
            named.get(system),
            *(sum(r.value for r in weighed if (r.system, r.quantity) == (system, kind)) for kind in kinds),
        )
        for system in dict.fromkeys(r.system for r in weighed)
    )


def annual_leak_rate(added: float, full_charge: float, days: float) -> float:
    """Leak rate by the annualising method [percent a year].

    added        [lb]    put in now, 0 or more
    full_charge  [lb]    of the system, above 0
    days         [days]  since refrigerant was last added, above 0; at most 365 are counted

    Method: added / full charge x 365 / days x 100.
    Source: 40 CFR 82.152, definition of leak rate, as summarised in an exam study guide. Raises OutOfRange.
    """
    share = within("refrigerant added", added, 0, math.inf, "lb") / above("full charge", full_charge, 0, "lb")
    return share * 365 / min(above("days", days, 0), 365) * 100


def rolling_leak_rate(added: Sequence[float], full_charge: float) -> float:
    """Leak rate by the rolling-average method [percent a year].

    added [lb], everything put in over the past 365 days; full_charge [lb], above 0.
    Source: 40 CFR 82.152, definition of leak rate, as summarised in an exam study guide. Raises OutOfRange.
    """
    for pounds in added:
        within("refrigerant added", pounds, 0, math.inf, "lb")
    return 100 * sum(added) / above("full charge", full_charge, 0, "lb")


def leak_rule(refrigerant: str, full_charge: float, use: str, on: date) -> LeakRule | None:
    """The leak-repair rule a system falls under on a day, or None: then nobody must be told "you must repair".

    refrigerant; full_charge [lb]; use, one of USES; on, the job's date.
    A house or a light commercial comfort system never falls under the HFC rule, whatever its charge.
    Source: leak_rules.toml, each rule with its own. Raises UnknownRefrigerant; OutOfRange for another use.
    """
    if use not in USES:
        raise OutOfRange(f"The use of a system is one of {', '.join(USES)}, not {use!r}.")
    facts = refrigerant_facts(refrigerant)
    above("full charge", full_charge, 0, "lb")
    for rule in _rules():
        if (
            on >= date.fromisoformat(rule["from"])
            and full_charge >= rule["charge"]
            and facts.ozone_depleting == rule["ozone_depleting"]
            and facts.gwp > rule.get("gwp_above", 0)
            and use not in rule["excluded_uses"]
        ):
            threshold = rule["thresholds"].get(use, rule["thresholds"]["comfort_cooling"])
            return LeakRule(rule["name"], threshold, rule["source"])
    return None


@functools.cache
def _rules() -> list[dict]:
    rules = tomllib.loads(_text("leak_rules.toml"))["rule"]
    if not all(rule.get("source") for rule in rules):
        raise SettingsError("A leak rule without a source is not used.")
    return rules


def free_charge(refrigerant: str) -> float | None:
    """Charge of a flammable refrigerant below which no room is too small [lb]; None when it does not burn.

    Method: 6 m3 x lower flammability limit (A2L). Source: UL/IEC 60335-2-40, R-32 as published in unit manuals.
    Raises UnknownRefrigerant; OutOfRange for class A3, which has another rule.
    """
    facts = refrigerant_facts(refrigerant)
    if facts.lower_flammability_limit is None:
        return None
    if facts.safety_class != "A2L":
        raise OutOfRange(f"{facts.name} is class {facts.safety_class}; the A2L charge limit does not hold for it.")
    return 6 * facts.lower_flammability_limit * POUNDS_PER_KILOGRAM


def minimum_room_area(charge: float, refrigerant: str, height: float = 0.6) -> float:
    """Smallest floor for an unducted indoor unit with an A2L refrigerant [m2].

    charge [lb], above 0; height [m] of the unit's release above the floor, 0.6 to 3 (0.6 floor, 1.8 wall, 2.2 ceiling).
    Method: (m / (2.5 LFL^1.25 h))^2, with m in kg; 0 where the charge is free (`free_charge`).
    Source: heat-pump installation manual citing IEC 60335-2-40:2018. The unit's own manual governs.
    Raises UnknownRefrigerant; OutOfRange, also for a refrigerant that is not A2L.
    """
    free = free_charge(refrigerant)
    if free is None:
        raise OutOfRange(f"{canonical(refrigerant)} does not burn, so no room is too small for it.")
    within("height", height, 0.6, 3, "m")
    if above("charge", charge, 0, "lb") < free:
        return 0.0
    limit = refrigerant_facts(refrigerant).lower_flammability_limit or math.inf
    return (charge / POUNDS_PER_KILOGRAM / (2.5 * limit**1.25 * height)) ** 2

"""What a duct can carry: friction, flex compression, shapes, and which added run closes a shortfall.

Compressed flex is given as a range, because published factors for one compression run from 2 to 5: the
high end is flex pulled tight, the low end is flex as it relaxes by itself, by the worst published factor.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from assistant.compute.altitude import air_density_ratio
from assistant.compute.constants import constant
from assistant.compute.ranges import above, within
from assistant.errors import OutOfRange
from assistant.records import DuctRun

_FT = 0.3048  # m
_CFM = 0.3048**3 / 60  # m3/s
_DENSITY = 16.018463  # kg/m3 in one lb/ft3
_INH2O = 249.089  # Pa
ROUND_SIZES = (4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20)  # [in], what is stocked; common practice, no source


@dataclass(frozen=True, slots=True)
class Range:
    """A value known only between two."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        return (self.low + self.high) / 2

    @property
    def half_width(self) -> float:
        return (self.high - self.low) / 2

    def __add__(self, other: Range) -> Range:
        return Range(self.low + other.low, self.high + other.high)

    def __mul__(self, times: float) -> Range:
        return Range(self.low * times, self.high * times)


def _air(diameter: float, altitude: float) -> tuple[float, float, float]:
    """Diameter [m], air density [kg/m3] and viscosity [Pa s]."""
    within("diameter", diameter, 2, 120, "in")
    density = constant("standard_density") * _DENSITY * air_density_ratio(altitude)
    return diameter / 12 * _FT, density, constant("air_viscosity")


def friction(airflow: float, diameter: float, roughness: float, *, altitude: float = 0.0) -> float:
    """Friction of a straight round duct [inH2O per 100 ft].

    airflow    [cfm]  above 0
    diameter   [in]   2 to 120
    roughness  [ft]   0.0003 metal, 0.003 flex pulled tight (constants.toml); 0 to 0.03
    altitude   [ft]   of the site

    Method: Darcy-Weisbach with the Colebrook factor of the library fluids, air of 0.075 lb/ft3. A printed
    chart of older, rougher duct reads up to 13 percent more.
    Source: from memory of ASHRAE Handbook Fundamentals, duct design. Raises OutOfRange.
    """
    import fluids

    above("airflow", airflow, 0, "cfm")
    within("roughness", roughness, 0, 0.03, "ft")
    wide, density, viscosity = _air(diameter, altitude)
    speed = airflow * _CFM / (math.pi / 4 * wide**2)
    reynolds = density * speed * wide / viscosity
    factor = fluids.friction_factor(Re=reynolds, eD=roughness * _FT / wide, Method="Clamond")
    return factor * 100 * _FT / wide * density * speed**2 / 2 / _INH2O


def airflow_at(friction_rate: float, diameter: float, roughness: float, *, altitude: float = 0.0) -> float:
    """Airflow at which a round duct has `friction_rate` [cfm]: the inverse of `friction`.

    friction_rate [inH2O per 100 ft], above 0 to 5; the rest as `friction`.
    Method: with the pressure known, Colebrook gives the speed outright: no iteration. Turbulent flow only.
    Source: C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939) 133. Raises OutOfRange.
    """
    above("friction rate", within("friction rate", friction_rate, 0, 5, "inH2O/100 ft"), 0, "inH2O/100 ft")
    within("roughness", roughness, 0, 0.03, "ft")
    wide, density, viscosity = _air(diameter, altitude)
    root = math.sqrt(2 * wide * friction_rate * _INH2O / (100 * _FT) / density)
    speed = -2 * root * math.log10(roughness * _FT / wide / 3.7 + 2.51 * viscosity / density / (wide * root))
    return speed * math.pi / 4 * wide**2 / _CFM


def rectangular_equivalent(width: float, height: float) -> float:
    """Round duct with the same friction at the same airflow [in]. Not the hydraulic diameter, which undersizes.

    width, height [in], 2 to 120 each, no flatter than 8 to 1.
    Method: 1.30 (ab)^0.625 / (a + b)^0.25. Source: HVAC engineering text p. 97; ASHRAE. Raises OutOfRange.
    """
    for side in (width, height):
        within("side", side, 2, 120, "in")
    if max(width, height) > 8 * min(width, height):
        raise OutOfRange(f"A duct {width:g} by {height:g} in is flatter than 8 to 1, where the equivalent fails.")
    return 1.30 * (width * height) ** 0.625 / (width + height) ** 0.25


def oval_equivalent(major: float, minor: float) -> float:
    """Round duct with the same friction as a flat oval at the same airflow [in].

    major, minor [in], 2 to 120, major not below minor.
    Method: 1.55 A^0.625 / P^0.25. Source: from memory of ASHRAE Handbook Fundamentals. Raises OutOfRange.
    """
    within("minor axis", minor, 2, 120, "in")
    within("major axis", major, minor, 120, "in")
    area = math.pi * minor**2 / 4 + minor * (major - minor)
    return 1.55 * area**0.625 / (math.pi * minor + 2 * (major - minor)) ** 0.25


def flex_compression(diameter: float, compression: float) -> Range:
    """How many times the friction of tight flex compressed flex has [-], as a range over published figures.

    diameter [in], 4 to 24; compression [percent], 0 to 30: how much shorter than pulled tight.
    Method: from the industry's figure (twice at 15 percent, taken in proportion) to 1 + 0.58 r exp(-0.126 D).
    Source: Air Diffusion Council as described in a trade article; ASHRAE formula from memory, both in
    constants.toml. Raises OutOfRange.
    """
    within("flex diameter", diameter, 4, 24, "in")
    within("compression", compression, 0, 30, "percent")
    industry = 1 + (constant("flex_compression_industry") - 1) * compression / constant("flex_compression_usual")
    decay = math.exp(-constant("flex_compression_decay") * diameter)
    formula = 1 + constant("flex_compression_slope") * compression * decay
    return Range(min(industry, formula), max(industry, formula))


def flex_airflow(friction_rate: float, diameter: float, compression: float, *, altitude: float = 0.0) -> Range:
    """Airflow of flex compressed by so much [cfm], over the published factors. As `airflow_at`."""
    factor = flex_compression(diameter, compression)
    ends = (
        airflow_at(friction_rate / times, diameter, constant("roughness_flex"), altitude=altitude)
        for times in (factor.high, factor.low)
    )
    return Range(*ends)


def compression_that_carries(airflow: float, diameter: float, friction_rate: float) -> float | None:
    """Compression [percent] at which flex still carries `airflow` [cfm] by the ASHRAE formula; None: not even tight.

    It tells where a rule of thumb holds. Units, source and errors as `flex_airflow`; over 30 gives 30.
    """
    if airflow_at(friction_rate, diameter, constant("roughness_flex")) < airflow:
        return None
    times = friction_rate / friction(airflow, diameter, constant("roughness_flex"))
    decay = math.exp(-constant("flex_compression_decay") * diameter)
    return min((times - 1) / (constant("flex_compression_slope") * decay), 30.0)


# ------------------------------------------------------------------ the runs that were said


def equivalent_diameter(run: DuctRun) -> float:
    """Round duct with the same friction [in]. Raises OutOfRange when the run's size was not said."""
    sizes = {"round": 1, "rect": 2, "oval": 2}
    if len(run.size_in) != sizes.get(run.shape, 0):
        raise OutOfRange(f"The size of the {run.side} run was not said.")
    if run.shape == "round":
        return run.size_in[0]
    if run.shape == "rect":
        return rectangular_equivalent(*run.size_in)
    return oval_equivalent(max(run.size_in), min(run.size_in))


def run_airflow(run: DuctRun, friction_rate: float, *, altitude: float = 0.0) -> Range:
    """What the runs of one record can carry together at a friction rate [cfm].

    Flex: from relaxed (15 percent, worst factor) to pulled tight. Metal and board: 7 percent either way,
    which is how far a printed chart and Colebrook differ. Material not said: everything it could be.
    Source: as `flex_airflow` and `airflow_at`. Raises OutOfRange.
    """
    diameter = equivalent_diameter(run)
    spread = constant("friction_chart_spread") / 100
    could_be = [run.material] if run.material else ["flex", "metal"] if run.shape == "round" else ["metal", "board"]
    ends: list[float] = []
    for material in could_be:
        if material == "flex":
            relaxed = flex_airflow(friction_rate, diameter, constant("flex_compression_usual"), altitude=altitude)
            ends += [relaxed.low, airflow_at(friction_rate, diameter, constant("roughness_flex"), altitude=altitude)]
        else:
            smooth = airflow_at(friction_rate, diameter, constant(f"roughness_{material}"), altitude=altitude)
            ends += [smooth * (1 - spread), smooth * (1 + spread)]
    return Range(min(ends), max(ends)) * run.count


def runs_in_place(runs: Iterable[DuctRun], side: str, system: str) -> tuple[DuctRun, ...]:
    """The runs of one side that are there now: existing and added, each counted once, less what was removed.

    The same run told again on another day ("the old twelve stays") is still one run; two in one note are two.
    """
    mine = [r for r in runs if r.side == side and r.system == system]
    counts: dict[tuple, dict[str, int]] = {}
    first: dict[tuple, DuctRun] = {}
    removed: dict[tuple, int] = {}
    for run in mine:
        kind = (run.shape, run.size_in)
        if run.status == "removed":
            removed[kind] = removed.get(kind, 0) + run.count
        elif run.status in ("existing", "added"):
            told = counts.setdefault((*kind, run.status), {})
            told[run.note] = told.get(run.note, 0) + run.count
            known = first.get((*kind, run.status))
            first[(*kind, run.status)] = run if known is None or known.material is None else known
    standing = []
    for kind, told in counts.items():
        gone = min(removed.get(kind[:2], 0), max(told.values()))
        removed[kind[:2]] = removed.get(kind[:2], 0) - gone
        standing.append((first[kind], max(told.values()) - gone))
    return tuple(replace(run, count=count) for run, count in standing if count > 0)


def _is_trunk(run: DuctRun, beside: list[DuctRun]) -> bool:
    """A run that feeds the others: called a trunk, or a rectangular supply duct where round ones were told too."""
    if "trunk" in run.said.lower():
        return True
    return run.side == "supply" and run.shape != "round" and any(other.shape == "round" for other in beside)


def duct_capacity(runs: Iterable[DuctRun], friction_rate: float, *, altitude: float = 0.0) -> Range:
    """What all `runs` of one side can carry together [cfm]. As `run_airflow`; no runs carry nothing.

    Runs side by side add up. A trunk and its branches are one after the other, so the lesser of the two counts.
    """
    runs = list(runs)
    trunks = [run for run in runs if _is_trunk(run, runs)]
    branches = [run for run in runs if run not in trunks]
    groups = [
        sum((run_airflow(run, friction_rate, altitude=altitude) for run in group), Range(0.0, 0.0))
        for group in (trunks, branches)
        if group
    ]
    if not groups:
        return Range(0.0, 0.0)
    return Range(min(group.low for group in groups), min(group.high for group in groups))


@dataclass(frozen=True, slots=True)
class Addition:
    """One or two round runs to add."""

    sizes_in: tuple[int, ...]
    airflow: Range  # [cfm], together


def additions(
    shortfall: float, friction_rate: float, *, material: str = "flex", altitude: float = 0.0
) -> tuple[Addition, ...]:
    """Which added runs close a shortfall: the smallest single one, and the least pair of smaller ones; less duct first.

    shortfall [cfm], above 0; friction_rate [inH2O per 100 ft]; material "flex" or "metal".
    Method: the low end of what they carry has to be enough, so that relaxed flex still does. Sizes are the
    stocked ones, 4 to 20 in. Empty when nothing up to two 20 in runs does.
    Source: as `run_airflow`. Raises OutOfRange.
    """
    above("shortfall", shortfall, 0, "cfm")
    if material not in ("flex", "metal"):
        raise OutOfRange(f"A round run to add is flex or metal, not {material!r}.")
    each = {
        size: run_airflow(DuctRun("return", size_in=(size,), material=material), friction_rate, altitude=altitude)
        for size in ROUND_SIZES
    }
    enough_alone = [size for size in ROUND_SIZES if each[size].low >= shortfall]
    smaller = [size for size in ROUND_SIZES if size not in enough_alone]
    pairs = [
        Addition(pair, each[pair[0]] + each[pair[1]]) for pair in itertools.combinations_with_replacement(smaller, 2)
    ]
    found = [Addition((size,), each[size]) for size in enough_alone[:1]]
    found += sorted((pair for pair in pairs if pair.airflow.low >= shortfall), key=_area)[:1]
    return tuple(sorted(found, key=_area))


def _area(option: Addition) -> float:
    return sum(size**2 for size in option.sizes_in)

"""Saturation of the refrigerants of the trade. The only file that touches CoolProp.

CoolProp is slow to import and slow to ask, so its curves were written once into `saturation.csv` (by
`saturation_table.py`) and are read from there: cubic pieces through exact points and slopes, within
0.01 degF of CoolProp from 5 psi absolute up to 80 to 94 percent of the
critical pressure (785 psi for R-32, 665 for R-410A, 600 for R-454B).
"""

from __future__ import annotations

import bisect
import csv
import functools
import math
import re
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING

from assistant.compute.altitude import SEA_LEVEL
from assistant.compute.ranges import within
from assistant.errors import OutOfRange, UnknownRefrigerant

if TYPE_CHECKING:
    import numpy

# What CoolProp calls each one. Blends without a fluid of their own are mixtures of the ASHRAE 34 composition.
COOLPROP_NAME = {
    "R-22": "R22",
    "R-32": "R32",
    "R-134a": "R134a",
    "R-290": "R290",
    "R-404A": "R404A",
    "R-407C": "R407C",
    "R-410A": "R410A",
    "R-448A": "R448A.mix",
    "R-449A": "R449A.mix",
    "R-452B": "R452B.mix",
    "R-454B": "R454B.mix",
    "R-513A": "R513A.mix",
}
REFRIGERANTS = tuple(COOLPROP_NAME)


@dataclass(frozen=True, slots=True)
class Curve:
    """One column of the table along the logarithm of absolute pressure, with its slopes."""

    log_pressure: list[float]  # natural logarithm of [psi] absolute, rising
    value: list[float]  # temperature [degF] or density [lb/ft3]
    slope: list[float]  # change of the value per unit of log_pressure

    def at(self, x: float) -> float:
        """The value at log pressure `x`, by the cubic through both ends of its interval and their slopes."""
        place = min(max(bisect.bisect_right(self.log_pressure, x) - 1, 0), len(self.value) - 2)
        width = self.log_pressure[place + 1] - self.log_pressure[place]
        t = (x - self.log_pressure[place]) / width
        rise = self.value[place + 1] - self.value[place]
        start, end = self.slope[place] * width - rise, rise - self.slope[place + 1] * width
        return self.value[place] + t * rise + t * (1 - t) * (start * (1 - t) + end * t)


@functools.cache
def _table() -> dict[str, dict[str, Curve]]:
    text = resources.files("assistant.compute").joinpath("saturation.csv").read_text("utf-8")
    rows: dict[str, list[dict[str, str]]] = {}
    for row in csv.DictReader(line for line in text.splitlines() if not line.startswith("#")):
        rows.setdefault(row["refrigerant"], []).append(row)

    def column(of: list[dict[str, str]], name: str) -> list[float]:
        return [float(row[name]) for row in of]

    return {
        refrigerant: {
            name: Curve(column(of, "log_psia"), column(of, name), column(of, f"{name}_slope"))
            for name in ("bubble", "dew", "density")
        }
        for refrigerant, of in rows.items()
    }


@functools.cache
def canonical(refrigerant: str) -> str:
    """The ASHRAE number as the contract writes it: "R410a" and "410A" are "R-410A".

    Raises UnknownRefrigerant.
    """
    bare = re.sub(r"[^0-9A-Z]", "", refrigerant.upper()).removeprefix("R")
    for name in REFRIGERANTS:
        if name.removeprefix("R-").upper() == bare:
            return name
    raise UnknownRefrigerant(refrigerant, list(REFRIGERANTS))


def _curve(refrigerant: str, name: str) -> Curve:
    if name not in ("bubble", "dew", "density"):
        raise OutOfRange(f"A saturation point is bubble or dew, not {name!r}.")
    return _table()[canonical(refrigerant)][name]


def pressure_range(refrigerant: str) -> tuple[float, float]:
    """Lowest and highest absolute pressure [psi] of the saturation curve. Raises UnknownRefrigerant."""
    knots = _curve(refrigerant, "dew").log_pressure
    return math.exp(knots[0]), math.exp(knots[-1])


def absolute(pressure: float, atmosphere: float = SEA_LEVEL) -> float:
    """Gauge `pressure` [psi] as absolute [psi], where the air itself has `atmosphere` [psi] absolute.

    Raises OutOfRange for an atmosphere no site has (3 to 16) or a pressure below a perfect vacuum.
    """
    within("atmosphere", atmosphere, 3, 16, "psi")
    return within("absolute pressure", pressure + atmosphere, 0, math.inf, "psi")


def saturation_temp(
    pressure: float, refrigerant: str, *, point: str = "dew", atmosphere: float = SEA_LEVEL, gauge: bool = True
) -> float:
    """Temperature at which the refrigerant boils or condenses.

    pressure     [psi]  gauge, or absolute with gauge=False; from 5 psi absolute to near critical, see `pressure_range`
    refrigerant  [-]    ASHRAE number, "R-410A"
    point        [-]    "bubble" for liquid leaving the condenser, "dew" for vapour leaving the evaporator
    atmosphere   [psi]  absolute, where the gauge was zeroed; sea level unless told

    Returns [degF].
    Method: table of CoolProp 8 (pseudo-pure models for R-404A, R-407C, R-410A; mixtures of ASHRAE 34
    composition for R-448A, R-449A, R-452B, R-454B, R-513A), within 0.01 degF of it.
    Source: I. H. Bell et al., Ind. Eng. Chem. Res. 53 (2014) 2498; E. W. Lemmon, Int. J. Thermophys. 24 (2003) 991.
    Raises UnknownRefrigerant; OutOfRange beyond the curve.
    """
    curve = _curve(refrigerant, point)
    psia = absolute(pressure, atmosphere) if gauge else pressure
    low, high = pressure_range(refrigerant)
    if not low * (1 - 1e-12) <= psia <= high * (1 + 1e-12):
        known = f"{canonical(refrigerant)} saturation is known from {low:.0f} to {high:.0f} psi absolute"
        raise OutOfRange(f"{known}, not at {psia:.4g}.")
    return curve.at(math.log(psia))


def saturation_slope(pressure: float, refrigerant: str, *, point: str = "dew", atmosphere: float = SEA_LEVEL) -> float:
    """How fast saturation rises with gauge pressure, 0.3 to 1 near working pressures.

    Units, range and errors as `saturation_temp`. Returns [degF per psi], by central difference.
    """
    low, high = pressure_range(refrigerant)
    psia = absolute(pressure, atmosphere)
    below, above = max(psia * 0.999, low), min(psia * 1.001, high)
    ends = [saturation_temp(end, refrigerant, point=point, gauge=False) for end in (below, above)]
    saturation_temp(psia, refrigerant, point=point, gauge=False)  # raises when the reading itself is off the curve
    return (ends[1] - ends[0]) / (above - below)


def saturation_temps(
    pressures: numpy.ndarray, refrigerant: str, *, point: str = "dew", atmosphere: float = SEA_LEVEL
) -> numpy.ndarray:
    """`saturation_temp` of a whole array of gauge pressures [psi] at once; same shape, [degF].

    Raises UnknownRefrigerant; OutOfRange when any of them is off the curve.
    """
    import numpy

    start, step, cubic = _cubics(canonical(refrigerant), point)
    psia = numpy.asarray(pressures, dtype=float) + atmosphere
    low, high = pressure_range(refrigerant)
    if psia.size and not (psia.min() >= low * (1 - 1e-12) and psia.max() <= high * (1 + 1e-12)):
        raise OutOfRange(f"{refrigerant} saturation is known from {low:.0f} to {high:.0f} psi absolute.")
    t = (numpy.log(psia) - start) / step
    place = numpy.minimum(t.astype(numpy.intp), cubic.shape[1] - 1)  # the knots are evenly spaced
    t -= place
    temp = cubic[3][place]
    for power in (2, 1, 0):
        temp *= t
        temp += cubic[power][place]
    return temp


@functools.cache
def _cubics(refrigerant: str, point: str) -> tuple[float, float, numpy.ndarray]:
    """First knot and spacing of the logarithm, and the four coefficients of each interval's cubic."""
    import numpy

    curve = _curve(refrigerant, point)
    step = (curve.log_pressure[-1] - curve.log_pressure[0]) / (len(curve.value) - 1)
    value, slope = numpy.array(curve.value), numpy.array(curve.slope) * step
    rise = numpy.diff(value)
    start, end = slope[:-1] - rise, rise - slope[1:]
    return curve.log_pressure[0], step, numpy.array([value[:-1], rise + start, end - 2 * start, start - end])


def saturation_pressure(
    temp: float, refrigerant: str, *, point: str = "bubble", atmosphere: float = SEA_LEVEL, gauge: bool = True
) -> float:
    """Pressure at which the refrigerant is saturated at `temp` [degF]: the inverse of `saturation_temp`.

    Returns [psi] gauge, or absolute with gauge=False. Method: halving the interval on the same table.
    Raises UnknownRefrigerant; OutOfRange beyond the curve.
    """
    curve = _curve(refrigerant, point)
    within(f"{canonical(refrigerant)} temperature", temp, curve.value[0], curve.value[-1], "degF")
    place = min(max(bisect.bisect_right(curve.value, temp) - 1, 0), len(curve.value) - 2)
    low, high = curve.log_pressure[place], curve.log_pressure[place + 1]
    while high - low > 1e-13:
        middle = (low + high) / 2
        low, high = (middle, high) if curve.at(middle) < temp else (low, middle)
    psia = math.exp((low + high) / 2)
    return psia - within("atmosphere", atmosphere, 3, 16, "psi") if gauge else psia


def liquid_density(temp: float, refrigerant: str) -> float:
    """Density of saturated liquid at `temp` [degF]; [lb/ft3].

    Method: same table as `saturation_temp`, on the bubble line. Source: CoolProp 8.
    Raises UnknownRefrigerant; OutOfRange beyond the curve.
    """
    psia = saturation_pressure(temp, refrigerant, point="bubble", gauge=False)
    return _curve(refrigerant, "density").at(math.log(psia))


# ------------------------------------------------------------------ CoolProp itself, out of the hot path


class Fluid:
    """CoolProp's own answers in the trade's units; for building the table, for cycles and for charts."""

    def __init__(self, refrigerant: str):
        from CoolProp import CoolProp

        self.refrigerant = canonical(refrigerant)
        self._inputs = CoolProp
        self._state = CoolProp.AbstractState("HEOS", COOLPROP_NAME[self.refrigerant])
        self._mixed = COOLPROP_NAME[self.refrigerant].endswith(".mix")

    def saturated(self, psia: float, quality: float) -> dict[str, float]:
        """State on the bubble (quality 0) or dew (1) line, or between, at `psia` [psi absolute]."""
        return self._read(self._inputs.PQ_INPUTS, psia * _PA, quality)

    def along(self, pressures: list[float], quality: float) -> list[dict[str, float]]:
        """Saturated states at rising `pressures` [psi absolute].

        Each mixture state is the first guess of the next, because from cold CoolProp's mixture solver loses
        its way above about 450 psi absolute. The pressures should rise by no more than about 3 percent a step.
        """
        states = [self.saturated(pressures[0], quality)]
        for psia in pressures[1:]:
            states.append(self._next(psia, quality) if self._mixed else self.saturated(psia, quality))
        return states

    def _next(self, psia: float, quality: float) -> dict[str, float]:
        guess, state = self._inputs.PyGuessesStructure(), self._state
        guess.T, guess.p = state.T(), state.p()
        guess.x, guess.y = state.mole_fractions_liquid(), state.mole_fractions_vapor()
        guess.rhomolar_liq = state.saturated_liquid_keyed_output(self._inputs.iDmolar)
        guess.rhomolar_vap = state.saturated_vapor_keyed_output(self._inputs.iDmolar)
        return self._read(self._inputs.PQ_INPUTS, psia * _PA, quality, guess)

    def at(self, psia: float, temp: float, *, vapour: bool) -> dict[str, float]:
        """State of one phase at `psia` [psi absolute] and `temp` [degF]."""
        phase = self._inputs.iphase_gas if vapour else self._inputs.iphase_liquid
        self._state.specify_phase(phase)
        try:
            return self._read(self._inputs.PT_INPUTS, psia * _PA, _kelvin(temp))
        finally:
            self._state.unspecify_phase()

    def _read(self, inputs: int, first: float, second: float, guess: object = None) -> dict[str, float]:
        try:
            if guess is None:
                self._state.update(inputs, first, second)
            else:
                self._state.update_with_guesses(inputs, first, second, guess)
        except ValueError as err:
            raise OutOfRange(f"{self.refrigerant} has no such state: {err}.") from err
        return {
            "temp": self._state.T() * 1.8 - 459.67,  # degF
            "psia": self._state.p() / _PA,
            "enthalpy": self._state.hmass() / 2326.0,  # Btu/lb
            "entropy": self._state.smass() / 4186.8,  # Btu/(lb degR)
            "density": self._state.rhomass() / 16.018463,  # lb/ft3
        }


_PA = 6894.757293168  # in one psi


def _kelvin(temp: float) -> float:
    return (temp + 459.67) / 1.8

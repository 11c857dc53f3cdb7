"""The refrigeration cycle from the readings: its points, its work, and an estimate of capacity.

Asks CoolProp directly, which is slow to start; nothing here is needed to take a note.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.compute.altitude import SEA_LEVEL
from assistant.compute.constants import constant
from assistant.compute.ranges import above, within
from assistant.compute.refrigerant import Fluid, absolute, canonical
from assistant.errors import OutOfRange


@dataclass(frozen=True, slots=True)
class Point:
    """One state of the refrigerant."""

    name: str  # suction, discharge, liquid, evaporator_inlet
    temp: float  # degF
    psia: float  # psi absolute
    enthalpy: float  # Btu/lb
    entropy: float  # Btu/(lb degR)


@dataclass(frozen=True, slots=True)
class Cycle:
    """The four points of a cycle, in the order the refrigerant passes them."""

    refrigerant: str
    suction: Point
    discharge: Point
    liquid: Point
    evaporator_inlet: Point
    discharge_measured: bool  # else its temperature is an estimate, by the efficiency

    @property
    def points(self) -> tuple[Point, ...]:
        return self.suction, self.discharge, self.liquid, self.evaporator_inlet

    @property
    def evaporator_effect(self) -> float:
        """Heat each pound takes up in the evaporator [Btu/lb]."""
        return self.suction.enthalpy - self.evaporator_inlet.enthalpy

    @property
    def work(self) -> float:
        """Work each pound takes in the compressor [Btu/lb]."""
        return self.discharge.enthalpy - self.suction.enthalpy

    @property
    def cooling_performance(self) -> float:
        """Cooling over compressor work [-]."""
        return self.evaporator_effect / self.work


def cycle_points(
    suction_pressure: float,
    suction_line_temp: float,
    liquid_pressure: float,
    liquid_line_temp: float,
    refrigerant: str,
    *,
    discharge_line_temp: float | None = None,
    isentropic_efficiency: float | None = None,
    atmosphere: float = SEA_LEVEL,
) -> Cycle:
    """The cycle the readings describe.

    suction_pressure, liquid_pressure        [psi]   gauge, head above suction
    suction_line_temp, liquid_line_temp      [degF]  vapour above its dew point, liquid below its bubble point
    discharge_line_temp                      [degF]  measured; without it the efficiency stands in
    isentropic_efficiency                    [-]     0.3 to 1; as in constants.toml unless told
    atmosphere                               [psi]   absolute

    Method: states of CoolProp; compression from the measured discharge, or isentropic over the efficiency;
    throttling keeps enthalpy. The heat a line loses and its pressure drop are left out.
    Source: CoolProp 8. Raises UnknownRefrigerant; OutOfRange for states that cannot be.
    """
    efficiency = constant("isentropic_efficiency") if isentropic_efficiency is None else isentropic_efficiency
    within("isentropic efficiency", efficiency, 0.3, 1)
    low, high = absolute(suction_pressure, atmosphere), absolute(liquid_pressure, atmosphere)
    if high <= low:
        raise OutOfRange(f"The head ({liquid_pressure:g} psi) is not above the suction ({suction_pressure:g} psi).")
    fluid = Fluid(refrigerant)
    if suction_line_temp <= fluid.saturated(low, 1)["temp"]:
        raise OutOfRange("The suction line is not above saturation, so how wet the vapour is cannot be known.")
    if liquid_line_temp >= fluid.saturated(high, 0)["temp"]:
        raise OutOfRange("The liquid line is not below saturation, so how much vapour is in it cannot be known.")
    suction = _point("suction", fluid.at(low, suction_line_temp, vapour=True))
    if discharge_line_temp is None:
        ideal = _at_entropy(fluid, high, suction.entropy)
        enthalpy = suction.enthalpy + (ideal.enthalpy - suction.enthalpy) / efficiency
        discharge = _at_enthalpy(fluid, high, enthalpy)
    else:
        if discharge_line_temp <= fluid.saturated(high, 1)["temp"]:
            raise OutOfRange("The discharge line is not above saturation.")
        discharge = _point("discharge", fluid.at(high, discharge_line_temp, vapour=True))
    liquid = _point("liquid", fluid.at(high, liquid_line_temp, vapour=False))
    inlet = _throttled(fluid, low, liquid.enthalpy)
    return Cycle(canonical(refrigerant), suction, discharge, liquid, inlet, discharge_line_temp is not None)


def _point(name: str, state: dict[str, float]) -> Point:
    return Point(name, state["temp"], state["psia"], state["enthalpy"], state["entropy"])


def _solve(fluid: Fluid, psia: float, key: str, wanted: float) -> Point:
    """The vapour at `psia` whose `key` is `wanted`; both enthalpy and entropy rise with temperature."""
    low, high = fluid.saturated(psia, 1)["temp"] + 0.01, 400.0
    if not fluid.at(psia, low, vapour=True)[key] <= wanted <= fluid.at(psia, high, vapour=True)[key]:
        raise OutOfRange("The discharge would be wet or hotter than 400 degF; a reading is off.")
    while high - low > 1e-4:
        middle = (low + high) / 2
        low, high = (middle, high) if fluid.at(psia, middle, vapour=True)[key] < wanted else (low, middle)
    return _point("discharge", fluid.at(psia, low, vapour=True))


def _at_entropy(fluid: Fluid, psia: float, entropy: float) -> Point:
    return _solve(fluid, psia, "entropy", entropy)


def _at_enthalpy(fluid: Fluid, psia: float, enthalpy: float) -> Point:
    return _solve(fluid, psia, "enthalpy", enthalpy)


def _throttled(fluid: Fluid, psia: float, enthalpy: float) -> Point:
    """The mixture at `psia` with the liquid's own enthalpy, on the line between bubble and dew."""
    bubble, dew = fluid.saturated(psia, 0), fluid.saturated(psia, 1)
    share = (enthalpy - bubble["enthalpy"]) / (dew["enthalpy"] - bubble["enthalpy"])
    if share < 0:
        raise OutOfRange("The liquid is colder than the evaporator; a reading is off.")
    between = {key: bubble[key] + share * (dew[key] - bubble[key]) for key in bubble}
    return _point("evaporator_inlet", between)


def capacity_from_power(cycle: Cycle, watts: float, *, shell_loss: float | None = None) -> float:
    """Cooling capacity from what the compressor draws [Btu/h].

    watts       [W]        into the compressor, above 0
    shell_loss  [percent]  of that, given off by the shell, 0 to 30; as in constants.toml unless told

    Method: what reaches the refrigerant, over the work each pound takes, times what each pound takes up. An
    estimate, within about 10 percent at best: it leans on three temperatures and a power.
    Source: energy balance of the compressor. Raises OutOfRange.
    """
    above("power", watts, 0, "W")
    lost = constant("shell_loss") if shell_loss is None else shell_loss
    kept = 1 - within("shell loss", lost, 0, 30, "percent") / 100
    return watts * constant("electric_heat") * kept * cycle.evaporator_effect / cycle.work

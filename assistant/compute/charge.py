"""The refrigerant charge: subcooling, superheat, their targets, and the charge by weight."""

from __future__ import annotations

import math

from assistant.compute.altitude import SEA_LEVEL
from assistant.compute.constants import constant, rows
from assistant.compute.ranges import above, within
from assistant.compute.refrigerant import absolute, liquid_density, saturation_slope, saturation_temp
from assistant.compute.tables import lookup
from assistant.errors import OutOfRange

OUNCES_PER_POUND = 16


def subcooling(
    liquid_pressure: float, liquid_line_temp: float, refrigerant: str, *, atmosphere: float = SEA_LEVEL
) -> float:
    """Degrees by which the liquid line is cooler than condensing saturation.

    liquid_pressure   [psi]   gauge, at the liquid service port
    liquid_line_temp  [degF]  -60 to 250, clamped to the line beside that port
    refrigerant       [-]     ASHRAE number, "R-410A"
    atmosphere        [psi]   absolute, where the gauge was zeroed; sea level unless told

    Returns [delta_degF]. Below zero is an answer, not an error: vapour in the line, or a probe is off.
    Method: bubble point, because liquid leaves the condenser. A dew point would read high by the
    blend's glide, about 0.2 for R-410A and 9 for R-407C.
    Source: saturation as in `refrigerant.saturation_temp`.
    Raises UnknownRefrigerant; OutOfRange beyond the saturation curve.
    """
    within("liquid line", liquid_line_temp, -60, 250, "degF")
    return saturation_temp(liquid_pressure, refrigerant, point="bubble", atmosphere=atmosphere) - liquid_line_temp


def superheat(
    suction_pressure: float, suction_line_temp: float, refrigerant: str, *, atmosphere: float = SEA_LEVEL
) -> float:
    """Degrees by which the suction line is warmer than evaporating saturation.

    suction_pressure   [psi]   gauge, at the suction service port
    suction_line_temp  [degF]  -100 to 200, clamped to the line beside that port
    refrigerant        [-]     ASHRAE number
    atmosphere         [psi]   absolute, where the gauge was zeroed; sea level unless told

    Returns [delta_degF]. Below zero: liquid in the suction line, or a probe is off.
    Method: dew point, because the last drop to boil is at the dew point.
    Source: saturation as in `refrigerant.saturation_temp`.
    Raises UnknownRefrigerant; OutOfRange beyond the saturation curve.
    """
    within("suction line", suction_line_temp, -100, 200, "degF")
    return suction_line_temp - saturation_temp(suction_pressure, refrigerant, point="dew", atmosphere=atmosphere)


def saturation_plus_minus(
    pressure: float, refrigerant: str, *, point: str, gauge_percent: float, atmosphere: float = SEA_LEVEL
) -> float:
    """How far a saturation temperature can be off because the gauge is: the curve's slope times the gauge's error.

    pressure [psi] gauge; gauge_percent [percent of the reading], 0 to 100. Returns [delta_degF].
    Method: first order, as in JCGM 100 (the GUM) 5.1.2. Raises UnknownRefrigerant; OutOfRange.
    """
    within("gauge accuracy", gauge_percent, 0, 100, "percent")
    slope = saturation_slope(pressure, refrigerant, point=point, atmosphere=atmosphere)
    return abs(pressure) * gauge_percent / 100 * slope


def target_superheat(return_wet_bulb: float, outdoor_temp: float) -> float:
    """Superheat a fixed-orifice system should show.

    return_wet_bulb  [degF]  50 to 76, air entering the coil
    outdoor_temp     [degF]  40 to 115, air entering the condenser; the test itself is valid from 55

    Returns [delta_degF].
    Method: published table, straight-line interpolation both ways. Where a cell needed is a dash there is
    no valid test: that is an error, never 5 degrees. The shortcut (3 WB - 80 - ODB)/2 is off by up to 6.5
    and answers where there is no valid test, so it is not used.
    Source: target_superheat.csv, each row with its own.
    Raises OutOfRange outside the table or at a dash.
    """
    return lookup("target_superheat.csv", "outdoor", outdoor_temp, return_wet_bulb)


def condensing_split(liquid_saturation_temp: float, outdoor_temp: float) -> float:
    """Condensing saturation over the outdoor air [delta_degF], from two [degF]. Source: definition."""
    return liquid_saturation_temp - outdoor_temp


def evaporator_split(return_air_temp: float, suction_saturation_temp: float) -> float:
    """Return air over evaporating saturation [delta_degF], from two [degF]. Source: definition."""
    return return_air_temp - suction_saturation_temp


def compression_ratio(liquid_pressure: float, suction_pressure: float, *, atmosphere: float = SEA_LEVEL) -> float:
    """Absolute head over absolute suction [-], from two gauge pressures [psi].

    Source: definition. Raises OutOfRange when the suction is a perfect vacuum.
    """
    suction = above("absolute suction", absolute(suction_pressure, atmosphere), 0, "psi")
    return absolute(liquid_pressure, atmosphere) / suction


# ------------------------------------------------------------------ the charge by weight


def line_charge_rate(liquid_line_size: float, refrigerant: str, *, liquid_temp: float | None = None) -> float:
    """Refrigerant held by one foot of liquid line.

    liquid_line_size  [in]    outside diameter, 1/4 to 1-1/8 in the trade's sizes
    refrigerant       [-]     ASHRAE number
    liquid_temp       [degF]  of saturated liquid; 100 unless told

    Returns [oz/ft].
    Method: bore area times the density of saturated liquid. Makers print up to 0.17 oz/ft more, since theirs
    covers the vapour line and rounds up. Not for equipment that meters at the outdoor unit: its small
    line carries two phases and holds about half.
    Source: copper_tube.csv, each row with its own; density CoolProp 8.
    Raises UnknownRefrigerant; OutOfRange for a size that is not made.
    """
    walls = {float(row["outside"]): float(row["wall"]) for row in rows("copper_tube.csv")}
    if liquid_line_size not in walls:
        sizes = ", ".join(f"{size:g}" for size in walls)
        raise OutOfRange(f"No {liquid_line_size:g} in liquid line is known; the sizes are {sizes} in.")
    temp = constant("line_set_design_temp") if liquid_temp is None else liquid_temp
    area = math.pi / 4 * ((liquid_line_size - 2 * walls[liquid_line_size]) / 12) ** 2  # ft2
    return area * liquid_density(temp, refrigerant) * OUNCES_PER_POUND


def line_set_charge(length: float, included: float, rate: float) -> float:
    """Refrigerant to add for the line set beyond what the factory charge covers.

    length    [ft]     of the line set, 0 or more
    included  [ft]     that the factory charge covers, 0 or more
    rate      [oz/ft]  of liquid line, above 0

    Returns [lb]. Below zero: that much is to come out.
    Method: (length - included) x rate. Source: split-system application manual. Raises OutOfRange.
    """
    within("line set", length, 0, math.inf, "ft")
    within("included line set", included, 0, math.inf, "ft")
    return (length - included) * above("charge per foot", rate, 0, "oz/ft") / OUNCES_PER_POUND


def total_charge(factory_charge: float, added: float, recovered: float = 0.0) -> float:
    """Refrigerant in the system by weight.

    factory_charge  [lb]  that came in the unit, 0 or more
    added           [lb]  weighed in on site, 0 or more
    recovered       [lb]  taken out again since, 0 or more

    Returns [lb].
    Method: factory + added - recovered. When what was weighed in is 90 percent of the factory charge or
    more, the unit came empty (it ships with a puff of nitrogen) and the factory charge is not counted twice.
    Source: arithmetic; the 90 percent is common practice, no source. Raises OutOfRange, also when more came
    out than was ever in.
    """
    for name, value in (("factory charge", factory_charge), ("added", added), ("recovered", recovered)):
        within(name, value, 0, math.inf, "lb")
    from_empty = added >= factory_charge * constant("charged_from_empty") / 100
    return within("charge", (0.0 if from_empty else factory_charge) + added - recovered, 0, math.inf, "lb")

"""Airflow: how much there is, how much there should be, and what the air carries."""

from __future__ import annotations

import math

from assistant.compute.altitude import air_density_ratio
from assistant.compute.constants import constant
from assistant.compute.ranges import above, within
from assistant.compute.tables import lookup


def airflow_per_ton(airflow: float, cooling_capacity: float) -> float:
    """Airflow for each ton of cooling [cfm/ton].

    airflow [cfm], 0 or more; cooling_capacity [ton], 0.1 to 1000. Source: definition. Raises OutOfRange.
    """
    within("airflow", airflow, 0, math.inf, "cfm")
    return airflow / within("system size", cooling_capacity, 0.1, 1000, "ton")


def airflow_target(cooling_capacity: float, per_ton: float | None = None) -> float:
    """Airflow the system should move [cfm].

    cooling_capacity  [ton]      0.1 to 1000
    per_ton           [cfm/ton]  50 to 2000; 400 unless the speaker or the design says otherwise

    Source: 400 cfm per ton is common practice, no source. Raises OutOfRange.
    """
    each = constant("airflow_per_ton") if per_ton is None else within("airflow per ton", per_ton, 50, 2000, "cfm/ton")
    return each * within("system size", cooling_capacity, 0.1, 1000, "ton")


def airflow_shortfall(airflow: float, target: float) -> float:
    """How much airflow is missing to the target [cfm]; 0 when there is enough. Source: arithmetic."""
    return max(0.0, target - within("airflow", airflow, 0, math.inf, "cfm"))


def airflow_from_rise(heat: float, temperature_rise: float, *, altitude: float = 0.0) -> float:
    """Airflow a furnace or a heater moves, from the heat it gives the air and how much that warms it.

    heat              [Btu/h]       given to the air (input x efficiency), 0 or more
    temperature_rise  [delta_degF]  supply less return, above 0
    altitude          [ft]          thinner air carries less heat for each cfm

    Returns [cfm] at the density of the site.
    Method: heat / (1.08 x density ratio x rise). Source: packaged gas/electric unit instructions.
    Raises OutOfRange.
    """
    within("heat", heat, 0, math.inf, "Btu/h")
    carried = constant("sensible_factor") * air_density_ratio(altitude)
    return heat / (carried * above("temperature rise", temperature_rise, 0, "degF"))


def airflow_from_electric_heat(volts: float, amps: float, temperature_rise: float, *, altitude: float = 0.0) -> float:
    """Airflow from an electric heater's own power.

    volts [V] and amps [A] of the heater, single phase, 0 or more; temperature_rise [delta_degF], above 0.

    Returns [cfm]. Method: V x A x 3.412 as the heat of `airflow_from_rise`; the blower's own watts, if they
    pass the same meter, belong to it. Source: definition of the watt. Raises OutOfRange.
    """
    within("voltage", volts, 0, math.inf, "V")
    watts = volts * within("current", amps, 0, math.inf, "A")
    return airflow_from_rise(watts * constant("electric_heat"), temperature_rise, altitude=altitude)


def temperature_split(return_air_temp: float, supply_air_temp: float) -> float:
    """How much the air is cooled across the coil [delta_degF], from two [degF]. Source: definition."""
    return return_air_temp - supply_air_temp


def temperature_rise(return_air_temp: float, supply_air_temp: float) -> float:
    """How much the air is warmed [delta_degF], from two [degF]. Source: definition."""
    return supply_air_temp - return_air_temp


def target_temperature_split(return_air_temp: float, return_wet_bulb: float) -> float:
    """Split a cooling coil should show at about 400 cfm a ton.

    return_air_temp  [degF]  70 to 76 dry bulb
    return_wet_bulb  [degF]  50 to 76, not above the dry bulb

    Returns [delta_degF].
    Method: table, straight-line interpolation both ways; a cell that is not there is refused, never guessed.
    Source: target_temperature_split.csv, from memory of California 2008 RA3.2 Table RA3.2-3. Raises OutOfRange.
    """
    return lookup("target_temperature_split.csv", "return", return_air_temp, return_wet_bulb)


def velocity(airflow: float, area: float) -> float:
    """Mean velocity [fpm] of `airflow` [cfm, 0 or more] through `area` [in2, above 0].

    With the gross face of a grille or a filter it is the face velocity. Source: definition. Raises OutOfRange.
    """
    return within("airflow", airflow, 0, math.inf, "cfm") / (above("area", area, 0, "in2") / 144)


def velocity_pressure(speed: float, *, altitude: float = 0.0) -> float:
    """Velocity pressure [inH2O] of air at `speed` [fpm, 0 or more].

    Method: (V/4005)^2 times the density ratio. Source: from memory of ASHRAE Handbook Fundamentals.
    Raises OutOfRange.
    """
    within("velocity", speed, 0, 40000, "fpm")
    return (speed / constant("velocity_pressure")) ** 2 * air_density_ratio(altitude)

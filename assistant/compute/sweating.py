"""Whether a cold duct will sweat."""

from __future__ import annotations

from assistant.compute.constants import constant
from assistant.compute.moist_air import dew_point
from assistant.compute.ranges import within
from assistant.errors import OutOfRange


def surface_temp(supply_air_temp: float, surroundings: float, wrap_r: float = 0.0) -> float:
    """Temperature of the outside of a duct or of its wrap [degF].

    supply_air_temp  [degF]            inside, 20 to 120
    surroundings     [degF]            air around the duct, -20 to 180
    wrap_r           [h ft2 degF/Btu]  installed R-value of the wrap, 0 to 20; 0 is bare metal

    Method: the difference divides like the resistances, inside film, wrap, outside film. The metal itself has none.
    Source: film resistances in constants.toml, from memory of ASHRAE Handbook Fundamentals. Raises OutOfRange.
    """
    within("supply air", supply_air_temp, 20, 120, "degF")
    within("surroundings", surroundings, -20, 180, "degF")
    within("R-value", wrap_r, 0, 20)
    inside, outside = constant("duct_inside_film"), constant("duct_outside_film")
    share = outside / (inside + wrap_r + outside)
    return surroundings - (surroundings - supply_air_temp) * share


def sweat_margin(supply_air_temp: float, surroundings: float, humidity: float, wrap_r: float = 0.0) -> float:
    """How far the surface stays above the dew point of the air around it [delta_degF]; below zero it sweats.

    humidity [percent] of the air around the duct; the rest as `surface_temp`. Raises OutOfRange.
    """
    return surface_temp(supply_air_temp, surroundings, wrap_r) - dew_point(surroundings, humidity)


def wrap_needed(supply_air_temp: float, surroundings: float, humidity: float) -> float:
    """Smallest installed R-value that keeps the surface from sweating [h ft2 degF/Btu]; 0 when bare metal does.

    As `sweat_margin`. Wrap squeezed at corners and hangers has less. Raises OutOfRange, also where no wrap
    helps because the air itself is saturated.
    """
    if sweat_margin(supply_air_temp, surroundings, humidity) >= 0:
        return 0.0
    above_dew = surroundings - dew_point(surroundings, humidity)
    if above_dew <= 0:
        raise OutOfRange("Saturated air wets everything colder than itself; no wrap is thick enough.")
    outside, inside = constant("duct_outside_film"), constant("duct_inside_film")
    return outside * (surroundings - supply_air_temp) / above_dew - outside - inside

"""Moist air: dew point, enthalpy, and the capacity of a coil from wet and dry bulbs. psychrolib does the work."""

from __future__ import annotations

import functools
import math
from types import ModuleType

from assistant.compute import altitude as height
from assistant.compute.altitude import SEA_LEVEL
from assistant.compute.constants import constant
from assistant.compute.ranges import above, within
from assistant.errors import OutOfRange


@functools.cache
def _psychrolib() -> ModuleType:
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.IP)
    return psychrolib


def _air(dry_bulb: float, wet_bulb: float) -> None:
    within("dry bulb", dry_bulb, -50, 200, "degF")
    within("wet bulb", wet_bulb, -50, 200, "degF")
    if wet_bulb > dry_bulb:
        raise OutOfRange(f"A wet bulb of {wet_bulb:g} degF cannot be above a dry bulb of {dry_bulb:g}.")


def humidity_ratio(dry_bulb: float, wet_bulb: float, *, atmosphere: float = SEA_LEVEL) -> float:
    """Water in the air [lb per lb of dry air].

    dry_bulb, wet_bulb [degF], -50 to 200, wet not above dry; atmosphere [psi absolute].
    Source: ASHRAE Handbook Fundamentals 2017 ch. 1 eq. 33 and 35, psychrolib. Raises OutOfRange, also for a
    wet bulb so low that no air could have it.
    """
    _air(dry_bulb, wet_bulb)
    psychrolib = _psychrolib()
    ratio = psychrolib.GetHumRatioFromTWetBulb(dry_bulb, wet_bulb, within("atmosphere", atmosphere, 3, 16, "psi"))
    if ratio <= psychrolib.MIN_HUM_RATIO:
        raise OutOfRange(f"No air of {dry_bulb:g} degF is dry enough for a wet bulb of {wet_bulb:g}.")
    return ratio


def enthalpy(dry_bulb: float, wet_bulb: float, *, atmosphere: float = SEA_LEVEL) -> float:
    """Heat content of moist air [Btu per lb of dry air]. Units, source and errors as `humidity_ratio`."""
    ratio = humidity_ratio(dry_bulb, wet_bulb, atmosphere=atmosphere)
    return _psychrolib().GetMoistAirEnthalpy(dry_bulb, ratio)


def specific_volume(dry_bulb: float, wet_bulb: float, *, atmosphere: float = SEA_LEVEL) -> float:
    """Volume of moist air [ft3 per lb of dry air]. Units, source and errors as `humidity_ratio`."""
    ratio = humidity_ratio(dry_bulb, wet_bulb, atmosphere=atmosphere)
    return _psychrolib().GetMoistAirVolume(dry_bulb, ratio, atmosphere)


def relative_humidity(dry_bulb: float, wet_bulb: float, *, atmosphere: float = SEA_LEVEL) -> float:
    """Relative humidity [percent]. Units, source and errors as `humidity_ratio`."""
    ratio = humidity_ratio(dry_bulb, wet_bulb, atmosphere=atmosphere)
    return 100 * _psychrolib().GetRelHumFromHumRatio(dry_bulb, ratio, atmosphere)


def dew_point(dry_bulb: float, humidity: float) -> float:
    """Temperature at which water starts to condense out of the air [degF].

    dry_bulb [degF], -50 to 200; humidity [percent], above 0 to 100.
    Source: ASHRAE Handbook Fundamentals 2017 ch. 1 eq. 5, 6 and 22, psychrolib. Raises OutOfRange.
    """
    within("dry bulb", dry_bulb, -50, 200, "degF")
    above("humidity", within("humidity", humidity, 0, 100, "percent"), 0, "percent")
    return _psychrolib().GetTDewPointFromRelHum(dry_bulb, humidity / 100)


def dew_point_from_wet_bulb(dry_bulb: float, wet_bulb: float, *, atmosphere: float = SEA_LEVEL) -> float:
    """Dew point [degF] from dry and wet bulb. Units, source and errors as `humidity_ratio`."""
    ratio = humidity_ratio(dry_bulb, wet_bulb, atmosphere=atmosphere)
    return _psychrolib().GetTDewPointFromHumRatio(dry_bulb, ratio, atmosphere)


def sensible_capacity(
    airflow: float, return_air_temp: float, supply_air_temp: float, *, altitude: float = 0.0
) -> float:
    """Heat taken out of the air as temperature [Btu/h]; below zero when the supply is warmer.

    airflow [cfm], 0 or more, at the density of the site; temperatures [degF]; altitude [ft].
    Method: 1.08 x density ratio x airflow x difference. Source: derivation from standard air. Raises OutOfRange.
    """
    within("airflow", airflow, 0, math.inf, "cfm")
    factor = constant("sensible_factor") * height.air_density_ratio(altitude)
    return factor * airflow * (return_air_temp - supply_air_temp)


def total_capacity(
    airflow: float,
    return_air_temp: float,
    return_wet_bulb: float,
    supply_air_temp: float,
    supply_wet_bulb: float,
    *,
    altitude: float = 0.0,
) -> float:
    """Heat taken out of the air, temperature and moisture together [Btu/h].

    airflow [cfm], 0 or more, at the density of the site; temperatures [degF], wet bulbs not above dry; altitude [ft].
    Method: 4.5 x density ratio x airflow x enthalpy difference, with enthalpy at local pressure. Local enthalpy
    with a plain 4.5 would read 24 percent high at 5000 ft.
    Source: derivation from standard air; psychrolib. Raises OutOfRange.
    """
    within("airflow", airflow, 0, math.inf, "cfm")
    local = height.atmosphere(altitude)
    warm = enthalpy(return_air_temp, return_wet_bulb, atmosphere=local)
    cold = enthalpy(supply_air_temp, supply_wet_bulb, atmosphere=local)
    return constant("total_factor") * height.air_density_ratio(altitude) * airflow * (warm - cold)


def latent_capacity(
    airflow: float,
    return_air_temp: float,
    return_wet_bulb: float,
    supply_air_temp: float,
    supply_wet_bulb: float,
    *,
    altitude: float = 0.0,
) -> float:
    """Heat taken out of the air as moisture [Btu/h]: total less sensible. As `total_capacity`."""
    total = total_capacity(
        airflow, return_air_temp, return_wet_bulb, supply_air_temp, supply_wet_bulb, altitude=altitude
    )
    return total - sensible_capacity(airflow, return_air_temp, supply_air_temp, altitude=altitude)

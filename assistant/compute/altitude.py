"""What height above the sea does to the air: its pressure and its density."""

from __future__ import annotations

from assistant.compute.ranges import within

SEA_LEVEL = 14.696  # [psi] absolute, ICAO standard atmosphere


def atmosphere(altitude: float = 0.0) -> float:
    """Absolute pressure of the outside air.

    altitude  [ft]  above sea level, -1500 to 36000

    Returns [psi] absolute.
    Method: ICAO standard atmosphere; the weather moves it by about 1 percent either way.
    Source: ASHRAE Handbook Fundamentals 2017 ch. 1 eq. 3. Raises OutOfRange.
    """
    within("altitude", altitude, -1500, 36000, "ft")
    return SEA_LEVEL * (1 - 6.8754e-6 * altitude) ** 5.2559


def air_density_ratio(altitude: float = 0.0) -> float:
    """Density of air of one temperature at `altitude` [ft], as a share of its density at sea level.

    Returns [-], 0.832 at 5000 ft. The factors 1.08, 4.5 and 0.68 of standard air scale with it.
    Source: ideal gas; ASHRAE Handbook Fundamentals 2017 ch. 1 table 1. Raises OutOfRange.
    """
    return atmosphere(altitude) / SEA_LEVEL

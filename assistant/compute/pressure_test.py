"""The nitrogen pressure test, corrected for how warm the pipe was."""

from __future__ import annotations

from assistant.compute.altitude import SEA_LEVEL
from assistant.compute.ranges import within

ABSOLUTE_ZERO = 459.67  # degF to degR


def expected_pressure(pressure: float, temp: float, later_temp: float, *, atmosphere: float = SEA_LEVEL) -> float:
    """What a tight system should read once its pipe has another temperature.

    pressure          [psi]   gauge, 0 to 1200, when it read `temp`
    temp, later_temp  [degF]  of the pipe, -60 to 200
    atmosphere        [psi]   absolute

    Returns [psi] gauge.
    Method: ideal gas in a closed volume, absolute pressure over absolute temperature stays. Real nitrogen
    moves a little more, by up to a tenth of the change at 500 psi (2.6 psi for 60 to 90 degF).
    Source: trade article 2023; ideal gas law. Raises OutOfRange.
    """
    within("test pressure", pressure, 0, 1200, "psi")
    for value in (temp, later_temp):
        within("temperature", value, -60, 200, "degF")
    within("atmosphere", atmosphere, 3, 16, "psi")
    return (pressure + atmosphere) * (later_temp + ABSOLUTE_ZERO) / (temp + ABSOLUTE_ZERO) - atmosphere


def pressure_drop(
    pressure: float,
    later: float,
    temp: float | None = None,
    later_temp: float | None = None,
    *,
    atmosphere: float = SEA_LEVEL,
) -> float:
    """Pressure truly lost in a test [psi], once the change of temperature is taken out.

    pressure, later   [psi]   gauge, 0 to 1200
    temp, later_temp  [degF]  of the pipe; without both the pipe is taken to have stayed as it was

    Below zero: it reads more than it should, so a temperature is off. Source: `expected_pressure`.
    Raises OutOfRange.
    """
    within("test pressure", later, 0, 1200, "psi")
    if temp is None or later_temp is None:
        return within("test pressure", pressure, 0, 1200, "psi") - later
    return expected_pressure(pressure, temp, later_temp, atmosphere=atmosphere) - later


def drop_per_degree(pressure: float, temp: float, *, atmosphere: float = SEA_LEVEL) -> float:
    """How far a tight system falls for each degree it cools [psi/degF]: 0.6 at 300 psi, 1.0 at 500.

    Units, source and errors as `expected_pressure`.
    """
    return pressure - expected_pressure(pressure, temp, temp - 1, atmosphere=atmosphere)

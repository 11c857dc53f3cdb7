"""Electrical checks: capacitors, voltage, current and power."""

from __future__ import annotations

import math
from collections.abc import Sequence

from assistant.compute.constants import constant
from assistant.compute.ranges import above, within
from assistant.errors import OutOfRange


def capacitance_percent(measured: float, rated: float) -> float:
    """Measured capacitance as a share of what the label says [percent].

    measured, rated [microfarad]; rated above 0. Source: definition. Raises OutOfRange.
    """
    return 100 * within("capacitance", measured, 0, math.inf, "microfarad") / above("rated", rated, 0, "microfarad")


def capacitance_under_load(amps: float, volts: float, *, hertz: int = 60) -> float:
    """Capacitance of a running capacitor [microfarad] from its current and its voltage.

    amps [A] through the capacitor's wire, 0 or more; volts [V] across its terminals, above 0; hertz 50 or 60.
    Method: I / (2 pi f V). Source: derivation, 2652 at 60 Hz; also trade articles. Raises OutOfRange.
    """
    if hertz not in (50, 60):
        raise OutOfRange(f"Mains frequency is 50 or 60 Hz, not {hertz}.")
    factor = constant(f"capacitance_under_load_{hertz}")
    return factor * within("current", amps, 0, math.inf, "A") / above("voltage", volts, 0, "V")


def imbalance(values: Sequence[float], name: str = "voltage") -> float:
    """Largest departure of three phases from their mean [percent of the mean].

    values: three voltages [V] or three currents [A], each above 0. No rounding on the way: a manual that
    rounds its mean prints 1.8 where exact arithmetic gives 1.69.
    Source: NEMA MG-1. Raises OutOfRange unless there are three.
    """
    if len(values) != 3:
        raise OutOfRange(f"The {name} imbalance takes three phases, not {len(values)}.")
    for value in values:
        above(name, value, 0)
    mean = sum(values) / 3
    return 100 * max(abs(value - mean) for value in values) / mean


def percent_of(measured: float, rated: float, name: str = "current") -> float:
    """A measured value as a share of the rated one [percent]; same unit, rated above 0. Raises OutOfRange."""
    return 100 * measured / above(f"rated {name}", rated, 0)


def power(volts: float, amps: float, *, phases: int = 1, power_factor: float = 1.0) -> float:
    """Electrical power [W].

    volts [V] between lines, 0 or more; amps [A] in one line, 0 or more; phases 1 or 3; power_factor 0 to 1.
    Method: V I pf, and root three of it for three phases. Source: definition. Raises OutOfRange.
    """
    if phases not in (1, 3):
        raise OutOfRange(f"There are one or three phases, not {phases}.")
    within("voltage", volts, 0, math.inf, "V")
    within("current", amps, 0, math.inf, "A")
    return volts * amps * within("power factor", power_factor, 0, 1) * (math.sqrt(3) if phases == 3 else 1.0)

"""The one place where a stated range is enforced."""

from __future__ import annotations

import math

from assistant.errors import OutOfRange


def within(name: str, value: float, low: float, high: float, unit: str = "") -> float:
    """`value`, when it is a number from `low` to `high`. Raises OutOfRange, which names the range."""
    if not (math.isfinite(value) and low <= value <= high):
        span = f"{low:g} to {high:g}" if math.isfinite(high) else f"{low:g} or more"
        raise OutOfRange(f"{name.capitalize()} {value:g} {unit} is outside {span} {unit}.".replace(" .", "."))
    return value


def above(name: str, value: float, floor: float, unit: str = "") -> float:
    """`value`, when it is a number above `floor`. Raises OutOfRange."""
    if not (math.isfinite(value) and value > floor):
        raise OutOfRange(f"{name.capitalize()} has to be above {floor:g} {unit}, not {value:g}.".replace(" ,", ","))
    return value

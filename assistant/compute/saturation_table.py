"""Writes saturation.csv from CoolProp: python -m assistant.compute.saturation_table.

Run it when CoolProp's models change; a test compares the file with CoolProp. Knots lie evenly along the
logarithm of absolute pressure, because saturation temperature is nearly straight there.
"""

from __future__ import annotations

import math
from pathlib import Path

from assistant.compute.refrigerant import REFRIGERANTS, Fluid

LOWEST = 5.0  # [psi] absolute: below any pressure a running or standing system of this trade is read at
# [psi] absolute, clear of the critical point, where bubble and dew meet and a cubic cannot follow them.
HIGHEST = {
    "R-22": 680,
    "R-32": 785,
    "R-134a": 550,
    "R-290": 578,
    "R-404A": 505,
    "R-407C": 620,
    "R-410A": 665,
    "R-448A": 540,
    "R-449A": 540,
    "R-452B": 600,
    "R-454B": 600,
    "R-513A": 450,
}
STEP = 0.04  # of ln(psi); checked to keep the cubic within 0.01 degF
_NUDGE = 1e-4  # of ln(psi), for the slopes

HEADER = (
    "# Saturation along ln(psi absolute): temperatures in degF, density of saturated liquid in lb/ft3, and their\n"
    "# slopes per unit of ln(psi). Source: CoolProp 8 (HEOS), written by saturation_table.py.\n"
    "refrigerant,log_psia,bubble,bubble_slope,dew,dew_slope,density,density_slope\n"
)


def rows(refrigerant: str) -> list[str]:
    """The lines of one refrigerant."""
    start, end = math.log(LOWEST), math.log(HIGHEST[refrigerant])
    count = math.ceil((end - start) / STEP)
    knots = [start + (end - start) * place / count for place in range(count + 1)]
    steps = [math.exp(x + nudge) for x in knots for nudge in (-_NUDGE, 0.0, _NUDGE)]
    fluid = Fluid(refrigerant)
    liquid, vapour = fluid.along(steps, 0), fluid.along(steps, 1)
    columns = ([s["temp"] for s in liquid], [s["temp"] for s in vapour], [s["density"] for s in liquid])
    pairs = [",".join(_pair(c[3 * i : 3 * i + 3]) for c in columns) for i in range(count + 1)]
    return [f"{refrigerant},{x:.12f},{pair}" for x, pair in zip(knots, pairs, strict=True)]


def _pair(around: list[float]) -> str:
    below, here, above = around
    return f"{here:.6f},{(above - below) / (2 * _NUDGE):.5f}"


def write() -> None:
    """Writes the whole file anew."""
    path = Path(__file__).with_name("saturation.csv")
    path.write_text(HEADER + "\n".join(line for name in REFRIGERANTS for line in rows(name)) + "\n", "utf-8")


if __name__ == "__main__":
    write()

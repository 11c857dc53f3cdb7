"""Two-way tables: one temperature down, return wet bulb across, straight lines between the cells."""

from __future__ import annotations

import functools
from dataclasses import dataclass

from assistant.compute.constants import rows
from assistant.compute.ranges import within
from assistant.errors import OutOfRange


@dataclass(frozen=True, slots=True)
class Table:
    down: tuple[float, ...]  # [degF], rising
    across: tuple[float, ...]  # wet bulbs [degF], rising
    cells: dict[tuple[float, float], float | None]  # None: the table has nothing there


@functools.cache
def table(name: str, down: str) -> Table:
    """The data file `name`, whose first column is called `down`. Raises SettingsError for a row without a source."""
    read = rows(name)
    across = tuple(float(column) for column in read[0] if column not in (down, "source"))
    cells = {(float(r[down]), wet): float(r[f"{wet:g}"]) if r[f"{wet:g}"] else None for r in read for wet in across}
    return Table(tuple(float(r[down]) for r in read), across, cells)


def _neighbours(at: float, knots: tuple[float, ...]) -> list[tuple[float, float]]:
    """The knots on either side of `at` and the weight of each; one knot alone when `at` is on it."""
    low = max(knot for knot in knots if knot <= at)
    if low == at:
        return [(low, 1.0)]
    high = min(knot for knot in knots if knot > at)
    share = (at - low) / (high - low)
    return [(low, 1 - share), (high, share)]


def lookup(name: str, down: str, temp: float, wet_bulb: float) -> float:
    """The table's value at `temp` and `wet_bulb` [degF]. Raises OutOfRange outside it and where a cell is empty."""
    found = table(name, down)
    within(f"{down} temperature", temp, found.down[0], found.down[-1], "degF")
    within("return wet bulb", wet_bulb, found.across[0], found.across[-1], "degF")
    total = 0.0
    for row, row_share in _neighbours(temp, found.down):
        for column, column_share in _neighbours(wet_bulb, found.across):
            cell = found.cells[row, column]
            if cell is None:
                raise OutOfRange(
                    f"There is no valid test at {wet_bulb:g} degF wet bulb and {temp:g} degF {down}: "
                    "the table is empty there."
                )
            total += cell * row_share * column_share
    return total

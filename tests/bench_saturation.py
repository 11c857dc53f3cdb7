"""How close the saturation table is to CoolProp, and how much faster.

    python -m tests.bench_saturation [--speed-only] [--json]

Prints the largest and the mean difference [degF] of each refrigerant and line over its whole range, at
pressures that are no knots of the table, then the time of one array of pressures through PropsSI and
through the table, in the same run.
"""

from __future__ import annotations

import json
import platform
import statistics
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass

import click
import numpy
from CoolProp import CoolProp

from assistant.compute.altitude import SEA_LEVEL
from assistant.compute.refrigerant import (
    COOLPROP_NAME,
    REFRIGERANTS,
    Fluid,
    pressure_range,
    saturation_temp,
    saturation_temps,
)

LINES = (("bubble", 0), ("dew", 1))
# How many pressures each is timed on: CoolProp solves a mixture from its parts, which takes milliseconds.
TIMED = {"R-22": 20000, "R-32": 20000, "R-410A": 20000, "R-407C": 20000, "R-454B": 100}


def differences(refrigerant: str, point: str, quality: int, count: int = 193) -> tuple[float, float]:
    """Largest and mean difference from CoolProp [degF]."""
    low, high = pressure_range(refrigerant)
    psia = [low * (high / low) ** ((place + 0.37) / count) for place in range(count)]
    theirs = numpy.array([state["temp"] for state in Fluid(refrigerant).along(psia, quality)])
    apart = numpy.abs(saturation_temps(numpy.array(psia) - SEA_LEVEL, refrigerant, point=point) - theirs)
    return float(apart.max()), float(apart.mean())


def median_of(work: Callable[[], object], times: int) -> float:
    """Median of several runs [s]."""
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return statistics.median(spent)


@dataclass(frozen=True, slots=True)
class Timed:
    """One array of pressures through both, microseconds a pressure."""

    refrigerant: str
    pressures: int
    coolprop_us: float
    table_us: float

    @property
    def times_faster(self) -> float:
        return self.coolprop_us / self.table_us


def timed(refrigerant: str, count: int, runs: int) -> Timed:
    """An array of `count` pressures through PropsSI, and one of 20,000 through the table."""
    pascal = (numpy.linspace(20, 350, count) + SEA_LEVEL) * 6894.757293168
    name, whole = COOLPROP_NAME[refrigerant], numpy.linspace(20, 350, 20000)
    slow = median_of(lambda: CoolProp.PropsSI("T", "P", pascal, "Q", numpy.ones_like(pascal), name), min(runs, 3))
    fast = median_of(lambda: saturation_temps(whole, refrigerant, point="dew"), runs)
    return Timed(refrigerant, count, 1e6 * slow / count, 1e6 * fast / whole.size)


def one_by_one(runs: int) -> Timed:
    """One pressure after another: each call by itself."""
    fast = median_of(lambda: [saturation_temp(118.0, "R-410A") for _ in range(2000)], runs) / 2000
    slow = median_of(lambda: [CoolProp.PropsSI("T", "P", 914900.0, "Q", 1, "R410A") for _ in range(200)], runs) / 200
    return Timed("R-410A", 1, 1e6 * slow, 1e6 * fast)


@click.command(help=__doc__)
@click.option("--runs", default=5, show_default=True)
@click.option("--speed-only", is_flag=True, help="Not the differences, which take longest.")
@click.option("--json", "as_json", is_flag=True)
def main(runs: int, speed_only: bool, as_json: bool) -> None:
    apart = (
        {}
        if speed_only
        else {(name, point): differences(name, point, quality) for name in REFRIGERANTS for point, quality in LINES}
    )
    rows = [*(timed(name, count, runs) for name, count in TIMED.items()), one_by_one(runs)]
    if as_json:
        found = [
            {"refrigerant": name, "line": point, "largest_degF": largest, "mean_degF": mean}
            for (name, point), (largest, mean) in apart.items()
        ]
        speed = [asdict(row) | {"times_faster": row.times_faster} for row in rows]
        click.echo(json.dumps({"machine": facts(), "runs": runs, "differences": found, "speed": speed}, indent=1))
        return
    click.echo(f"{'refrigerant':12}{'line':8}{'psi absolute':>16}{'largest degF':>14}{'mean degF':>12}")
    for (name, point), (largest, mean) in apart.items():
        low, high = pressure_range(name)
        click.echo(f"{name:12}{point:8}{low:8.0f} to {high:4.0f}{largest:14.6f}{mean:12.6f}")
    click.echo("\n" + ", ".join(f"{name} {fact}" for name, fact in facts().items()) + f", dew point, medians of {runs}")
    click.echo(f"{'refrigerant':12}{'pressures':>10}{'PropsSI us each':>18}{'table us each':>16}{'times faster':>14}")
    for row in rows:
        click.echo(
            f"{row.refrigerant:12}{row.pressures:10}{row.coolprop_us:18.3f}{row.table_us:16.4f}{row.times_faster:14.0f}"
        )


def facts() -> dict[str, str]:
    return {"CoolProp": CoolProp.get_global_param_string("version"), "machine": platform.machine()}


if __name__ == "__main__":
    main()

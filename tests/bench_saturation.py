"""How close the saturation table is to CoolProp, and how much faster.

    python -m tests.bench_saturation

Prints the largest and the mean difference [degF] of each refrigerant and line over its whole range, at
pressures that are no knots of the table, then the time of one array of pressures through PropsSI and
through the table, in the same run.
"""

from __future__ import annotations

import platform
import time
from collections.abc import Callable

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


def best_of(work: Callable[[], object], times: int = 5) -> float:
    """Shortest of several runs [s]: the one least disturbed by other work on the machine."""
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return min(spent)


def main() -> None:
    print(f"{'refrigerant':12}{'line':8}{'psi absolute':>16}{'largest degF':>14}{'mean degF':>12}")
    for refrigerant in REFRIGERANTS:
        low, high = pressure_range(refrigerant)
        for point, quality in LINES:
            largest, mean = differences(refrigerant, point, quality)
            print(f"{refrigerant:12}{point:8}{low:8.0f} to {high:4.0f}{largest:14.6f}{mean:12.6f}")
    print(f"\nCoolProp {CoolProp.get_global_param_string('version')}, {platform.machine()}, dew point")
    print(f"{'refrigerant':12}{'pressures':>10}{'PropsSI us each':>18}{'table us each':>16}{'times faster':>14}")
    for refrigerant, count in TIMED.items():
        gauge = numpy.linspace(20, 350, count)
        pascal = (gauge + SEA_LEVEL) * 6894.757293168
        name = COOLPROP_NAME[refrigerant]
        slow = best_of(lambda n=name, p=pascal: CoolProp.PropsSI("T", "P", p, "Q", numpy.ones_like(p), n), 3)
        whole = numpy.linspace(20, 350, 20000)
        fast = best_of(lambda r=refrigerant, p=whole: saturation_temps(p, r, point="dew")) / whole.size
        slow /= count
        print(f"{refrigerant:12}{count:10}{1e6 * slow:18.3f}{1e6 * fast:16.4f}{slow / fast:14.0f}")
    one = best_of(lambda: [saturation_temp(118.0, "R-410A") for _ in range(2000)]) / 2000
    theirs = best_of(lambda: [CoolProp.PropsSI("T", "P", 914900.0, "Q", 1, "R410A") for _ in range(200)]) / 200
    print(f"{'R-410A':12}{1:10}{1e6 * theirs:18.3f}{1e6 * one:16.4f}{theirs / one:14.0f}")


if __name__ == "__main__":
    main()

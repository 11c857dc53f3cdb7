"""Evacuation: how far the vacuum rose when it was shut off, and what the rise means."""

from __future__ import annotations

import math
from collections.abc import Sequence

from assistant.compute.constants import constant
from assistant.compute.ranges import within
from assistant.errors import OutOfRange

MICRON_PER_PSI = 760000 / 14.695949  # standard atmosphere


def vacuum_rise(isolated_at: float, later: float) -> float:
    """How far the vacuum rose after the pump was shut off [micron].

    isolated_at, later  [micron]  absolute, 0 to 760000

    Below zero: the gauge settled, or the readings are the wrong way round. Source: definition. Raises OutOfRange.
    """
    for value in (isolated_at, later):
        within("vacuum", value, 0, constant("micron_per_atmosphere"), "micron")
    return later - isolated_at


def water_boils_at(vacuum: float) -> float:
    """Temperature at which water boils in a vacuum [degF]; liquid water colder than that stays.

    vacuum [micron], 4600 (ice forms below) to 760000.
    Method: ASHRAE saturation pressure of water, solved by psychrolib. Source: ASHRAE Handbook Fundamentals
    2017 ch. 1 eq. 5 and 6. Raises OutOfRange.
    """
    import psychrolib

    within("vacuum", vacuum, 4600, constant("micron_per_atmosphere"), "micron")
    psychrolib.SetUnitSystem(psychrolib.IP)
    low, high = 32.0, 213.0
    while high - low > 1e-6:
        middle = (low + high) / 2
        below = psychrolib.GetSatVapPres(middle) * MICRON_PER_PSI < vacuum
        low, high = (middle, high) if below else (low, middle)
    return (low + high) / 2


def decay_meaning(minutes: Sequence[float], microns: Sequence[float]) -> str:
    """What a decay curve says: "tight", "moisture" or "leak".

    minutes [min] since the pump was shut off, rising, two or more; microns [micron] at those moments.
    Method: a curve that levels off under 1000 micron is tight and dry; one that levels off above that is
    water still boiling; one that keeps rising straight is a leak. Levelled off: the last stretch rises at
    less than a quarter of the rate of the first, or by no more than a tenth of the last reading.
    Source: constants.toml: the band from a ductless unit service manual, the quarter and the tenth from
    common practice. Raises OutOfRange.
    """
    if len(minutes) != len(microns) or len(minutes) < 2:
        raise OutOfRange("A decay curve takes two or more moments, each with its reading.")
    if any(b <= a for a, b in zip(minutes, minutes[1:], strict=False)):
        raise OutOfRange("The moments of a decay curve have to follow each other.")
    for micron in microns:
        within("vacuum", micron, 0, math.inf, "micron")
    rates = [(b - a) / (t - s) for a, b, s, t in zip(microns, microns[1:], minutes, minutes[1:], strict=False)]
    small = microns[-1] - microns[-2] <= microns[-1] * constant("decay_level_percent") / 100
    slowed = len(rates) > 1 and rates[-1] < rates[0] * constant("decay_slowed_percent") / 100
    if small or slowed:
        return "tight" if microns[-1] < constant("decay_dry_below") else "moisture"
    return "leak"

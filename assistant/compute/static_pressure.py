"""Static pressure: the total the blower works against, what is left for the ducts, and the friction rate."""

from __future__ import annotations

import math

from assistant.compute.ranges import above, within


def total_static_pressure(supply_static_pressure: float, return_static_pressure: float) -> float:
    """Total external static pressure [inH2O] from the two sides.

    Both in [inH2O]; the return is below the room's pressure and may be said with or without its sign.
    Method: the sum of the magnitudes. Source: definition, ANSI/ACCA 1 Manual D. Raises OutOfRange beyond 10.
    """
    within("supply static", supply_static_pressure, -10, 10, "inH2O")
    within("return static", return_static_pressure, -10, 10, "inH2O")
    return abs(supply_static_pressure) + abs(return_static_pressure)


def available_static_pressure(external: float, losses: float) -> float:
    """Pressure left for the duct itself [inH2O].

    external [inH2O], what the blower can give at the airflow wanted; losses [inH2O], of coil, filter,
    grilles, dampers, those that the rating does not already count. Both 0 or more.
    Returns below zero when the parts eat more than there is. Source: ANSI/ACCA 1 Manual D. Raises OutOfRange.
    """
    within("external static", external, 0, 10, "inH2O")
    return external - within("component losses", losses, 0, 10, "inH2O")


def friction_rate(available: float, total_effective_length: float) -> float:
    """Friction the duct may have [inH2O per 100 ft].

    available               [inH2O]  from `available_static_pressure`
    total_effective_length  [ft]     longest supply and return run with their fittings, above 0

    Method: available x 100 / length. Source: ANSI/ACCA 1 Manual D. Raises OutOfRange.
    """
    within("available static", available, -10, 10, "inH2O")
    return available * 100 / above("total effective length", total_effective_length, 0, "ft")


def share_of_total(part: float, total: float) -> float:
    """What share of the total static one part takes [percent]; both [inH2O]. Source: definition.

    Raises OutOfRange for a total that is not above zero.
    """
    return 100 * within("pressure drop", part, 0, math.inf, "inH2O") / above("total static", total, 0, "inH2O")

"""Return ducts and filter grilles by a published table, as a second opinion on what friction says."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.compute.constants import rows
from assistant.compute.ranges import within


@dataclass(frozen=True, slots=True)
class PrescribedReturn:
    """One row of return_grille.csv."""

    cooling_capacity: float  # ton, the row's own: at or above the one asked for
    ducts_in: tuple[int, ...]  # one diameter or two
    grille_area: float  # in2, filter-grille gross area of all returns together
    source: str


def prescribed_returns(cooling_capacity: float) -> tuple[PrescribedReturn, ...]:
    """Smallest returns a published table allows for a system: with one return, where it has that, and with two.

    cooling_capacity [ton], 0.5 to 5. A size between rows takes the next larger one.
    Method: table; sized for filters with low velocity and 350 cfm a ton, so larger than friction alone asks for.
    Source: California Residential Compliance Manual, Tables 4-10 and 4-11. Raises OutOfRange.
    """
    within("system size", cooling_capacity, 0.5, 5, "ton")
    found: dict[int, PrescribedReturn] = {}
    for row in rows("return_grille.csv"):  # in rising order of size
        sizes = tuple(int(row[name]) for name in ("duct_1", "duct_2") if row[name])
        if float(row["cooling_capacity"]) >= cooling_capacity and len(sizes) not in found:
            found[len(sizes)] = PrescribedReturn(
                float(row["cooling_capacity"]), sizes, float(row["grille_area"]), row["source"]
            )
    return tuple(found.values())


def grille_needed(airflow: float, face_velocity: float) -> float:
    """Gross area a grille or filter needs [in2] so that air passes it no faster than `face_velocity` [fpm].

    airflow [cfm], 0 to 100000; face_velocity, 50 to 2000. Source: definition. Raises OutOfRange.
    """
    within("airflow", airflow, 0, 100000, "cfm")
    return airflow / within("face velocity", face_velocity, 50, 2000, "fpm") * 144

"""From the duct runs that were said to what they can carry and how hard they are pulled."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from assistant.compute import ducts
from assistant.compute.constants import constant, constants
from assistant.compute.ducts import Range
from assistant.compute.facts import Facts
from assistant.compute.instruments import Instruments, combined
from assistant.records import Calculation, DuctRun, Reading

_AIR_WAS_MOVING = ("system_airflow", "return_airflow", "supply_airflow", "total_static_pressure", "suction_pressure")

Rule = Callable[[Facts, Instruments], Iterator[Calculation]]


def _whole_side(facts: Facts, side: str) -> tuple[DuctRun, ...]:
    """The runs in place on one side, if they can be all of it; else none.

    "One more sixteen inch return" tells of one run where there were others nobody described: a side that only
    has added runs, on a system that already moved air before the first of them, is not known whole.
    """
    mine = [run for run in facts.job.duct_runs if run.side == side and run.system == facts.system]
    order = facts.job.note_order()
    added = [order.get(run.note, -1) for run in mine if run.status == "added"]
    ran_before = any(
        order.get(reading.note, -1) < min(added, default=-1)
        for quantity in _AIR_WAS_MOVING
        for reading in facts.history(quantity)
    )
    if ran_before and not any(run.status == "existing" for run in mine):
        return ()
    return ducts.runs_in_place(mine, side, facts.system)


def _duct_capacity(side: str) -> Rule:
    def work(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
        runs = _whole_side(facts, side)
        if runs and all(run.size_in for run in runs):
            height, said = facts.altitude()
            rate = constant("design_friction_rate")
            carried = ducts.duct_capacity(runs, rate, altitude=height)
            yield Calculation(
                "duct_capacity",
                facts.system,
                carried.middle,
                "cfm",
                carried.half_width,
                said,
                f"at {rate:g} inH2O per 100 ft; flex from relaxed (15 percent) to pulled tight",
                f"Colebrook; flex factors between published sources; rate {constants()['design_friction_rate'].source}",
                side,
            )

    return work


def _friction_rate(side: str) -> Rule:
    """Friction of a side that is all of one size, at the airflow measured through it since it was last changed."""

    def work(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
        runs = _whole_side(facts, side)
        moved = _airflow_through(facts, side)
        if len(runs) != 1 or moved is None:
            return
        height, said = facts.altitude()
        rate = _rate(runs[0], moved.value / runs[0].count, height)
        # Friction goes with nearly the square of airflow.
        spread = combined(rate.half_width, rate.middle * 1.9 * instruments.airflow_percent / 100)
        yield Calculation(
            "friction_rate",
            facts.system,
            rate.middle,
            "inH2O/100 ft",
            spread,
            (moved, *said),
            "at the airflow measured; flex from pulled tight to relaxed (15 percent)",
            "Darcy-Weisbach and Colebrook (fluids); flex factors between published sources",
            side,
        )

    return work


def _airflow_through(facts: Facts, side: str) -> Reading | None:
    """Airflow of the side, or of the system, if it was measured in or after the note that last changed the side."""
    order = facts.job.note_order()
    changed = [
        order.get(run.note, -1)
        for run in facts.job.duct_runs
        if run.side == side and run.system == facts.system and run.status in ("added", "removed")
    ]
    found = facts.latest(f"{side}_airflow") or facts.latest("system_airflow")
    return found if found and found.value > 0 and order.get(found.note, -1) >= max(changed, default=-1) else None


def _rate(run: DuctRun, airflow: float, height: float) -> Range:
    diameter = ducts.equivalent_diameter(run)
    could_be = [run.material] if run.material else ["flex", "metal"] if run.shape == "round" else ["metal", "board"]
    tight = [ducts.friction(airflow, diameter, constant(f"roughness_{m}"), altitude=height) for m in could_be]
    relaxed = []
    if "flex" in could_be:
        worst = ducts.flex_compression(diameter, constant("flex_compression_usual")).high
        relaxed = [ducts.friction(airflow, diameter, constant("roughness_flex"), altitude=height) * worst]
    return Range(min(tight), max(tight + relaxed))


RULES = tuple(rule(side) for side in ("return", "supply") for rule in (_duct_capacity, _friction_rate))

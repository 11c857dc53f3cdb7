"""Everything that can be worked out from a job as it stands now. Start here.

Each rule takes the facts of one system and gives the calculations it can; where something is missing it
gives none, and where a value is outside what a method is valid for it gives none either. What is missing
and what is out of range is for the judge to say.
"""

from __future__ import annotations

from collections.abc import Iterator

from assistant.compute import worked_air, worked_charge, worked_ducts, worked_heat
from assistant.compute.facts import Facts
from assistant.compute.instruments import Instruments
from assistant.errors import OutOfRange, UnknownRefrigerant
from assistant.records import Calculation, JobLog

RULES = (*worked_charge.RULES, *worked_air.RULES, *worked_heat.RULES, *worked_ducts.RULES)


def work_out(job: JobLog, instruments: Instruments | None = None) -> tuple[Calculation, ...]:
    """The calculations of every system, as they stand after the last note.

    One for each name, system and qualifier. Each names the readings it rests on, and its uncertainty from
    the accuracy of the `instruments`. Pure: the job is not changed, and its old calculations are not read.
    """
    instruments = instruments or Instruments()
    return tuple(calculation for system in job.systems() for calculation in _of_system(job, system, instruments))


def _of_system(job: JobLog, system: str, instruments: Instruments) -> Iterator[Calculation]:
    facts = Facts(job, system)
    for rule in RULES:
        try:
            found = list(rule(facts, instruments))
        except (OutOfRange, UnknownRefrigerant):
            continue
        yield from (calculation for calculation in found if not _overtaken(facts, calculation))


def _overtaken(facts: Facts, calculation: Calculation) -> bool:
    """Whether the same quantity was measured outright on a later visit, so that the calculation is history."""
    direct = [r for r in facts.current(calculation.name) if r.qualifier == calculation.qualifier]
    visits = [facts.visit(r) for r in calculation.inputs if r.role == "measured"]
    return bool(direct and visits) and facts.visit(direct[-1]) > max(visits)

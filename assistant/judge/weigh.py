"""START HERE: how a job stands: its verdicts, concerns, derived tasks and questions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from assistant.judge.airflow import Air, air_of, weigh_airflow
from assistant.judge.asks import asks_of
from assistant.judge.charge import weigh_charge
from assistant.judge.combustion import weigh_combustion
from assistant.judge.diagnosis import Cause, causes_of, weigh_causes
from assistant.judge.doubts import weigh_conflicts, weigh_corrections, weigh_doubts
from assistant.judge.ducts import weigh_ducts
from assistant.judge.electrical import weigh_electrical
from assistant.judge.evacuation import weigh_vacuum
from assistant.judge.facts import Facts, facts_of
from assistant.judge.found import charge_visit
from assistant.judge.gas_heat import weigh_gas_heat
from assistant.judge.inspections import weigh_agreements, weigh_inspections
from assistant.judge.leaks import weigh_leaks, weigh_records
from assistant.judge.pressure_test import weigh_pressure_test
from assistant.judge.recheck import with_rechecks
from assistant.judge.safety import weigh_safety
from assistant.judge.signs import of_one_visit, signs_of, weigh_signs
from assistant.judge.static_pressure import weigh_static
from assistant.records import Concern, JobLog, Verdict

_GRAVEST_FIRST = ("stop", "attention", "info")


def weigh(job: JobLog) -> JobLog:
    """`job` with verdicts, concerns and asks as they stand now, and its derived tasks opened or closed.

    Pure, and weighing twice changes nothing. Expects the calculations of the readings as they stand.
    """
    systems = list(facts_of(job))
    verdicts: list[Verdict] = []
    concerns: list[Concern] = [*weigh_doubts(job), *weigh_corrections(job)]
    concerns += [*weigh_inspections(job), *weigh_agreements(job)]
    tasks = job.tasks
    for facts in systems:
        air = air_of(facts)
        found = list(_findings(facts, air))
        verdicts += (item for item in found if isinstance(item, Verdict))
        concerns += (item for item in found if isinstance(item, Concern))
        charge = next((v for v in found if isinstance(v, Verdict) and v.about == "charge"), None)
        tasks = with_rechecks(facts, tasks, air, charge)
    concerns.sort(key=lambda c: _GRAVEST_FIRST.index(c.severity))
    asks = asks_of(job, systems, verdicts)
    return replace(job, verdicts=tuple(verdicts), concerns=tuple(concerns), asks=asks, tasks=tasks)


def diagnose(job: JobLog, system: str = "main") -> tuple[Cause, ...]:
    """The causes that fit a system's pattern, best supported first; () where the pattern fits none."""
    for facts in facts_of(job):
        if facts.system == system:
            return causes_of(of_one_visit(signs_of(facts, air_of(facts))))
    return ()


def _findings(facts: Facts, air: Air) -> Iterator[Verdict | Concern]:
    """In the order of the trade: safety, air, tightness, charge, then the rest."""
    signs = signs_of(facts, air)
    causes = causes_of(of_one_visit(signs))
    yield from weigh_safety(facts)
    yield from weigh_combustion(facts)
    yield from weigh_airflow(facts, air, charge_visit(facts))
    yield from weigh_static(facts)
    yield from weigh_ducts(facts)
    tightness = [*weigh_pressure_test(facts), *weigh_vacuum(facts)]
    yield from tightness
    yield from weigh_charge(facts, air, causes)
    yield from weigh_signs(facts, signs)
    yield from weigh_causes(facts.system, causes)
    yield from weigh_leaks(facts, [item for item in tightness if isinstance(item, Verdict)])
    yield from weigh_records(facts)
    yield from weigh_conflicts(facts)
    yield from weigh_gas_heat(facts)
    yield from weigh_electrical(facts)

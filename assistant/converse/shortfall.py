"""How much air is missing, on the side that was asked or the one that is short."""

from __future__ import annotations

from assistant.converse.asking import Asking, Told, evidence_readings, found_values, on_system, system_name, verdict_on
from assistant.converse.judged import GOOD, readings_behind, source_of
from assistant.converse.speech import amount, day, joined, listed, spoken
from assistant.converse.vocabulary import title
from assistant.records import Answer, JobLog

SHORTFALLS = {
    "return_duct": "return_airflow_shortfall",
    "supply_duct": "supply_airflow_shortfall",
    "airflow": "airflow_shortfall",
}


def shortfall_answer(asking: Asking) -> Told:
    """How many cfm are missing, on the side that was asked or the one that is short."""
    abouts = [asking.about] if asking.about in SHORTFALLS else list(SHORTFALLS)
    for about in abouts:
        for system in asking.systems:
            told = _short_on(asking, about, system)
            if told:
                return told
    system = asking.systems[0]
    for about in abouts:
        verdict = verdict_on(asking.log, about, system)
        if verdict and verdict.status in GOOD:
            readings = readings_behind(asking, about, system)
            say = joined(
                f"Not short: the {title(about)} is in range, {spoken(verdict.because)}",
                source_of(asking, readings, verdict),
            )
            return Told(Answer(say, 0.0, "cfm", (verdict, *readings)), quantity=SHORTFALLS[about], about=about)
    about = abouts[0]
    name = {"return_duct": "return airflow", "supply_duct": "supply airflow"}.get(about, "airflow")
    missing = [] if _has_tons(asking.log, system) else ["the system size in tons"]
    say = joined(
        f"I can't say how much you're short: it would need {listed([f'the {name} off the hood or the grid', *missing])}"
    )
    return Told(Answer(say), quantity=SHORTFALLS[about], about=about)


def _has_tons(log: JobLog, system: str) -> bool:
    return any(e.system == system and e.cooling_capacity for e in log.equipment) or any(
        r.quantity == "cooling_capacity" and r.status == "current" and on_system(r.system, system) for r in log.readings
    )


def _short_on(asking: Asking, about: str, system: str) -> Told | None:
    found = found_values(asking, SHORTFALLS[about], system)
    side = {"return_duct": "return", "supply_duct": "supply"}.get(about, "air")
    where = f" {system_name(system)}" if asking.single or len(asking.systems) > 1 else ""
    if found and found[0].value > 0:
        record = found[0]
        readings = evidence_readings(found)
        air = [r for r in readings if r.unit == "cfm"]
        tons = [r for r in readings if r.unit != "cfm"]
        against = f" for {amount(tons[0].value, tons[0].unit)}" if tons else ""
        have = f"{amount(air[0].value, 'cfm')} measured{against}" if air else ""
        on = (
            f", said on {day(asking.history.note(air[0].note).date)}"
            if air and asking.history.note(air[0].note)
            else ""
        )
        say = joined(f"{amount(record.value, record.unit)} short of {side}{where}", f"{have}{on}")
        return Told(
            Answer(say, record.value, record.unit, (record, *readings)),
            quantity=SHORTFALLS[about],
            about=about,
            system=_named(asking),
        )
    return None


def _named(asking: Asking) -> str | None:
    return asking.systems[0] if asking.single else None

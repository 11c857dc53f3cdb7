"""One job as the tech's phone shows it: what matters with a wrench in the other hand. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from api.office_view import TONE, Value, concerns, standing_of, value_line
from api.task_view import TaskRow, task_rows
from assistant.converse.report_words import equipment
from assistant.converse.speech import day
from assistant.converse.vocabulary import title as finding_title
from assistant.records import Concern, JobLog, Verdict

_DONE = ("done", "dropped")


@dataclass(frozen=True, slots=True)
class Finding:
    name: str  # "charge"
    standing: str  # "in range"
    tone: str  # good | attention | info | ""
    because: str


@dataclass(frozen=True, slots=True)
class System:
    """One system: what it is, what was found, what was measured last."""

    name: str  # "" for the only one
    described: str  # "4 ton, R-410A, TXV"
    findings: tuple[Finding, ...]
    values: tuple[tuple[Value, str], ...]  # each with its visit's day where that is not the last one, newest first


@dataclass(frozen=True, slots=True)
class PhoneJob:
    id: str
    site: str
    visits: int
    last: str  # day of the last visit in words; "" before the first
    question: str  # the one most useful question; "" for none
    concerns: tuple[Concern, ...]  # what stops the work first
    systems: tuple[System, ...]  # the one last spoken of first
    tasks: tuple[TaskRow, ...]  # what is still open, the most pressing first


def phone_job(log: JobLog, today: str) -> PhoneJob:
    """The job's page on `today` (ISO date)."""
    named = sorted(log.systems(), key=lambda system: system != log.system)
    systems = [_system(log, system, several=len(named) > 1) for system in (*named, "site")]
    return PhoneJob(
        id=log.job.id,
        site=log.job.site or "",
        visits=len(log.visits),
        last=day(log.visits[-1].date) if log.visits else "",
        question=log.asks[0].text if log.asks else "",
        concerns=tuple(concerns(log)),
        systems=tuple(system for system in systems if system.findings or system.values or system.described),
        tasks=tuple(row for row in task_rows([log], today) if row.group not in _DONE),
    )


def _system(log: JobLog, system: str, several: bool) -> System:
    described = next((equipment(each) for each in log.equipment if each.system == system), "")
    found = [verdict for verdict in log.verdicts if verdict.system == system]
    return System(
        name=system if several or system == "site" else "",
        described=described,
        findings=tuple(_finding(verdict) for verdict in sorted(found, key=_is_good)),
        values=_values(log, system),
    )


def _is_good(verdict: Verdict) -> bool:
    return TONE.get(verdict.status) == "good"


def _finding(verdict: Verdict) -> Finding:
    return Finding(finding_title(verdict.about), standing_of(verdict), TONE.get(verdict.status, ""), verdict.because)


def _values(log: JobLog, system: str) -> tuple[tuple[Value, str], ...]:
    """The last of each value of a system, the newest first: those in force, and those that are in doubt."""
    last = {}
    for reading in log.readings:
        if reading.system == system and reading.status in ("current", "doubtful"):
            key = (reading.quantity, reading.role, reading.qualifier)
            last.pop(key, None)
            last[key] = reading
    newest = len(log.visits) - 1
    dated = [(reading, log.visit_of(reading.note)) for reading in last.values()]
    dated.sort(key=lambda pair: pair[1], reverse=True)  # within a visit in the order they were said
    return tuple((value_line(reading), "" if at == newest else day(log.visits[at].date)) for reading, at in dated)

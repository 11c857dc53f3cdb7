"""One job as the tech's phone shows it: what matters with a wrench in the other hand. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from api.office_view import TONE, Value, concerns, standing_of, value_line
from api.task_view import TaskRow, task_rows
from assistant.converse.report_words import equipment
from assistant.converse.speech import day
from assistant.converse.vocabulary import title as finding_title
from assistant.records import Concern, JobLog, Reading, Verdict

_DONE = ("done", "dropped")
_ALWAYS_SHOWN = ("airflow", "charge")  # whatever they come to; what else is in order is folded away


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
    findings: tuple[Finding, ...]  # what is off, the air and the charge
    in_order: tuple[Finding, ...]  # the others
    values: tuple[Value, ...]  # of the job's last visit
    earlier: tuple[tuple[Value, str], ...]  # not measured since: with the day of their visit, newest first


@dataclass(frozen=True, slots=True)
class Photo:
    sha256: str
    shown: bool  # whether a browser can show it; others are only linked to
    said: str  # the words of its note


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
    parts = [_system(log, system, several=len(named) > 1) for system in (*named, "site")]
    return PhoneJob(
        id=log.job.id,
        site=log.job.site or "",
        visits=len(log.visits),
        last=day(log.visits[-1].date) if log.visits else "",
        question=log.asks[0].text if log.asks else "",
        concerns=tuple(concerns(log)),
        systems=tuple(part for part in parts if any((part.described, part.findings, part.values, part.earlier))),
        tasks=tuple(row for row in task_rows([log], today) if row.group not in _DONE),
    )


def _system(log: JobLog, system: str, several: bool) -> System:
    described = next((equipment(each) for each in log.equipment if each.system == system), "")
    found = [verdict for verdict in log.verdicts if verdict.system == system]
    folded = [each for each in found if _is_good(each) and each.about not in _ALWAYS_SHOWN]
    values = _last_values(log, system)
    now = len(log.visits) - 1
    return System(
        name=system if several or system == "site" else "",
        described=described,
        findings=tuple(_finding(each) for each in sorted(found, key=_is_good) if each not in folded),
        in_order=tuple(_finding(each) for each in folded),
        values=tuple(value_line(reading) for reading, visit in values if visit == now),
        earlier=tuple((value_line(reading), day(log.visits[visit].date)) for reading, visit in values if visit != now),
    )


def _is_good(verdict: Verdict) -> bool:
    return TONE.get(verdict.status) == "good"


def _finding(verdict: Verdict) -> Finding:
    return Finding(finding_title(verdict.about), standing_of(verdict), TONE.get(verdict.status, ""), verdict.because)


def _last_values(log: JobLog, system: str) -> list[tuple[Reading, int]]:
    """The last of each value of a system, in force or in doubt, with its visit: the newest visit first."""
    last = {}
    for reading in log.readings:
        if reading.system == system and reading.status in ("current", "doubtful"):
            key = (reading.quantity, reading.role, reading.qualifier)
            last.pop(key, None)
            last[key] = reading
    dated = [(reading, log.visit_of(reading.note)) for reading in last.values()]
    return sorted(dated, key=lambda pair: pair[1], reverse=True)  # within a visit in the order they were said

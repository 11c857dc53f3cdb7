"""What the office has to look at first, job by job, in a few words each. Pure.

The order of the kinds is the order of the list: what can hurt somebody, what an inspector holds up, what makes a
verdict provisional, what an owner has to answer, what is late, what may have been misheard, and then the rest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from assistant.converse.report_words import task as task_words
from assistant.converse.report_words import title
from assistant.converse.report_words import value as value_words
from assistant.converse.speech import day
from assistant.judge.inspections import inspections_left
from assistant.judge.tables import speaks_of
from assistant.records import JobLog, Reading

# Each kind's name, singular and plural, as its counts are written.
KINDS = {
    "stop": ("stop", "stops"),
    "inspection": ("inspection", "inspections"),
    "recheck": ("recheck open", "rechecks open"),
    "agreement": ("answer awaited", "answers awaited"),
    "overdue": ("task overdue", "tasks overdue"),
    "doubt": ("doubtful value", "doubtful values"),
    "finding": ("finding", "findings"),
}
_SEVERITY = {"stop": "stop", "finding": "attention"}
# Concerns that say again what another kind counts already.
_TOLD_ELSEWHERE = frozenset(
    {
        "inspection_failed", "inspection_open", "charge_provisional", "approval_pending", "value_implausible",
        "value_conflict", "unit_mismatch",
    }
)  # fmt: skip
# Which trades' inspections a permit is answered by, where that is more than its own; common practice, no source.
_ANSWERS = {"mechanical": ("mechanical", "sheet_metal"), "building": ()}


@dataclass(frozen=True, slots=True)
class Matter:
    """One thing of one kind that somebody has to look at."""

    kind: str  # a key of KINDS
    words: str  # what it is, in a few words
    system: str = "main"


@dataclass(frozen=True, slots=True)
class Standing:
    """A job as the office's list shows it."""

    job: str
    site: str | None
    customer: str | None
    days: tuple[str, ...]  # ISO dates of its visits, oldest first
    matters: tuple[Matter, ...]  # the gravest first
    systems: tuple[str, ...]
    findings: frozenset[str]  # codes of its concerns, and "about:status" of its verdicts
    unheard: int = 0  # recordings not transcribed yet

    def counts(self) -> list[tuple[str, str]]:
        """Each kind there is with its count in words: ("overdue", "2 tasks overdue")."""
        found = {kind: sum(matter.kind == kind for matter in self.matters) for kind in KINDS}
        return [(kind, f"{count} {KINDS[kind][count > 1]}") for kind, count in found.items() if count]

    def urgency(self) -> tuple[int, ...]:
        """Lower comes first: the gravest kind decides, then how many of it there are, then the next kind."""
        return tuple(-sum(matter.kind == kind for matter in self.matters) for kind in KINDS)


def standing(log: JobLog, today: str, unheard: int = 0) -> Standing:
    """How a job stands on `today` (ISO date)."""
    job = log.job
    findings = {c.code for c in log.concerns} | {f"{v.about}:{v.status}" for v in log.verdicts}
    days = tuple(visit.date for visit in log.visits)
    return Standing(job.id, job.site, job.customer, days, matters(log, today), log.systems(),
                    frozenset(findings), unheard)  # fmt: skip


def matters(log: JobLog, today: str) -> tuple[Matter, ...]:
    """Everything about a job that somebody has to look at on `today` (ISO date), the gravest kind first."""
    return tuple(matter for kind in KINDS for matter in _FINDERS[kind](log, today))


def first_things_first(standings: Iterable[Standing]) -> list[Standing]:
    """The most urgent job first; of equally urgent ones the one visited last."""
    by_date = sorted(standings, key=lambda each: each.days[-1] if each.days else "", reverse=True)
    return sorted(by_date, key=Standing.urgency)


def chosen(
    standings: Iterable[Standing],
    *,
    words: str = "",
    since: str = "",
    until: str = "",
    system: str = "",
    finding: str = "",
    kind: str = "",
) -> list[Standing]:
    """Those that fit every filter given; an empty one lets everything pass.

    words         in the name, site or customer
    since, until  ISO dates, both included: a visit lies between them
    system        one of its systems is called that, whatever the case
    finding       a concern's code, or "about:status" of a verdict
    kind          something of that kind (a key of KINDS) needs attention
    """
    return [
        each
        for each in standings
        if all(word in _names(each) for word in words.casefold().split())
        and (not (since or until) or any((since or "0") <= visit <= (until or "9") for visit in each.days))
        and (not system or system.casefold() in (name.casefold() for name in each.systems))
        and (not finding or finding in each.findings)
        and (not kind or any(matter.kind == kind for matter in each.matters))
    ]


def _names(each: Standing) -> str:
    named = (each.job, each.job.replace("-", " "), each.site, each.customer)
    return " ".join(name for name in named if name).casefold()


# ---------------------------------------------------------------- one finder for each kind


def _concerns(kind: str) -> Callable[[JobLog, str], Iterable[Matter]]:
    def find(log: JobLog, today: str) -> Iterable[Matter]:
        for concern in log.concerns:
            if concern.severity == _SEVERITY[kind] and (kind == "stop" or concern.code not in _TOLD_ELSEWHERE):
                yield Matter(kind, concern.text, concern.system)

    return find


def _inspections(log: JobLog, today: str) -> Iterable[Matter]:
    """Failed ones, those whose day is past without a result, and permits nobody has inspected."""
    failed, still_open = inspections_left(log)
    for event in failed:
        yield Matter("inspection", f"{_trade(event.trade)} inspection failed", event.system)
    for event in still_open:
        if event.outcome == "partial":
            yield Matter("inspection", f"{_trade(event.trade)} inspection passed in part only", event.system)
        elif event.when and event.when[:10] < today:
            words = f"{_trade(event.trade)} inspection was set for {day(event.when[:10])}, no result told"
            yield Matter("inspection", words, event.system)
    if log.visits and log.visits[-1].date < today:
        inspected = {event.trade for event in log.events if event.kind == "inspection"}
        for trade in dict.fromkeys(e.trade for e in log.events if e.kind == "permit" and e.trade):
            answers = _ANSWERS.get(trade, (trade,))
            if answers and not inspected & {*answers, None}:
                yield Matter("inspection", f"{_trade(trade)} permit, but no inspection told")


def _rechecks(log: JobLog, today: str) -> Iterable[Matter]:
    """Checks to be made again, and verdicts that are provisional without a task that says so."""
    covered = set()
    for task in log.tasks:
        if task.status == "open" and speaks_of("recheck", task.what):
            covered.add(task.system)
            yield Matter("recheck", task_words(task), task.system)
    for verdict in log.verdicts:
        if verdict.status == "provisional" and verdict.system not in covered:
            yield Matter("recheck", f"{title(verdict.about)} provisional: {verdict.because}", verdict.system)


def _agreements(log: JobLog, today: str) -> Iterable[Matter]:
    for agreement in log.agreements:
        if agreement.status in ("pending", "quoted"):
            price = f", {agreement.price:,.2f}" if agreement.price is not None else ""
            yield Matter("agreement", f"{agreement.scope}: {agreement.status}, {agreement.by}{price}", agreement.system)


def _overdue(log: JobLog, today: str) -> Iterable[Matter]:
    for task in log.tasks:
        if task.status == "open" and task.due and task.due[:10] < today:
            yield Matter("overdue", task_words(task), task.system)


def _doubts(log: JobLog, today: str) -> Iterable[Matter]:
    for reading in log.readings:
        if reading.status == "doubtful":
            yield Matter("doubt", doubtful_words(reading), reading.system)


def doubtful_words(reading: Reading) -> str:
    """'liquid line 704 °F, said "liquid line 704"'."""
    name = title(reading.quantity, reading.qualifier)
    return f'{name} {value_words(reading.value, reading.unit)}, said "{reading.said}"'


def _trade(trade: str | None) -> str:
    return (trade or "the").replace("_", " ")


_FINDERS: dict[str, Callable[[JobLog, str], Iterable[Matter]]] = {
    "stop": _concerns("stop"),
    "inspection": _inspections,
    "recheck": _rechecks,
    "agreement": _agreements,
    "overdue": _overdue,
    "doubt": _doubts,
    "finding": _concerns("finding"),
}

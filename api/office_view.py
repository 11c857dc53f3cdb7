"""One job as the office's page shows it: from its history to rows of words. Pure.

What the page decides is here (what comes first, what stands beside what); how it looks is in the templates.
"""

from __future__ import annotations

import functools
import tomllib
from dataclasses import dataclass
from importlib import resources

from assistant.converse.asking import charge_quantity, on_system
from assistant.converse.causes import causes_in, next_of
from assistant.converse.report_words import amount, equipment, moment, standing, title, value
from assistant.converse.vocabulary import asked, full
from assistant.converse.vocabulary import title as finding_title
from assistant.judge.tables import limit, mains
from assistant.records import Calculation, Concern, Corrected, JobLog, Reading, Verdict
from assistant.units import quantities

STATUS = {
    "in_range": "in range",
    "low": "low",
    "high": "high",
    "pass": "passes",
    "fail": "fails",
    "provisional": "provisional",
    "unknown": "not known yet",
}
TONE = {"in_range": "good", "pass": "good", "low": "attention", "high": "attention", "fail": "attention",
        "provisional": "info"}  # fmt: skip
_SEVERITIES = ("stop", "attention", "info")
_LESS_SURE = 0.6  # below this a value is marked to be listened to; from looking at what was misheard
_ROLES = {"measured": "", "target": "target", "rated": "rated", "estimated": "about"}


@dataclass(frozen=True, slots=True)
class Value:
    """One reading as a line of the page."""

    anchor: str  # its id on the page, the same after a correction
    note: str
    quantity: str
    name: str  # "liquid pressure"
    shown: str  # "345 psi"; of a discarded value what was said
    number: str  # as a form field begins with it
    unit: str  # the quantity's own, which the field begins with
    role: str  # "", "target", "rated", "about"
    system: str
    said: str
    at: str  # "1:04", or "typed"
    start_s: float | None
    end_s: float | None
    sure: int  # percent
    less_sure: bool  # to be listened to
    status: str
    became: str  # what became of it where it is not simply in force
    doubt: str  # why it is doubtful, in the contract's word
    correction: Corrected | None  # what a person did about it
    was: str  # what was heard, where that was corrected


@dataclass(frozen=True, slots=True)
class Basis:
    """One value worked out, with what it rests on."""

    name: str
    shown: str  # "9.7 ± 1.2 °F"
    inputs: tuple[Value, ...]
    method: str
    source: str


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One verdict with its reasons."""

    about: str
    name: str
    standing: str  # "provisional (in range)"
    tone: str  # good | attention | info | ""
    because: str
    needs: tuple[str, ...]  # what is missing, in words
    basis: tuple[Basis, ...]
    readings: tuple[Value, ...]  # those it compares directly
    limits: tuple[str, ...]  # where its limits come from


@dataclass(frozen=True, slots=True)
class CauseRow:
    name: str
    speaks_for: tuple[str, ...]
    speaks_against: tuple[str, ...]
    next: str


@dataclass(frozen=True, slots=True)
class SystemPart:
    """What was found about one system."""

    system: str
    name: str  # "" for the only one
    described: str  # "4 ton, R-410A, TXV"
    findings: tuple[FindingRow, ...]
    other: tuple[Basis, ...]  # worked out, and behind no verdict
    causes: tuple[CauseRow, ...]


def value_line(reading: Reading) -> Value:
    """A reading as a line of the page."""
    correction, listed = reading.correction, quantities().get(reading.quantity)
    return Value(
        anchor=f"v-{reading.note}-{reading.position}-{reading.quantity}",
        note=reading.note,
        quantity=reading.quantity,
        name=title(reading.quantity, reading.qualifier),
        shown=shown(reading),
        number=f"{reading.value:g}",
        unit=listed.unit if listed else reading.unit,
        role=_ROLES.get(reading.role, reading.role),
        system="" if reading.system in ("main", "site") else reading.system,
        said=reading.said,
        at=moment(reading),
        start_s=reading.start_s,
        end_s=reading.end_s,
        sure=round(reading.confidence * 100),
        less_sure=reading.confidence < _LESS_SURE and reading.status == "current" and not correction,
        status=reading.status,
        became=standing(reading).removeprefix("DOUBTFUL: "),
        doubt=reading.doubt or "",
        correction=correction,
        was=value(correction.was, correction.was_unit) if correction else "",
    )


def shown(reading: Reading) -> str:
    """Its value in words: "345 psi", "8 °F to 9 °F"."""
    if reading.low is not None and reading.high is not None:
        return f"{value(reading.low, reading.unit)} to {value(reading.high, reading.unit)}"
    return value(reading.value, reading.unit)


# ---------------------------------------------------------------- values


def values_of(log: JobLog) -> dict[str, list[Value]]:
    """Every note's values by note, in the order they were said."""
    found: dict[str, list[Value]] = {}
    for reading in sorted(log.readings, key=lambda r: r.position):
        found.setdefault(reading.note, []).append(value_line(reading))
    return found


def doubtful_first(log: JobLog) -> list[tuple[str, Value]]:
    """Each value to be listened to, with its visit's date: the doubtful, then those heard badly, newest first."""
    days = {note: visit.date for visit in log.visits for note in visit.notes}
    order = log.note_order()
    rows = [(r, value_line(r)) for r in log.readings]
    listed = [(r, line) for r, line in rows if line.status == "doubtful" or line.less_sure]
    listed.sort(key=lambda pair: (pair[1].status != "doubtful", -order.get(pair[0].note, -1), pair[0].position))
    return [(days.get(r.note, ""), line) for r, line in listed]


# ---------------------------------------------------------------- findings


def systems(log: JobLog) -> tuple[SystemPart, ...]:
    """What was found, system by system; of each what is off first, air before charge as the judgement has it."""
    several = len(log.systems()) > 1
    return tuple(_system(log, name, several) for name in log.systems())


def _system(log: JobLog, system: str, several: bool) -> SystemPart:
    described = " ".join(equipment(e) for e in log.equipment if e.system == system)
    verdicts = [v for v in log.verdicts if v.system == system]
    rows = tuple(_finding(log, verdict) for verdict in verdicts)
    used = {basis.name for row in rows for basis in row.basis}
    mine = (_basis(c) for c in log.calculations if c.system == system)
    other = tuple(basis for basis in mine if basis.name not in used)
    causes = tuple(
        CauseRow(c.name, c.speaks_for, c.speaks_against, next_of(log, system, c)) for c in causes_in(log, system)[:3]
    )
    return SystemPart(system, system if several or system != "main" else "", described, rows, other, causes)


def _finding(log: JobLog, verdict: Verdict) -> FindingRow:
    names = quantities_behind(log, verdict)
    basis = tuple(_basis(c) for c in log.calculations if c.name in names and on_system(c.system, verdict.system))
    return FindingRow(
        verdict.about,
        finding_title(verdict.about),
        standing_of(verdict),
        TONE.get(verdict.status, ""),
        verdict.because,
        tuple("refrigerant" if need == "refrigerant" else full(need) for need in verdict.needs),
        basis,
        tuple(value_line(r) for r in _compared(log, verdict, names)) if not basis else (),
        limit_sources(log, verdict),
    )


def standing_of(verdict: Verdict) -> str:
    """ "in range"; "provisional (low)" where the verdict does not count yet."""
    said = STATUS.get(verdict.status, verdict.status)
    return f"{said} ({STATUS.get(verdict.finding, verdict.finding)})" if verdict.finding else said


def quantities_behind(log: JobLog, verdict: Verdict) -> set[str]:
    """The quantities and calculations a verdict is about."""
    if verdict.about == "charge":
        method = charge_quantity(log, verdict.system)
        return {method, "target_superheat"} if method == "superheat" else {method}
    return {verdict.about} | {row.name for row in asked().values() if row.about == verdict.about}


def _compared(log: JobLog, verdict: Verdict, names: set[str]) -> list[Reading]:
    """The readings in force that a verdict compares, of the newest visit that has each."""
    order = log.note_order()
    newest: dict[tuple, Reading] = {}
    for reading in sorted(log.readings, key=lambda r: (order.get(r.note, -1), r.position)):
        if reading.quantity in names and reading.status == "current" and on_system(reading.system, verdict.system):
            newest[reading.quantity, reading.role, reading.qualifier] = reading
    return list(newest.values())


def _basis(calculation: Calculation) -> Basis:
    return Basis(
        title(calculation.name, calculation.qualifier),
        amount(calculation),
        tuple(value_line(reading) for reading in dict.fromkeys(calculation.inputs)),
        calculation.method,
        calculation.source,
    )


def limit_sources(log: JobLog, verdict: Verdict) -> tuple[str, ...]:
    """Where the limits of a verdict come from, each once."""
    about = verdict.about
    if about == "charge":
        about = f"charge_by_{charge_quantity(log, verdict.system)}"
    sources = [limit(name).source for name in _limits_of().get(about, ())]
    if about == "voltage":
        sources += [row["source"] for row in mains()]
    return tuple(dict.fromkeys(sources))


@functools.cache
def _limits_of() -> dict[str, list[str]]:
    return tomllib.loads(resources.files("api").joinpath("limits_of.toml").read_text("utf-8"))


def concerns(log: JobLog) -> list[Concern]:
    """Every concern, what stops the work first."""
    return sorted(log.concerns, key=lambda concern: _SEVERITIES.index(concern.severity))


def not_settled(log: JobLog) -> list[str]:
    """What is provisional, not known or still to be said, in sentences; each once."""
    lines = [_unsettled(verdict) for verdict in log.verdicts if verdict.status in ("provisional", "unknown")]
    return list(dict.fromkeys([*lines, *(ask.text for ask in log.asks)]))


def _unsettled(verdict: Verdict) -> str:
    where = "" if verdict.system in ("main", "site") else f"{verdict.system}: "
    return f"{where}{finding_title(verdict.about)} {standing_of(verdict)}: {verdict.because}"

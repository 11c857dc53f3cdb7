"""What the page of one job holds, put together from its history and from what is known of its notes. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from api import office_view
from api.attention import matters
from api.changes import Changes, changes, measured_again
from api.office_words import V1, in_path
from api.visit_view import Heard, dated, hours, inspections, visits
from assistant.compute.job_cycle import cycle_readings
from assistant.compute.ph_chart import HEIGHT, WIDTH
from assistant.converse import report_words as words
from assistant.converse.history import JobHistory
from assistant.converse.vocabulary import title as finding_title
from assistant.errors import AssistantError
from assistant.papers.by_visit import OF_THE_SITE
from assistant.papers.ducts_chart import ducts_svg
from assistant.records import Correction, Job, JobLog

_PAPERS = (  # the end of the address, what it is called, what it is
    ("record.pdf", "Commissioning record", "PDF, for the owner and the inspector"),
    ("proposal.txt", "Proposal", "text, for extra work"),
    ("invoice.csv", "Invoice lines", "CSV: agreed work, material, hours"),
    ("refrigerant.csv", "Refrigerant record", "CSV: what went in and out"),
    ("log.csv", "Values", "CSV: every value, whatever became of it"),
    ("log", "Whole log", "JSON"),
)
_SECTIONS = (
    ("first", "Needs attention"), ("doubtful", "To listen to"), ("findings", "Findings"), ("unsettled", "Provisional"),
    ("changes", "Then and now"), ("charts", "Charts"), ("visits", "Visits"), ("agreed", "Agreed and used"),
    ("set_right", "Set right"), ("papers", "Papers"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Chart:
    """One picture, or why there is none."""

    caption: str
    src: str = ""  # its address; "" for none
    alt: str = ""  # what it shows, for who cannot see it
    value: str = ""  # of a trend: what its choice is called
    width: int = 360  # [px] as it is drawn, so that its place is kept while it loads
    height: int = 300
    wide: bool = False  # it has many words on it and wants room


@dataclass(frozen=True, slots=True)
class SetRight:
    """One thing the office did about a value."""

    what: str  # "liquid line 104 °F corrected to 94 °F"
    said: str
    by: str
    at: str  # ISO date-time
    found: bool  # False: the note as it is read now has no such value any more


def job_page(job: str, history: JobHistory, heard: Mapping[str, Heard], today: str, trend: str = "") -> dict[str, Any]:
    """Everything `office_job.html` shows of `job`.

    heard  what is known of each note of the log, by its id
    today  ISO date
    trend  which value's trend to show, as "system:quantity"; the most telling if that is none of them
    """
    log = history.latest or JobLog(Job(job))
    compared = changes(history)
    trends = _trends(compared)
    found = {
        "job": job,
        "log": log,
        "days": tuple(visit.date for visit in log.visits),
        "matters": matters(log, today),
        "doubtful": office_view.doubtful_first(log),
        "systems": office_view.systems(log),
        "has_findings": bool(log.verdicts),
        "concerns": office_view.concerns(log),
        "unsettled": office_view.not_settled(log),
        "changes": compared,
        "charts": [chart for system in log.systems() if log.visits for chart in _charts(history, system)],
        "trends": trends,
        "trend": _trend(history, trends, trend) if trends else None,
        "visits": visits(log, heard),
        "ledgers": _ledgers(log),
        "set_right": [_set_right(each) for each in sorted(log.corrections, key=lambda each: each.at)],
        "hours": hours(log),
        "papers": [(f"{V1}/jobs/{in_path(job)}/{end}", name, what) for end, name, what in _PAPERS],
    }
    found["sections"] = [(name, label) for name, label in _SECTIONS if found.get(_HOLDS.get(name, name))]
    return found


# What a section shows, where that is called otherwise.
_HOLDS = {"first": "matters", "findings": "log", "agreed": "log"}


def _named(system: str, what: str) -> str:
    return what if system in ("main", "site") else f"{system}: {what}"


def _charts(history: JobHistory, system: str) -> list[Chart]:
    """The cycle and the ducts of a system, each with what is missing where it cannot be drawn."""
    log = history.latest
    base, of = f"{V1}/jobs/{in_path(log.job.id)}", f"system={quote(system, safe='')}"
    charts = []
    try:
        readings = cycle_readings(log, system)
        alt = "; ".join(words.reading(each, with_system=False) for each in readings.values())
        caption = _named(system, "pressure-enthalpy chart of the newest visit with all four readings")
        charts.append(
            Chart(
                caption, f"{base}/cycle.svg?{of}", f"Refrigeration cycle: {alt}.", width=WIDTH, height=HEIGHT, wide=True
            )
        )
    except AssistantError as err:
        charts.append(Chart(_named(system, f"no pressure-enthalpy chart yet. {err}")))
    try:
        ducts_svg(history, system)
        runs = [words.duct_run(run) for run in log.duct_runs if run.system == system]
        found = [f"{finding_title(v.about)}: {v.because}" for v in log.verdicts
                 if v.system == system and v.about in ("airflow", "return_duct", "supply_duct")]  # fmt: skip
        alt = ". ".join([*runs, *found])
        charts.append(Chart(_named(system, "ducts: air needed and air there is"),
                            f"{base}/ducts.svg?{of}", f"{alt}."))  # fmt: skip
    except AssistantError as err:
        charts.append(Chart(_named(system, f"no duct chart yet. {err}")))
    return charts


def _trends(compared: tuple[Changes, ...]) -> list[tuple[str, str]]:
    """Every value a trend can be drawn of, as "system:quantity" and in words; the weather is the site's."""
    found = [("site" if row.quantity in OF_THE_SITE else each.system, row) for each in compared for row in each.rows]
    named = {f"{system}:{row.quantity}": _named(system, row.name) for system, row in found if row.quantity}
    return list(named.items())


def _trend(history: JobHistory, trends: list[tuple[str, str]], wanted: str) -> Chart:
    names = dict(trends)
    chosen = wanted if wanted in names else trends[0][0]
    system, _, quantity = chosen.rpartition(":")
    row = next(row for row in measured_again(history, system) if row.name == quantity)
    alt = ", then ".join(f"{cell.text} on {date}" for date, cell in sorted(row.cells.items()))
    of = quote(system, safe="")
    src = f"{V1}/jobs/{in_path(history.latest.job.id)}/trend.svg?quantity={quantity}&system={of}"
    return Chart(f"{names[chosen]} over the visits", src, f"{names[chosen]}: {alt}.", chosen)


def _set_right(correction: Correction) -> SetRight:
    was = words.value(correction.was, correction.was_unit)
    name = words.title(correction.quantity)
    now = words.value(correction.value, correction.unit) if correction.action == "correct" else ""
    what = {"correct": f"{name} {was} corrected to {now}", "confirm": f"{name} {was} confirmed as it was heard",
            "discard": f"{name} {was} discarded"}[correction.action]  # fmt: skip
    return SetRight(what, correction.said, correction.by, correction.at, correction.found)


def _ledgers(log: JobLog) -> list[tuple[str, list[tuple[str, str]]]]:
    return [
        ("Agreements", dated(log, log.agreements, words.agreement)),
        ("Permits and inspections", inspections(log)),
        ("Materials", dated(log, log.materials, words.material)),
        ("Hours", dated(log, log.labour, words.labour)),
        ("Tasks", dated(log, log.tasks, words.task)),
    ]

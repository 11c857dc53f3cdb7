"""Papers to take away: the commissioning record, tables, drawings, texts and the calendar."""

from __future__ import annotations

import datetime
from typing import Annotated, Any
from urllib.parse import quote

from anyio.to_thread import run_sync
from fastapi import APIRouter, Query
from fastapi.responses import Response
from starlette.requests import HTTPConnection

from api.access import CALENDAR
from api.deps import Office, TheAssistant, Visitor, device_of_token, visitor
from api.models import JobInPath, JobName, Short
from api.problems import Problem, answers
from assistant import Assistant, papers
from assistant.compute.job_cycle import cycle_of
from assistant.compute.ph_chart import ph_chart
from assistant.log.store import job_key
from assistant.records import JobLog

routes = APIRouter(tags=["papers"])
open_routes = APIRouter(tags=["papers"])  # the calendar: its token is in its address

PDF, CSV, SVG, TEXT, ICS = "application/pdf", "text/csv", "image/svg+xml", "text/plain", "text/calendar"
_CALENDAR_DAYS = 366  # back from today
_SPREADSHEET = "utf-8-sig"  # the mark that spreadsheets know UTF-8 by

OfSystem = Annotated[Short | None, Query(description="Where the job has several.")]


def file_of(media_type: str, *problems: int) -> dict[int | str, dict[str, Any]]:
    """For a route's `responses`: a file of that type, and the problems there may be."""
    schema = {"type": "string"} if media_type != PDF else {"type": "string", "format": "binary"}
    return {200: {"content": {media_type: {"schema": schema}}}, **answers(404, *problems)}


@routes.get("/jobs/{job}/record.pdf", response_class=Response, responses=file_of(PDF))
def record(job: JobInPath, assistant: TheAssistant, who: Visitor) -> Response:
    """The commissioning record for the inspector and the owner."""
    return _paper(papers.record_pdf(assistant.job_history(job)), PDF, job, "record.pdf")


@routes.get("/jobs/{job}/log.csv", response_class=Response, responses=file_of(CSV))
def log_table(job: JobInPath, assistant: TheAssistant, who: Visitor) -> Response:
    """Every reading, a row each."""
    return _paper(papers.log_csv(assistant.job_log(job)), CSV, job, "log.csv")


@routes.get("/jobs/{job}/refrigerant.csv", response_class=Response, responses=file_of(CSV))
def refrigerant(job: JobInPath, assistant: TheAssistant, who: Visitor) -> Response:
    """Refrigerant added and recovered, with what is not on record."""
    return _paper(papers.refrigerant_csv(assistant.job_log(job)), CSV, job, "refrigerant.csv")


@routes.get("/jobs/{job}/invoice.csv", response_class=Response, responses=file_of(CSV))
def invoice(job: JobInPath, assistant: TheAssistant, who: Office) -> Response:
    """Agreed work, material and hours."""
    return _paper(papers.invoice_csv(assistant.job_log(job)), CSV, job, "invoice.csv")


@routes.get("/jobs/{job}/proposal.txt", response_class=Response, responses=file_of(TEXT))
def proposal(job: JobInPath, assistant: TheAssistant, who: Office) -> Response:
    """Extra work that was offered or agreed, with its reasons."""
    return _paper(papers.proposal_text(assistant.job_history(job)), TEXT, job, "proposal.txt")


@routes.get("/jobs/{job}/cycle.svg", response_class=Response, responses=file_of(SVG, 409))
def cycle(job: JobInPath, assistant: TheAssistant, who: Visitor, system: OfSystem = None) -> Response:
    """The refrigeration cycle on a pressure-enthalpy chart, from the readings the charge was judged by."""
    log = assistant.job_log(job)
    system = _system_of(log, system)
    drawn = cycle_of(log, system)
    where = "" if system == "main" else f", {system}"
    return _paper(ph_chart(drawn, f"{log.job.id}{where}: {drawn.refrigerant}"), SVG, job, "cycle.svg")


@routes.get("/jobs/{job}/ducts.svg", response_class=Response, responses=file_of(SVG, 409))
def ducts(job: JobInPath, assistant: TheAssistant, who: Visitor, system: OfSystem = None) -> Response:
    """What the ducts carry beside what they should."""
    history = assistant.job_history(job)
    return _paper(papers.ducts_svg(history, _system_of(history.latest, system)), SVG, job, "ducts.svg")


@routes.get("/jobs/{job}/trend.svg", response_class=Response, responses=file_of(SVG, 409))
def trend(
    job: JobInPath,
    assistant: TheAssistant,
    who: Visitor,
    quantity: Annotated[Short, Query(description="The contract's name.")],
    system: OfSystem = None,
) -> Response:
    """One value over the visits."""
    history = assistant.job_history(job)
    drawn = papers.trend_svg(history, quantity, _system_of(history.latest, system))
    return _paper(drawn, SVG, job, "trend.svg")


@open_routes.get("/calendar.ics", response_class=Response, responses=file_of(ICS))
async def calendar(
    connection: HTTPConnection,
    token: Annotated[str | None, Query(max_length=100, description="Of a calendar's link.")] = None,
    job: Annotated[JobName | None, Query(description="Of all jobs if none.")] = None,
) -> Response:
    """Tasks, appointments and inspections for a calendar: of the last year's jobs, and older ones with work to do.

    A calendar program brings its own token in the address.
    """
    if token is None:
        await visitor(connection)
    elif device_of_token(connection, token).role != CALENDAR:
        raise Problem(403, "In an address only a calendar's token is taken.")
    return await run_sync(_calendar, connection.app.state.assistant, job)


def _calendar(assistant: Assistant, job: str | None) -> Response:
    since = datetime.date.today() - datetime.timedelta(days=_CALENDAR_DAYS)
    everywhere = [] if job else [*assistant.jobs_visited_since(since), *assistant.jobs_with_open_tasks()]
    names = [job] if job else list(dict.fromkeys(everywhere))
    drawn = papers.tasks_calendar(assistant.job_log(name) for name in names)
    return _paper(drawn, ICS, job or "superheard", "calendar.ics")


def _system_of(log: JobLog | None, system: str | None) -> str:
    """The system that was asked for, else the only one, else "main", which says what there is where it is none."""
    known = log.systems() if log else ()
    return system or (known[0] if len(known) == 1 else "main")


def _paper(content: str | bytes, media_type: str, job: str, name: str) -> Response:
    """The paper as a download called after its job; a PDF and a drawing are shown where they are opened."""
    if isinstance(content, str):
        content = content.encode(_SPREADSHEET if media_type == CSV else "utf-8")
    kind = "inline" if media_type in (PDF, SVG) else "attachment"
    # The key has letters, digits and hyphens alone, so nothing in it can end the name early.
    called = f"{job_key(job)}-{name}"
    plain = called.encode("ascii", "ignore").decode().strip("-")
    disposition = f"{kind}; filename=\"{plain}\"; filename*=UTF-8''{quote(called)}"
    return Response(content, media_type=media_type, headers={"content-disposition": disposition})

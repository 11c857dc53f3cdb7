"""The office's pages: jobs, one job, tasks, search and devices; and the asking page, which the techs have too.

A route gathers what a page shows from the door; what is shown is worked out in the pure modules beside this one.
"""

from __future__ import annotations

import datetime
from typing import Annotated, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi.responses import HTMLResponse
from pydantic import AfterValidator

from api import office_words
from api.all_jobs import AllJobs
from api.attention import KINDS, chosen, first_things_first
from api.deps import Office, TheAssistant, TheHearing, Visitor, page, templates
from api.evidence import evidence_lines
from api.job_page import job_page
from api.office_data import all_jobs, finding_choices, heard_of, hits, job_choices, system_choices, unheard_of
from api.problems import Problem
from api.task_view import grouped, month
from assistant.errors import NoteError

routes = APIRouter(default_response_class=HTMLResponse)

templates.env.filters.update(office_words.FILTERS)
templates.env.globals.update(recording_stretch=office_words.recording_stretch)

_MOST_HITS = 50
_A_PAGE = 100  # jobs


def _a_day(iso: str) -> str:
    """An ISO date, or nothing. Raises ValueError."""
    return datetime.date.fromisoformat(iso).isoformat() if iso else ""


# Empty fields of a form are sent too, so that every filter may be the empty text.
Words = Annotated[str, Query(max_length=400)]
Day = Annotated[str, Query(max_length=10), AfterValidator(_a_day)]
Every = Annotated[AllJobs, Depends(all_jobs)]
Kind = Annotated[Literal["", *KINDS], Query()]


def _link(asked: dict[str, str], begin: int) -> str:
    filters = {name: value for name, value in asked.items() if value}
    return f"/office?{urlencode(filters | {'from': max(0, begin)})}"


def _today() -> str:
    return datetime.date.today().isoformat()


@routes.get("/office")
def jobs_page(
    request: Request,
    all_jobs: Every,
    who: Office,
    words: Words = "",
    since: Day = "",
    until: Day = "",
    system: Words = "",
    finding: Words = "",
    kind: Kind = "",
    begin: Annotated[int, Query(alias="from", ge=0)] = 0,
) -> Response:
    """Every job, those that need something first; a hundred at a time."""
    asked = {"words": words, "since": since, "until": until, "system": system, "finding": finding, "kind": kind}
    every = all_jobs.standings(_today())
    fitting = first_things_first(chosen(every, **asked))
    return page(
        request,
        "office.html",
        chosen=asked,
        filtered=any(asked.values()),
        standings=fitting[begin : begin + _A_PAGE],
        begin=begin,
        fitting=len(fitting),
        total=len(every),
        before=_link(asked, begin - _A_PAGE) if begin else "",
        after=_link(asked, begin + _A_PAGE) if begin + _A_PAGE < len(fitting) else "",
        systems=system_choices(every),
        findings=finding_choices(every),
        kinds=[(name, plural) for name, (_, plural) in KINDS.items()],
    )


@routes.get("/office/tasks")
def tasks_page(
    request: Request,
    assistant: TheAssistant,
    all_jobs: Every,
    who: Office,
    job: Words = "",
    month_chosen: Annotated[str, Query(alias="month", pattern=r"^(\d{4}-\d\d)?$")] = "",
) -> Response:
    """What is to be done, as a month and as a list."""
    today = _today()
    name = assistant.job_log(job).job.id if job else ""
    rows = all_jobs.tasks(today, name)
    of = month_chosen or today[:7]
    try:
        sheet = month(rows, of, today)
    except ValueError as err:
        raise Problem(422, f"{of} is no month.") from err
    return page(
        request,
        "tasks.html",
        chosen={"job": name},
        jobs=job_choices(all_jobs.standings(today), name),
        month_chosen=of,
        sheet=sheet,
        groups=grouped(rows),
    )


@routes.get("/office/search")
def search_page(
    request: Request,
    assistant: TheAssistant,
    all_jobs: Every,
    who: Office,
    words: Words = "",
    job: Words = "",
    since: Day = "",
    until: Day = "",
    system: Words = "",
    finding: Words = "",
) -> Response:
    """Everything said, by words, job, date, system and finding."""
    asked = {"words": words, "job": job, "since": since, "until": until, "system": system, "finding": finding}
    every = all_jobs.standings(_today())
    return page(
        request,
        "search.html",
        chosen=asked,
        asked=any(asked.values()),
        hits=hits(assistant, asked, _MOST_HITS) if any(asked.values()) else [],
        most=_MOST_HITS,
        jobs=job_choices(every, job),
        systems=system_choices(every),
        findings=finding_choices(every),
    )


@routes.get("/office/jobs/{job}")
def one_job_page(
    request: Request, assistant: TheAssistant, hearing: TheHearing, who: Office, job: str, trend: Words = ""
) -> Response:
    """One job, all of it."""
    history = assistant.job_history(job)
    name = assistant.job_log(job).job.id
    shown = job_page(name, history, heard_of(assistant, name, history), _today(), trend)
    return page(request, "office_job.html", waiting=unheard_of(assistant, hearing, name), **shown)


@routes.get("/devices")
def devices_page(request: Request, who: Office) -> Response:
    """Who may come in."""
    state = request.app.state
    fingerprint = state.certificate.fingerprint if state.certificate else ""
    return page(
        request,
        "devices.html",
        devices=state.devices.listed(),
        own=who.device,
        network=state.network is not None,
        fingerprint=fingerprint,
    )


@routes.get("/ask")
def asking_page(
    request: Request,
    assistant: TheAssistant,
    all_jobs: Every,
    who: Visitor,
    question: Annotated[str, Query(max_length=2000)] = "",
    job: Words = "",
) -> Response:
    """A question over all jobs or one, and its answer with what it rests on."""
    answer, problem = None, ""
    if question:
        try:
            answer = assistant.ask(question, job or None, by=who.name)
        except NoteError as err:
            problem = str(err)
    return page(
        request,
        "ask.html",
        question=question,
        job=job,
        jobs=job_choices(all_jobs.standings(_today()), job),
        answer=answer,
        problem=problem,
        evidence=evidence_lines(assistant, answer) if answer else [],
    )

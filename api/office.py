"""The office's pages: jobs, one job, tasks, search and devices; and the asking page, which the techs have too.

A route gathers what a page shows from the door; what is shown is worked out in the pure modules beside this one.
"""

from __future__ import annotations

import datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse
from pydantic import AfterValidator

from api import office_words
from api.attention import KINDS, chosen, first_things_first
from api.deps import Office, TheAssistant, TheHearing, Visitor, page, templates
from api.evidence import evidence_lines
from api.job_page import job_page
from api.office_data import finding_choices, heard_of, hits, standings, system_choices, unheard_of
from api.problems import Problem
from api.task_view import grouped, month, task_rows
from assistant.errors import NoteError

routes = APIRouter(default_response_class=HTMLResponse)

templates.env.filters.update(office_words.FILTERS)
templates.env.globals.update(recording_stretch=office_words.recording_stretch)

_MOST_HITS = 50


def _a_day(iso: str) -> str:
    """An ISO date, or nothing. Raises ValueError."""
    return datetime.date.fromisoformat(iso).isoformat() if iso else ""


# Empty fields of a form are sent too, so that every filter may be the empty text.
Words = Annotated[str, Query(max_length=400)]
Day = Annotated[str, Query(max_length=10), AfterValidator(_a_day)]
Kind = Annotated[Literal["", *KINDS], Query()]


def _today() -> str:
    return datetime.date.today().isoformat()


@routes.get("/office")
def jobs_page(
    request: Request,
    assistant: TheAssistant,
    who: Office,
    words: Words = "",
    since: Day = "",
    until: Day = "",
    system: Words = "",
    finding: Words = "",
    kind: Kind = "",
) -> Response:
    """Every job, those that need something first."""
    asked = {"words": words, "since": since, "until": until, "system": system, "finding": finding, "kind": kind}
    every = standings(assistant, _today())
    return page(
        request,
        "office.html",
        chosen=asked,
        filtered=any(asked.values()),
        standings=first_things_first(chosen(every, **asked)),
        total=len(every),
        systems=system_choices(every),
        findings=finding_choices(every),
        kinds=[(name, plural) for name, (_, plural) in KINDS.items()],
    )


@routes.get("/office/tasks")
def tasks_page(
    request: Request,
    assistant: TheAssistant,
    who: Office,
    job: Words = "",
    month_chosen: Annotated[str, Query(alias="month", pattern=r"^(\d{4}-\d\d)?$")] = "",
) -> Response:
    """What is to be done, as a month and as a list."""
    today = _today()
    names = [each["id"] for each in assistant.jobs()]
    rows = task_rows((assistant.job_log(name) for name in ([job] if job else names)), today)
    of = month_chosen or today[:7]
    try:
        sheet = month(rows, of, today)
    except ValueError as err:
        raise Problem(422, f"{of} is no month.") from err
    choices = [(name, name) for name in names]
    asked = {"job": job}
    return page(request, "tasks.html", chosen=asked, jobs=choices, month_chosen=of, sheet=sheet, groups=grouped(rows))


@routes.get("/office/search")
def search_page(
    request: Request,
    assistant: TheAssistant,
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
    every = standings(assistant, _today())
    return page(
        request,
        "search.html",
        chosen=asked,
        asked=any(asked.values()),
        hits=hits(assistant, asked, _MOST_HITS) if any(asked.values()) else [],
        most=_MOST_HITS,
        jobs=[(each.job, each.job) for each in every],
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
    request: Request, assistant: TheAssistant, who: Visitor, question: Annotated[str, Query(max_length=2000)] = "",
    job: Words = "",
) -> Response:  # fmt: skip
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
        jobs=[(each["id"], each["id"]) for each in assistant.jobs()],
        answer=answer,
        problem=problem,
        evidence=evidence_lines(assistant, answer) if answer else [],
    )

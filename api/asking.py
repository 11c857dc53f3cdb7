"""Asking in words, and searching in what was said."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse

from api.deps import TheAssistant, Visitor
from api.jobs import json_of
from api.models import Day, JobName, Question, Short, Words
from api.problems import answers
from assistant.records import plain

routes = APIRouter(tags=["asking"])


@routes.post("/ask", responses={**json_of("Answer"), **answers(404)})
def ask(asked: Question, assistant: TheAssistant, who: Visitor) -> JSONResponse:
    """The answer to a question about a job, or over all jobs, with the readings and notes it rests on."""
    return JSONResponse(plain(assistant.ask(asked.question, asked.job, by=who.name)))


@routes.get("/search", responses={**json_of("Hit", many=True), **answers(404)})
def search(
    assistant: TheAssistant,
    who: Visitor,
    words: Annotated[Words, Query(description="All of them must have been said.")] = "",
    job: JobName | None = None,
    since: Day | None = None,
    until: Day | None = None,
    system: Short | None = None,
    finding: Annotated[Short | None, Query(description="A concern's code.")] = None,
    limit: Annotated[int, Query(ge=1, le=200)] = 50,
) -> JSONResponse:
    """Notes in which something was said, the newest first."""
    hits = assistant.search(words, job=job, since=since, until=until, system=system, finding=finding, limit=limit)
    return JSONResponse(plain(hits))

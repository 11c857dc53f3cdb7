"""Jobs: the list, a job's log, what was corrected in it, and the tasks of all of them."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query
from fastapi.responses import JSONResponse

from api.deps import Office, TheAssistant, Visitor
from api.models import CorrectionWanted, JobInPath, JobLine, JobName, JobWanted, OpenedJob, TaskLine
from api.problems import Problem, answers
from assistant.log.store import job_key
from assistant.records import plain

routes = APIRouter(tags=["jobs"])


def json_of(schema: str, many: bool = False) -> dict[int | str, dict[str, Any]]:
    """For a route's `responses`: one of the contract's records, or a list of them."""
    one = {"$ref": f"#/components/schemas/{schema}"}
    return {200: {"content": {"application/json": {"schema": {"type": "array", "items": one} if many else one}}}}


@routes.get("/jobs", responses=answers(404))
def jobs(
    assistant: TheAssistant,
    who: Visitor,
    limit: Annotated[int, Query(ge=1, le=1000, description="At most so many.")] = 100,
    behind: Annotated[JobName | None, Query(description="Only what comes after that job: the next page.")] = None,
) -> list[JobLine]:
    """Jobs in a line, the one told last first, a page at a time. What is told meanwhile comes to the front."""
    return [JobLine(key=job_key(line["id"]), **line) for line in assistant.jobs(limit, behind)]


@routes.post("/jobs", status_code=201)
def open_job(asked: JobWanted, assistant: TheAssistant, who: Visitor) -> OpenedJob:
    """Go on with the job of that name, begun if there is none. The caller's notes belong to it from now on."""
    job = assistant.open_job(asked.name, by=who.name)
    return OpenedJob(job=job, key=job_key(job))


@routes.get("/jobs/{job}/log", responses={**json_of("JobLog"), **answers(404)})
def log(job: JobInPath, assistant: TheAssistant, who: Visitor) -> JSONResponse:
    """A job's whole log, as the contract has it."""
    return JSONResponse(assistant.log(job))


@routes.get("/jobs/{job}/corrections", responses={**json_of("Correction", many=True), **answers(404)})
def corrections(job: JobInPath, assistant: TheAssistant, who: Visitor) -> JSONResponse:
    """What was corrected, confirmed or discarded in a job, by whom and when, the oldest first."""
    return JSONResponse(plain(assistant.corrections(job)))


@routes.post(
    "/jobs/{job}/corrections",
    status_code=201,
    responses={
        201: {"content": {"application/json": {"schema": {"$ref": "#/components/schemas/JobLog"}}}},
        **answers(404, 409),
    },
)
def correct(job: JobInPath, asked: CorrectionWanted, assistant: TheAssistant, who: Office) -> JSONResponse:
    """Set a reading right. It is kept for ever with who and when; the original stays. Answers the log that follows."""
    log = assistant.job_log(job)
    if assistant.note_told(asked.note).job != log.job.id:
        raise Problem(404, f"Job {log.job.id!r} has no note {asked.note!r}.")
    assistant.correct(**asked.model_dump(), by=who.name)
    return JSONResponse(assistant.log(job), 201)


@routes.get("/tasks")
def tasks(
    assistant: TheAssistant,
    who: Visitor,
    status: Annotated[Literal["open", "done", "dropped"] | None, Query(description="All if none.")] = "open",
) -> list[TaskLine]:
    """The tasks of all jobs, the first due first; without a day last."""
    names = assistant.jobs_with_open_tasks() if status == "open" else [line["id"] for line in assistant.jobs()]
    found = [
        TaskLine(job=name, **task)
        for name in names
        for task in assistant.log(name)["tasks"]
        if status in (None, task["status"])
    ]
    return sorted(found, key=lambda task: task.due or "9999")

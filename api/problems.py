"""What goes wrong, as the caller gets it: application/problem+json (RFC 9457), the same everywhere.

Routes raise the program's own errors or a `Problem`; what each becomes stands in one table here.
"""

from __future__ import annotations

import logging
from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse, Response
from starlette.exceptions import HTTPException

from api.headers import headers_for
from assistant import errors

MEDIA_TYPE = "application/problem+json"
_reports = logging.getLogger("superheard")

# The nearest one counts, so an error without a row of its own is told as its parent is.
STATUS: dict[type[errors.AssistantError], int] = {
    errors.NoSuchJob: 404,
    errors.NoSuchNote: 404,
    errors.NoSuchSystem: 404,
    errors.NoSuchAttachment: 404,
    errors.AttachmentError: 415,
    errors.NoteConflict: 409,
    errors.MissingReadings: 409,  # what is asked for is right; the job is not so far yet
    errors.NoteError: 422,
    errors.RecordingError: 422,
    errors.ModelError: 503,
    errors.StoreError: 503,
    errors.AssistantError: 422,
}

# Why each answer is given, for the description of the interface.
MEANING: dict[int, str] = {
    400: "The body cannot be read as what it says it is.",
    401: "No token, or one that is unknown or was revoked. Pair the device.",
    403: "Not for this role, or not from this page: another site asked, or the header of our own pages is missing.",
    404: "There is no such thing.",
    408: "The body came too slowly.",
    409: "It does not go with what is kept: the same id with other content, or readings that were not said yet.",
    413: "The body is larger than is taken here.",
    415: "The content is no recording, or no photo, of a kind that is taken.",
    416: "The recording has no such range.",
    421: "Asked for by a name or address that this server does not go by.",
    422: "Understood, and not usable as it is; `detail` says what is wrong with it.",
    429: "Too many requests, or too many wrong guesses. `Retry-After` says when to try again.",
    503: "The store cannot be read or written just now, or the recogniser is missing. Try again later.",
}
ALWAYS = (400, 401, 403, 408, 413, 421, 422, 429, 503)  # what any route may answer

SCHEMA: dict[str, Any] = {
    "title": "Problem",
    "description": "What went wrong, after RFC 9457.",
    "type": "object",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {
            "type": "string",
            "description": "Names the kind of problem.",
            "example": "urn:superheard:problem:404",
        },
        "title": {"type": "string", "description": "The kind of problem in words."},
        "status": {"type": "integer", "description": "The HTTP status again."},
        "detail": {"type": "string", "description": "What is wrong in this case, fit to show."},
        "errors": {
            "type": "array",
            "description": "Which fields are wrong, where the request does not fit its description.",
            "items": {
                "type": "object",
                "required": ["where", "why"],
                "properties": {"where": {"type": "string"}, "why": {"type": "string"}},
            },
        },
    },
}


class Problem(HTTPException):
    """A refusal by the server itself, told in words."""

    def __init__(self, status: int, detail: str, headers: Mapping[str, str] | None = None):
        super().__init__(status, detail, dict(headers or {}))


def answers(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """For a route's `responses`: the problems it may answer with."""
    content = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
    return {status: {"description": MEANING[status], "content": content} for status in statuses}


def problem(status: int, detail: str, headers: Mapping[str, str] | None = None, **more: Any) -> JSONResponse:
    """The answer to a request that went wrong."""
    body = {"type": f"urn:superheard:problem:{status}", "title": HTTPStatus(status).phrase, "status": status}
    return JSONResponse({**body, "detail": detail, **more}, status, dict(headers or {}), MEDIA_TYPE)


def status_of(err: errors.AssistantError) -> int:
    return next(STATUS[kind] for kind in type(err).__mro__ if kind in STATUS)


def add_to(app: FastAPI) -> None:
    """Tell every error of the application in this form."""
    app.add_exception_handler(errors.AssistantError, _own_error)
    app.add_exception_handler(RequestValidationError, _does_not_fit)
    app.add_exception_handler(HTTPException, _refused)
    app.add_exception_handler(Exception, _unforeseen)


def _own_error(request: Request, err: errors.AssistantError) -> Response:
    status = status_of(err)
    if status >= 500:
        _reports.error("%s %s: %s", request.method, request.url.path, err)
    return _answer(request, status, str(err), {"retry-after": "10"} if status == 503 else None)


def _does_not_fit(request: Request, err: RequestValidationError) -> Response:
    wrong = [{"where": ".".join(map(str, each["loc"])), "why": each["msg"]} for each in err.errors()]
    detail = "; ".join(f"{each['where']}: {each['why']}" for each in wrong)
    status = 400 if any(each["type"] == "json_invalid" for each in err.errors()) else 422
    return _answer(request, status, detail, errors=wrong)


def _refused(request: Request, err: HTTPException) -> Response:
    if err.status_code == 401 and not _is_api(request):
        return RedirectResponse("/pair", 303)
    if isinstance(err.__cause__, OSError):  # no room for the body, so it is our fault and passes
        return _answer(request, 503, "There is no room for that just now. Try again later.", {"retry-after": "60"})
    return _answer(request, err.status_code, str(err.detail), err.headers)


def _unforeseen(request: Request, err: Exception) -> Response:
    """A fault of ours. The server reports it and goes on; the caller is not told what it was.

    This is answered outside of every guard, so the headers are put on here.
    """
    headers = headers_for(request.url.path)
    return _answer(request, 500, "That went wrong on our side and was written into the server's report.", headers)


def _answer(
    request: Request, status: int, detail: str, headers: Mapping[str, str] | None = None, **more: Any
) -> Response:
    """For a program as JSON; for somebody who is looking at a page, as a page."""
    if _is_api(request) or "text/html" not in request.headers.get("accept", ""):
        return problem(status, detail, headers, **more)
    from api.deps import templates

    values = {"status": status, "title": HTTPStatus(status).phrase, "detail": detail}
    return templates.TemplateResponse(request, "problem.html", values, status, dict(headers or {}))


def _is_api(request: Request) -> bool:
    return request.url.path.startswith("/api/")

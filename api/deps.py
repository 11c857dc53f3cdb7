"""What a route asks for: the assistant, who is asking, and the pages' templates.

@routes.get("/office")
def office_page(request: Request, assistant: TheAssistant, who: Office) -> Response:
    return page(request, "office.html", jobs=assistant.jobs())
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse
from fastapi.templating import Jinja2Templates
from starlette.requests import HTTPConnection

from assistant import Assistant

HERE = Path(__file__).parent
templates = Jinja2Templates(HERE / "templates")


@dataclass(frozen=True, slots=True)
class Who:
    """Who is asking."""

    name: str  # of the person or device; goes beside what it tells and corrects
    role: str  # tech | office


def the_assistant(connection: HTTPConnection) -> Assistant:
    return connection.app.state.assistant


def visitor(connection: HTTPConnection) -> Who:
    """Anybody who may come in at all."""
    return Who("this computer", "office")


def office(who: Annotated[Who, Depends(visitor)]) -> Who:
    """Somebody of the office."""
    return who


TheAssistant = Annotated[Assistant, Depends(the_assistant)]
Visitor = Annotated[Who, Depends(visitor)]
Office = Annotated[Who, Depends(office)]


def page(request: Request, template: str, **values: Any) -> HTMLResponse:
    """A page made from `template`; `who` is there in every one."""
    return templates.TemplateResponse(request, template, values)

"""What a route asks for: the assistant, who is asking, and the pages' templates.

    @routes.get("/office")
    def office_page(request: Request, assistant: TheAssistant, who: Office) -> Response:
        return page(request, "office.html", jobs=assistant.jobs())

Who is asking is found in one place, `visitor`. Every router but the open ones is included with it, so that a route
that says nothing about it is closed.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

from fastapi import Depends, Request, WebSocketException
from fastapi.responses import HTMLResponse
from fastapi.templating import Jinja2Templates
from starlette.requests import HTTPConnection

from api.access import CALENDAR, OFFICE, Device, Who
from api.problems import Problem
from api.work import Hearing
from assistant import Assistant

HERE = Path(__file__).parent
COOKIE = "__Host-superheard"  # the prefix makes the browser insist on HTTPS, this host and every path
SHOP = Who("this computer", OFFICE)  # whoever asks where only this machine can


def _who_in_pages(request: Request) -> dict[str, Any]:
    return {"who": getattr(request.state, "who", None)}


templates = Jinja2Templates(HERE / "templates", context_processors=[_who_in_pages])


def the_assistant(connection: HTTPConnection) -> Assistant:
    return connection.app.state.assistant


def the_hearing(connection: HTTPConnection) -> Hearing:
    return connection.app.state.hearing


async def visitor(connection: HTTPConnection) -> Who:
    """Anybody who may come in at all. Raises Problem 401, 429; closes a WebSocket before it opens."""
    try:
        connection.state.who = _who(connection)
    except Problem as err:
        if connection.scope["type"] == "websocket":
            raise WebSocketException(1008, str(err.detail)) from err
        raise
    return connection.state.who


async def office(who: Annotated[Who, Depends(visitor)]) -> Who:
    """Somebody of the office. Raises Problem 403."""
    if who.role != OFFICE:
        raise Problem(403, "Only the office may do that.")
    return who


TheAssistant = Annotated[Assistant, Depends(the_assistant)]
TheHearing = Annotated[Hearing, Depends(the_hearing)]
Visitor = Annotated[Who, Depends(visitor)]
Office = Annotated[Who, Depends(office)]


def page(request: Request, template: str, **values: Any) -> HTMLResponse:
    """A page made from `template`; `who` is there in every one."""
    return templates.TemplateResponse(request, template, values)


def device_of_token(connection: HTTPConnection, token: str) -> Device:
    """The device that token is of. Raises Problem: 401 for a wrong one, 429 after too many."""
    state, address = connection.app.state, address_of(connection)
    state.limits.may_guess(address)
    device = state.devices.of_token(token)
    if device is None:
        state.limits.guessed_wrong(address)
        raise _not_let_in("That token is unknown here, or was revoked. Pair the device again.")
    return device


def asker(connection: HTTPConnection) -> str:
    """Whose requests are counted together: a paired device's, else an address's."""
    token = _token(connection) if connection.app.state.network is not None else None
    device = connection.app.state.devices.of_token(token) if token else None
    return device.id if device else address_of(connection)


def address_of(connection: HTTPConnection) -> str:
    return connection.client.host if connection.client else ""


def _who(connection: HTTPConnection) -> Who:
    if connection.app.state.network is None:
        return SHOP
    token = _token(connection)
    if token is None:
        raise _not_let_in("Pair this device first.")
    device = device_of_token(connection, token)
    if device.role == CALENDAR:
        raise Problem(403, "That token is for the calendar alone.")
    return Who(device.name, device.role, device.id)


def _token(connection: HTTPConnection) -> str | None:
    kind, _, bearer = connection.headers.get("authorization", "").partition(" ")
    if kind.lower() == "bearer" and bearer:
        return bearer.strip()
    return connection.cookies.get(COOKIE)


def _not_let_in(detail: str) -> Problem:
    return Problem(401, detail, {"www-authenticate": "Bearer"})

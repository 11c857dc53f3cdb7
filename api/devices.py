"""Pairing a phone, the devices that are paired, and the link for a calendar."""

from __future__ import annotations

import io
from datetime import datetime, timedelta
from typing import Annotated

import segno
from fastapi import APIRouter, Path, Request, Response

from api.access import CALENDAR, CODE_MINUTES, OFFICE
from api.deps import COOKIE, Office, Visitor, address_of
from api.models import CalendarLink, Code, CodeWanted, DeviceLine, Health, Me, Paired, Pairing
from api.problems import Problem, answers
from assistant import __version__

open_routes = APIRouter(tags=["devices"])  # for anybody who reaches the server
routes = APIRouter(tags=["devices"])

DeviceId = Annotated[str, Path(pattern=r"^[0-9a-f]{16}$")]


@open_routes.get("/health")
def health() -> Health:
    """Whether the server is up."""
    return Health(version=__version__)


@open_routes.post("/pair", status_code=201)
def pair(asked: Pairing, request: Request, response: Response) -> Paired:
    """Let a device in with a code that the office, or the terminal, shows. The code works once."""
    state, address = request.app.state, address_of(request)
    state.limits.may_guess(address)
    role = state.codes.use(asked.code)
    if role is None:
        state.limits.guessed_wrong(address)
        raise Problem(403, "That code is wrong, was used, or has ended. The office can show a new one.")
    device, token = state.devices.add(asked.name, role)
    if asked.keep == "cookie":
        age_s = int(timedelta(days=state.settings.device_days).total_seconds())
        response.set_cookie(COOKIE, token, max_age=age_s, secure=True, httponly=True, samesite="strict")
    return Paired(id=device.id, name=device.name, role=role, token=token if asked.keep == "token" else None)


@open_routes.get(
    "/authority.crt",
    response_class=Response,
    responses={200: {"content": {"application/x-x509-ca-cert": {}}}, **answers(404)},
)
def authority(request: Request) -> Response:
    """The certificate that a phone installs so as to trust this server; there is one where it serves the network."""
    certificate = request.app.state.certificate
    if certificate is None:
        raise Problem(404, "This server is on its own machine alone and has no certificate.")
    return Response(certificate.authority.read_bytes(), media_type="application/x-x509-ca-cert")


@routes.get("/me")
def me(who: Visitor) -> Me:
    """Who the server takes the caller for."""
    return Me(name=who.name, role=who.role, device=who.device)


@routes.get("/devices")
def devices(request: Request, who: Office) -> list[DeviceLine]:
    """Every device that may come in, the one paired last first."""
    listed = request.app.state.devices.listed()
    return [
        DeviceLine(
            id=each.id,
            name=each.name,
            role=each.role,
            made_at=each.made_at,
            seen_at=each.seen_at,
            this=each.id == who.device,
        )
        for each in listed
    ]


@routes.post("/devices/codes", status_code=201, responses=answers(409))
def code(asked: CodeWanted, request: Request, who: Office) -> Code:
    """A code to pair one device with, for ten minutes."""
    return make_code(request, asked.role)


@routes.delete("/devices/{device}", status_code=204, responses=answers(404))
def revoke(device: DeviceId, request: Request, response: Response, who: Visitor) -> None:
    """Let a device in no more, from this moment. The office may do it to any, a tech to the own one."""
    if who.role != OFFICE and who.device != device:
        raise Problem(403, "Only the office may do that to another's device.")
    if not request.app.state.devices.revoke(device):
        raise Problem(404, "There is no such device, or it was revoked before.")
    if who.device == device:
        response.delete_cookie(COOKIE, secure=True, httponly=True, samesite="strict")


@routes.post("/calendar", status_code=201)
def calendar_link(request: Request, who: Office) -> CalendarLink:
    """A link that a calendar program reads the tasks from. It reads nothing else and is taken back as a device is."""
    device, token = request.app.state.devices.add(f"{who.name}'s calendar", CALENDAR)
    return CalendarLink(id=device.id, address=f"{_base(request)}/api/v1/calendar.ics?token={token}")


def make_code(request: Request, role: str) -> Code:
    """A pairing code with its address and picture. Raises Problem 409 where no phone could reach the server."""
    if request.app.state.certificate is None:
        raise Problem(409, "Phones can be paired while it serves the network: superheard serve --lan")
    made = request.app.state.codes.make(role)
    ends = datetime.now().astimezone() + timedelta(minutes=CODE_MINUTES)
    address = pairing_address(_base(request), made)
    return Code(code=made, role=role, ends_at=ends, address=address, qr_svg=qr_svg(address))


def pairing_address(base: str, code: str) -> str:
    """What a phone opens. Behind the # nothing is sent, so a code is in no log of the network's."""
    return f"{base}/pair#{code}"


def qr_svg(address: str) -> str:
    """The address as a picture, dark on light whatever the page's colours: that is what cameras read."""
    drawn = io.BytesIO()
    segno.make(address, error="m", micro=False).save(drawn, kind="svg", light="#fff", xmldecl=False, omitsize=True)
    return drawn.getvalue().decode()


def _base(request: Request) -> str:
    """This server's address for another machine: the name it was asked by, unless only this machine can say that."""
    certificate = request.app.state.certificate
    if certificate is None:
        return str(request.base_url).rstrip("/")
    asked, port = request.url.hostname, request.url.port
    host = certificate.hosts[0] if asked in ("localhost", "127.0.0.1", "::1") else asked
    return f"https://{f'[{host}]' if ':' in host else host}{f':{port}' if port else ''}"

"""The running server: sockets, HTTPS, what the terminal says at the start, and a clean end."""

from __future__ import annotations

import asyncio
import errno
import io
import socket
from collections.abc import Callable
from pathlib import Path

import segno
import uvicorn
from fastapi import FastAPI

from api.access import CODE_MINUTES, OFFICE, TECH
from api.certificate import Certificate, certificate_for, local_hosts
from api.devices import pairing_address
from api.slow_heads import HeadInTime
from assistant.errors import SettingsError

_GRACE_S = 5  # for answers that are on their way when it stops
_LARGEST_MESSAGE = 128 * 1024  # bytes of one WebSocket message
_MOST_CONNECTIONS = 2000
# Between two requests. A caller that sends its next just as the connection is closed has to send it again; after five
# seconds, as is usual, three of 1,200 notes of busy phones met that.
_KEEP_ALIVE_S = 75
_RENEWAL_S = 24 * 3600.0  # between two looks at the certificate's end


class Serving(uvicorn.Server):
    """A server that says when it is ready, renews its certificate while it runs, and first stops what is long."""

    def __init__(self, app: FastAPI, certificate: Certificate | None, ready: Callable[[], None]):
        self._app, self._certificate, self._ready = app, certificate, ready
        self._renewal: asyncio.Task | None = None
        super().__init__(
            uvicorn.Config(
                app,
                http=HeadInTime,
                ssl_certfile=certificate and certificate.certificate,
                ssl_keyfile=certificate and certificate.key,
                log_level="warning",
                access_log=False,  # a calendar's link has its token in it
                proxy_headers=False,  # nobody may say for another where it comes from
                server_header=False,
                ws_max_size=_LARGEST_MESSAGE,
                ws_per_message_deflate=False,
                limit_concurrency=_MOST_CONNECTIONS,
                timeout_keep_alive=_KEEP_ALIVE_S,
                timeout_graceful_shutdown=_GRACE_S,
            )
        )

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self._certificate:
            self._renewal = asyncio.create_task(self._renew())
        self._ready()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        if self._renewal:
            self._renewal.cancel()
        self._app.state.hearing.stop()  # ends the streams that wait for it, too
        await super().shutdown(sockets)

    async def _renew(self) -> None:
        while True:
            await asyncio.sleep(_RENEWAL_S)
            kept = self._certificate
            await asyncio.to_thread(certificate_for, kept.hosts, kept.certificate.parent)
            self.config.ssl.load_cert_chain(kept.certificate, kept.key)  # for connections from now on


def sockets_at(port: int, to_the_network: bool) -> list[socket.socket]:
    """Sockets to listen on: of loopback, or of every network of this machine. Raises SettingsError."""
    places = (
        [(socket.AF_INET, "0.0.0.0"), (socket.AF_INET6, "::")] if to_the_network else [(socket.AF_INET, "127.0.0.1")]
    )
    opened: list[socket.socket] = []
    for family, address in places:
        try:
            opened.append(_socket_at(family, address, opened[0].getsockname()[1] if opened else port))
        except OSError as err:
            if opened and err.errno in (errno.EAFNOSUPPORT, errno.EADDRNOTAVAIL):
                continue  # a machine without the newer addresses
            raise SettingsError(f"Port {port} cannot be used ({err.strerror}); choose another with --port.") from err
    return opened


def _socket_at(family: socket.AddressFamily, address: str, port: int) -> socket.socket:
    # Named as TCP, because asyncio sends at once only on sockets that are; on others each answer waits 40 ms.
    listening = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        if family == socket.AF_INET6:
            listening.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_V6ONLY, 1)
        listening.bind((address, port))
    except BaseException:
        listening.close()
        raise
    listening.set_inheritable(True)
    return listening


def network_certificate(home: Path) -> Certificate:
    """The certificate for this machine's local networks. Raises StoreError."""
    return certificate_for(local_hosts(), home / "certificate")


def greeting(app: FastAPI, port: int, with_picture: bool) -> str:
    """What the terminal says when the server is ready."""
    certificate: Certificate | None = app.state.certificate
    if certificate is None:
        return f"superheard is at http://localhost:{port} for this machine alone. Stop it with Ctrl+C."
    places = [f"https://{_in_address(host)}:{port}" for host in certificate.hosts if host not in ("127.0.0.1", "::1")]
    lines = ["superheard is served to the network at", *(f"  {place}" for place in places), ""]
    if not any(device.role == OFFICE for device in app.state.devices.listed()):
        office = pairing_address(f"https://localhost:{port}", app.state.codes.make(OFFICE))
        lines += ["No office is paired yet. On this machine, open", f"  {office}", ""]
    phone = pairing_address(places[0], app.state.codes.make(TECH))
    lines += ["To pair a tech's phone, open this on it:", f"  {phone}", *([_picture(phone)] if with_picture else [])]
    return "\n".join(
        [
            *lines,
            f"Each code works once, for {CODE_MINUTES} minutes; the office's page Devices makes more.",
            "",
            "A phone warns until it has installed the authority of this machine, from /api/v1/authority.crt.",
            f"Its SHA-256 must be {certificate.fingerprint}",
            "Stop it with Ctrl+C.",
        ]
    )


def _picture(address: str) -> str:
    drawn = io.StringIO()
    segno.make(address, error="m", micro=False).terminal(drawn, compact=True)
    return drawn.getvalue()


def _in_address(host: str) -> str:
    return f"[{host}]" if ":" in host else host

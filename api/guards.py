"""What stands before every route: who may be addressed, from where, how often, how much, and with what headers.

Each guard is one small ASGI wrapper; `stand_before` puts them in order. They hold for pages, the interface and
WebSockets alike, so that no route can forget one.
"""

from __future__ import annotations

import asyncio
import ipaddress
import math
import re
import time
from collections.abc import Callable, Collection
from urllib.parse import urlsplit

from fastapi import FastAPI
from limits import RateLimitItem, RateLimitItemPerMinute
from limits.storage import MemoryStorage
from limits.strategies import FixedWindowRateLimiter
from starlette.datastructures import Headers
from starlette.requests import HTTPConnection
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from api.headers import SafeHeaders
from api.problems import Problem, problem
from assistant.settings import Settings

# ---------------------------------------------------------------- limits

OWN_HEADER = "x-superheard"  # our own pages send it with every write; another site's page cannot
MEGABYTE = 1_000_000
_SMALL = 128_000  # bytes of a body that is no recording and no photo
_FORM = 64_000  # bytes of a form around its file
_QUESTION = 12 * MEGABYTE  # a minute of speech, as large as a browser makes it
_STALLED_S = 30.0  # between two pieces of a body
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
_GUESSES = RateLimitItemPerMinute(10)  # wrong tokens or codes from one address


class RateLimits:
    """How often each device, or each address, has asked in this minute. Raises Problem 429."""

    def __init__(self, per_minute: int):
        self._limiter = FixedWindowRateLimiter(MemoryStorage())
        self._all = RateLimitItemPerMinute(per_minute)

    def asked(self, who: str) -> None:
        """Count one request."""
        if not self._limiter.hit(self._all, "asked", who):
            raise self._too_many(self._all, "Too many requests.", "asked", who)

    def may_guess(self, address: str) -> None:
        """Whether that address has not been wrong too often."""
        if not self._limiter.test(_GUESSES, "guessed", address):
            raise self._too_many(_GUESSES, "Too many wrong guesses.", "guessed", address)

    def guessed_wrong(self, address: str) -> None:
        self._limiter.hit(_GUESSES, "guessed", address)

    def _too_many(self, item: RateLimitItem, says: str, *key: str) -> Problem:
        wait_s = max(1, math.ceil(self._limiter.get_window_stats(item, *key).reset_time - time.time()))
        return Problem(429, f"{says} Try again in {wait_s} seconds.", {"retry-after": str(wait_s)})


# ---------------------------------------------------------------- the guards


class Gate:
    """Refuses before anything is read what a check raises a Problem for: HTTP as problem+json, a WebSocket by 403."""

    def __init__(self, app: ASGIApp, check: Callable[[HTTPConnection], None]):
        self.app, self.check = app, check

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] in ("http", "websocket"):
            try:
                self.check(HTTPConnection(scope))
            except Problem as err:
                if scope["type"] == "websocket":
                    await send({"type": "websocket.close", "code": 1008, "reason": err.detail[:100]})
                else:
                    await problem(err.status_code, err.detail, err.headers)(scope, receive, send)
                return
        await self.app(scope, receive, send)


class BodyLimit:
    """Stops a body that is larger than its path takes, by what it says or as it comes, or that comes too slowly."""

    def __init__(self, app: ASGIApp, settings: Settings):
        self.app = app
        self._by_path = (
            (re.compile(r"/api/v1/notes/?"), int(settings.max_upload_mb * MEGABYTE) + _FORM),
            (re.compile(r"/api/v1/notes/[^/]+/photos/?"), int(settings.max_photo_mb * MEGABYTE) + _FORM),
            (re.compile(r"/api/v1/ask/words/?"), _QUESTION),
        )

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        most = next((most for path, most in self._by_path if path.fullmatch(scope["path"])), _SMALL)
        stated = Headers(scope=scope).get("content-length", "0")
        if not stated.isdigit() or int(stated) > most:
            # The body is on its way and is not wanted: the connection cannot be used again.
            await problem(413, _too_large(most), {"connection": "close"})(scope, receive, send)
            return
        await self.app(scope, _limited(receive, most), send)


def _limited(receive: Receive, most: int) -> Receive:
    came, whole = 0, False

    async def limited() -> Message:
        nonlocal came, whole
        if whole:  # from here on it only waits for the caller to leave
            return await receive()
        try:
            message = await asyncio.wait_for(receive(), _STALLED_S)
        except TimeoutError:
            raise Problem(
                408, f"No more of the body came for {_STALLED_S:g} seconds.", {"connection": "close"}
            ) from None
        came += len(message.get("body", b""))
        whole = not message.get("more_body", False)
        if came > most:
            raise Problem(413, _too_large(most), {"connection": "close"})
        return message

    return limited


def _too_large(most: int) -> str:
    return f"That is too large; at most {most / MEGABYTE:.4g} megabytes are taken here."


# ---------------------------------------------------------------- what the gates check


def is_addressed(network: Collection[str] | None) -> Callable[[HTTPConnection], None]:
    """Only a name or address of this server may be asked for.

    Without a network only loopback is one, and only this machine may ask. A page elsewhere that has its own name
    lead to this machine (rebinding) still asks for its own name, and is refused.
    """

    def check(connection: HTTPConnection) -> None:
        host = _host_of(f"//{connection.headers.get('host', '')}")
        if network is None:
            if not _is_loopback(connection.client.host if connection.client else ""):
                raise Problem(403, "This server answers to the machine it runs on, and to no other.")
            if host != "localhost" and not _is_loopback(host):
                raise Problem(421, "This server goes by localhost alone.")
        elif host not in network:
            raise Problem(421, "This server does not go by that name or address.")

    return check


def is_from_here(connection: HTTPConnection) -> None:
    """Only our own pages and programs may ask; a page of another site may at most link to us.

    A browser says where a request comes from (Origin, Sec-Fetch-Site) and a page cannot change that. Writes must
    carry our own header besides, unless they come with a token that no browser adds by itself, or from no browser.
    """
    headers = connection.headers
    is_read = connection.scope["type"] == "http" and connection.scope["method"] in _SAFE
    origin, site = headers.get("origin"), headers.get("sec-fetch-site")
    if origin is not None and origin.partition("://")[2].lower() != headers.get("host", "").lower():
        raise Problem(403, "Another site asked for that.")
    if site not in (None, "same-origin", "none") and not (is_read and headers.get("sec-fetch-mode") == "navigate"):
        raise Problem(403, "Another site asked for that.")
    if is_read or connection.scope["type"] == "websocket" or headers.get("authorization"):
        return
    from_a_browser = origin or site or headers.get("cookie")
    if from_a_browser and OWN_HEADER not in headers:
        raise Problem(403, f"A write from a page carries the header {OWN_HEADER}.")


def asks_at_measure(limits: RateLimits, asker: Callable[[HTTPConnection], str]) -> Callable[[HTTPConnection], None]:
    """Only so many requests a minute from one `asker`: a paired device, or an address."""

    def check(connection: HTTPConnection) -> None:
        if not connection.scope["path"].startswith("/static/"):
            limits.asked(asker(connection))

    return check


def stand_before(
    app: FastAPI,
    settings: Settings,
    network: Collection[str] | None,
    limits: RateLimits,
    asker: Callable[[HTTPConnection], str],
) -> None:
    """Put the guards before every route, the outermost last."""
    app.add_middleware(BodyLimit, settings=settings)
    app.add_middleware(Gate, check=is_from_here)
    app.add_middleware(Gate, check=asks_at_measure(limits, asker))
    app.add_middleware(Gate, check=is_addressed(network))
    app.add_middleware(SafeHeaders)


def _host_of(url: str) -> str:
    """The host in a URL, without its port; "" where there is none that can be read."""
    try:
        return urlsplit(url).hostname or ""
    except ValueError:
        return ""


def _is_loopback(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False

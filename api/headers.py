"""The headers on every answer, in one table."""

from __future__ import annotations

from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

# Scripts, styles, pictures and sound come from this server alone; nothing inline, nothing framed, no plug-in.
PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; media-src 'self' blob:; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)
# For what is no page: papers, drawings, recordings and photos. A drawing carries its own styles; nothing else runs.
FILE_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

HEADERS = {
    "content-security-policy": PAGE_POLICY,
    "x-content-type-options": "nosniff",  # a type is what we say it is
    "referrer-policy": "same-origin",  # an address here can name a customer
    "permissions-policy": "microphone=(self), camera=(), geolocation=(), payment=(), usb=()",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",  # no other site shows a photo or plays a recording from here
    "x-frame-options": "DENY",  # for browsers that do not know frame-ancestors
    "cache-control": "no-cache",  # kept if at all, and asked for again each time
}
API_HEADERS = {"content-security-policy": FILE_POLICY, "cache-control": "no-store"}  # where a route says nothing else


def headers_for(path: str) -> dict[str, str]:
    return HEADERS | API_HEADERS if path.startswith("/api/") else HEADERS


class SafeHeaders:
    """Puts the table's headers on every answer, whoever gave it."""

    def __init__(self, app: ASGIApp):
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in headers_for(scope["path"]).items():
                    headers.setdefault(name, value)
            await send(message)

        await self.app(scope, receive, with_headers if scope["type"] == "http" else send)

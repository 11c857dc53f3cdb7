"""Lets go of a connection whose next request never comes whole: a line of a header now and then holds it for ever.

The server's own limit is for silence between two requests, and ends with the first byte. Bodies are the guards' part.
"""

from __future__ import annotations

import asyncio

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S = 20.0  # from the connection, or the answer before, to the end of a request's header


class HeadInTime(H11Protocol):
    """HTTP/1.1, with a limit to how long a request's header may take."""

    _due: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._wait_for_a_head()

    def on_response_complete(self) -> None:
        super().on_response_complete()
        self._wait_for_a_head()

    def connection_lost(self, exc: Exception | None) -> None:
        super().connection_lost(exc)
        self._due.cancel()

    def _wait_for_a_head(self) -> None:
        if self._due:
            self._due.cancel()
        self._due = self.loop.call_later(HEAD_S, self._let_go)

    def _let_go(self) -> None:
        if self.conn.their_state is h11.IDLE and not self.transport.is_closing():
            self.transport.close()

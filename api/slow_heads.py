"""Lets go of a connection whose next request never comes whole: a line of a header now and then holds it for ever.

The server's own limit is for silence between two requests, and ends with the first byte. Bodies are the guards' part.
"""

from __future__ import annotations

import asyncio

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S = 20.0  # from the connection, or a header's first byte, to its end


class HeadInTime(H11Protocol):
    """HTTP/1.1, with a limit to how long a request's header may take."""

    _due: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._due = self.loop.call_later(HEAD_S, self._let_go)

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        if self._due is None and self._is_waiting:
            self._due = self.loop.call_later(HEAD_S, self._let_go)

    def on_response_complete(self) -> None:
        super().on_response_complete()
        self._forget()

    def connection_lost(self, exc: Exception | None) -> None:
        super().connection_lost(exc)
        self._forget()

    @property
    def _is_waiting(self) -> bool:
        return self.conn.their_state is h11.IDLE and not self.transport.is_closing()

    def _forget(self) -> None:
        if self._due:
            self._due.cancel()
        self._due = None

    def _let_go(self) -> None:
        if self._is_waiting:
            self.transport.close()

"""The server put together. START HERE: which module answers which path, and who may ask.

A router that is `open` answers anybody who reaches the server; every other is included with `visitor`, so that a
route that says nothing about it is closed. What only the office may do asks for `Office` itself.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncIterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager
from pathlib import Path

from anyio import CapacityLimiter
from fastapi import APIRouter, Depends, FastAPI
from fastapi.staticfiles import StaticFiles

from api import (
    asking,
    devices,
    exports,
    guards,
    jobs,
    listen,
    notes,
    office,
    openapi,
    phone,
    problems,
    progress,
    question_aloud,
)
from api.access import Codes, Devices
from api.certificate import Certificate
from api.deps import asker, visitor
from api.kept import Kept
from api.spoken import SpokenNotes
from api.work import Hearing
from assistant import Assistant, __version__
from assistant.errors import AssistantError
from assistant.hear.elsewhere import Elsewhere
from assistant.settings import Settings

V1 = "/api/v1"
OPEN: tuple[APIRouter, ...] = (devices.open_routes, exports.open_routes)
CLOSED: tuple[APIRouter, ...] = (
    notes.routes, progress.routes, jobs.routes, asking.routes, question_aloud.routes, exports.routes, devices.routes,
)  # fmt: skip
_DAY_S = 24 * 3600
_reports = logging.getLogger("superheard")
_DECODED_AT_ONCE = 4  # uploads; each can hold a whole recording in memory, unpacked


def create_app(
    settings: Settings,
    assistant: Assistant | None = None,
    certificate: Certificate | None = None,
    place: Elsewhere | None = None,
) -> FastAPI:
    """The application. Nothing is opened before it starts.

    settings     in force; `settings.home_folder()` keeps everything
    assistant    to use; None: one on the home folder, opened at the start and closed at the end
    certificate  it is served to the network with, and so under which names; None: to this machine alone
    place        where recordings are heard; None: one after another in this process
    """

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        state = app.state
        state.assistant = assistant or Assistant(settings.home_folder(), settings=settings, elsewhere=place)
        kept = Kept(state.assistant.home)
        state.devices = Devices(kept, settings.device_days)
        state.hearing = Hearing(state.assistant, kept, ThreadPoolExecutor(place.at_once if place else 1, "hearing"))
        state.uploads = CapacityLimiter(_DECODED_AT_ONCE)
        state.hearing.resume()
        state.spoken = SpokenNotes(state.assistant, kept, state.hearing)
        expiring = asyncio.create_task(_expire_daily(state.assistant))
        yield
        expiring.cancel()
        await state.spoken.close()
        state.hearing.close()
        kept.close()
        if assistant is None:
            state.assistant.close()

    app = FastAPI(
        title="superheard",
        version=__version__,
        description=openapi.DESCRIPTION,
        openapi_tags=openapi.TAGS,
        openapi_url=f"{V1}/openapi.json",
        docs_url=None,
        redoc_url=None,
        lifespan=lifespan,
    )
    app.state.settings, app.state.certificate = settings, certificate
    app.state.network = frozenset(certificate.hosts) if certificate else None
    app.state.codes, app.state.limits = Codes(), guards.RateLimits(settings.requests_per_minute)
    problems.add_to(app)
    guards.stand_before(app, settings, app.state.network, app.state.limits, asker)
    app.mount("/static", StaticFiles(directory=Path(__file__).parent / "static", check_dir=False), name="static")
    _include_routes(app)
    openapi.describe(app)
    return app


async def _expire_daily(assistant: Assistant) -> None:
    """Delete the recordings that are older than they are to be kept, now and every day."""
    while True:
        try:
            await asyncio.to_thread(assistant.expire, "serve")
        except AssistantError as err:
            _reports.error("Recordings could not be deleted by age, to be tried again tomorrow: %s", err)
        await asyncio.sleep(_DAY_S)


def _include_routes(app: FastAPI) -> None:
    closed = [Depends(visitor)]
    for routes in OPEN:
        app.include_router(routes, prefix=V1, responses=problems.answers(*problems.ALWAYS))
    for routes in CLOSED:
        app.include_router(routes, prefix=V1, responses=problems.answers(*problems.ALWAYS), dependencies=closed)
    app.include_router(listen.routes, prefix=V1, dependencies=closed)
    app.include_router(phone.open_routes, include_in_schema=False)
    for pages in (phone.routes, office.routes):
        app.include_router(pages, include_in_schema=False, dependencies=closed)

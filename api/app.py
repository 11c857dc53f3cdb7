"""The server put together. START HERE: which module answers which path, and who may ask."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import Depends, FastAPI
from fastapi.staticfiles import StaticFiles

from api import deps, listen, office, phone
from assistant import Assistant, __version__
from assistant.settings import Settings

V1 = "/api/v1"


def create_app(settings: Settings, assistant: Assistant | None = None) -> FastAPI:
    """The application. Nothing is opened before it starts.

    settings   in force; `settings.home_folder()` keeps everything
    assistant  to use; None: one on the home folder, opened at the start and closed at the end
    """

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        app.state.assistant = assistant or Assistant(settings.home_folder(), settings=settings)
        yield
        if assistant is None:
            app.state.assistant.close()

    app = FastAPI(title="superheard", version=__version__, lifespan=lifespan, docs_url=None, redoc_url=None)
    app.state.settings = settings
    app.mount("/static", StaticFiles(directory=deps.HERE / "static", check_dir=False), name="static")
    app.include_router(phone.open_routes, include_in_schema=False)
    for pages in (phone.routes, office.routes):
        app.include_router(pages, include_in_schema=False, dependencies=[Depends(deps.visitor)])
    app.include_router(listen.routes, prefix=V1, dependencies=[Depends(deps.visitor)])
    return app

"""The tech's phone page: its shell, which a phone keeps for when there is no signal, and one job as a piece of it."""

from __future__ import annotations

import datetime
import hashlib
import json
from functools import cache

from fastapi import APIRouter, Request, Response
from fastapi.responses import FileResponse, HTMLResponse

from api.deps import HERE, TheAssistant, Visitor, page
from api.phone_view import Photo, phone_job
from api.sound_and_pictures import SHOWN
from assistant import Assistant
from assistant.errors import NoSuchJob
from assistant.records import Job, JobLog

routes = APIRouter()  # for whoever has been let in
open_routes = APIRouter()  # for anybody who reaches the server: nothing of a job here

_SHELL_PAGES = {"/": "phone.html", "/pair": "pair.html", "/offline": "offline.html"}
_PHOTOS = 8  # of a job on its page
_STATIC = HERE / "static"


@routes.get("/", response_class=HTMLResponse)
def phone_page(request: Request) -> Response:
    """The page without anything of a job in it, so that a phone may keep it."""
    return page(request, "phone.html", here="job")


@routes.get("/phone/job", response_class=HTMLResponse)
def job_piece(request: Request, assistant: TheAssistant, who: Visitor, job: str | None = None) -> Response:
    """A job as a piece of the phone page: `job`, else the one this phone is on. A name nobody told of yet is empty."""
    name = job or assistant.current_job(by=who.name)
    log = None
    if name:
        try:
            log = assistant.job_log(name)
        except NoSuchJob:
            log = JobLog(Job(name))
    shown = phone_job(log, datetime.date.today().isoformat()) if log else None
    answer = page(request, "phone_job.html", job=shown, photos=_photos(assistant, log) if log else ())
    answer.headers["Cache-Control"] = "no-store"
    return answer


def _photos(assistant: Assistant, log: JobLog) -> list[Photo]:
    """The last photos of a job, the newest first."""
    if not log.visits:
        return []
    kept = assistant.attachments(log.job.id)[: -_PHOTOS - 1 : -1]
    return [Photo(each.sha256, each.media_type in SHOWN, _words(assistant, each.note)) for each in kept]


def _words(assistant: Assistant, note: str) -> str:
    told = assistant.transcript(note)
    return told.text if told else "not listened to yet"


@open_routes.get("/pair", response_class=HTMLResponse)
def pair_page(request: Request) -> Response:
    """Where a phone is let in with a code from the office."""
    return page(request, "pair.html", here="")


@open_routes.get("/offline", response_class=HTMLResponse)
def offline_page(request: Request) -> Response:
    """What a phone shows in place of a page that it cannot reach."""
    return page(request, "offline.html", here="")


@open_routes.get("/manifest.webmanifest")
def manifest() -> Response:
    return FileResponse(_STATIC / "phone/manifest.webmanifest", media_type="application/manifest+json")


@open_routes.get("/service-worker.js")
def service_worker() -> Response:
    """The service worker, with the list of what the phone keeps; another byte in any of it makes a new version."""
    shell, version = _shell()
    head = f"const SHELL = {json.dumps(shell)};\nconst VERSION = {json.dumps(version)};\n"
    code = (_STATIC / "phone/service-worker.js").read_text(encoding="utf-8")
    return Response(head + code, media_type="text/javascript", headers={"Cache-Control": "no-cache"})


@cache
def _shell() -> tuple[list[str], str]:
    """The paths that make the page without a signal, and a hash over what they give."""
    files = [_STATIC / "base.css", *sorted(file for file in (_STATIC / "phone").iterdir() if file.is_file())]
    kept = [file for file in files if file.name != "service-worker.js"]
    summed = hashlib.sha256()
    for file in (*files, *(HERE / "templates" / name for name in ("base.html", *_SHELL_PAGES.values()))):
        summed.update(f"{file.name}\0".encode() + file.read_bytes())
    paths = [f"/static/{file.relative_to(_STATIC).as_posix()}" for file in kept]
    return [*_SHELL_PAGES, "/manifest.webmanifest", *paths], summed.hexdigest()[:16]

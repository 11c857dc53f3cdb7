"""Telling notes: typed words, recordings, photos; and what became of them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date as Date
from pathlib import Path as FilePath
from typing import Annotated
from uuid import UUID

from anyio.to_thread import run_sync
from fastapi import APIRouter, File, Form, Path, Request, Response, UploadFile
from fastapi.responses import FileResponse

from api.deps import Office, TheAssistant, TheHearing, Visitor
from api.models import SHA256, AcceptedNote, Day, JobName, NoteInPath, NoteState, NoteText, Photo
from api.problems import Problem, answers
from api.sound_and_pictures import HEAD, MEDIA_TYPE, SHOWN, is_sound
from api.work import Hearing
from assistant import Assistant
from assistant.errors import StoreError
from assistant.records import plain
from assistant.telling import Accepted

routes = APIRouter(tags=["notes"])

_BINARY = {"schema": {"type": "string", "format": "binary"}}


@routes.post(
    "/notes",
    status_code=201,
    responses={200: {"model": AcceptedNote, "description": "It had been told before."}, **answers(409, 415)},
)
async def tell(
    request: Request,
    response: Response,
    assistant: TheAssistant,
    hearing: TheHearing,
    who: Visitor,
    audio: Annotated[UploadFile | None, File(description="A recording, of any common kind.")] = None,
    text: Annotated[NoteText | None, Form(description="Typed words, instead.")] = None,
    job: Annotated[
        JobName | None, Form(description="Begun if there is none; the caller's current one if none.")
    ] = None,
    date: Annotated[Day | None, Form(description="Of the visit; today if none.")] = None,
    client_id: Annotated[
        UUID | None, Form(description="Made by the caller: sent again with the same note, it is told once.")
    ] = None,
) -> AcceptedNote:
    """Tell a note: a recording or typed words. When this answers it is on the disk.

    Typed words are understood at once. A recording is heard in its turn: follow its progress, or look at it later.
    """
    accepted = await run_sync(
        _accept, assistant, audio, text, job, date, client_id, who.name, limiter=request.app.state.uploads
    )
    if not accepted.heard:
        hearing.add(accepted.note)
    response.status_code = 201 if accepted.new else 200
    return AcceptedNote(
        note=accepted.note,
        job=accepted.job,
        date=accepted.date,
        new=accepted.new,
        state="heard" if accepted.heard else "waiting",
    )


def _accept(
    assistant: Assistant,
    audio: UploadFile | None,
    text: str | None,
    job: str | None,
    date: Date | None,
    client_id: UUID | None,
    by: str,
) -> Accepted:
    """In a thread: reading, decoding and the disk take their time. No more at once than memory is there for."""
    raw = None
    if audio is not None:
        if not is_sound(audio.file.read(HEAD)):
            raise Problem(415, "That is no recording of a kind that is taken: wav, flac, mp3, m4a, ogg, webm and such.")
        audio.file.seek(0)
        raw = audio.file.read()
    return assistant.accept(text, audio=raw, job=job, date=date, client_id=client_id and str(client_id), by=by)


@routes.get("/notes/{note}", responses=answers(404))
def note(note: NoteInPath, assistant: TheAssistant, hearing: TheHearing, who: Visitor) -> NoteState:
    """One note: how far it is, and once it is heard its words, what it said and the answer to it."""
    return state_of(note, assistant, hearing)


def state_of(note: str, assistant: Assistant, hearing: Hearing) -> NoteState:
    """How far a note is. Raises NoSuchNote."""
    told = assistant.note_told(note)
    known = NoteState(
        note=note,
        job=told.job,
        date=told.date,
        received_at=told.received_at,
        state="heard" if told.is_heard else "waiting",
        recorded=told.recording is not None,
    )
    if told.is_heard:
        reply = assistant.reply_to(note)
        return known.model_copy(update={"said": reply.note["text"], "say": reply.say, "content": reply.note})
    far = hearing.state(note)
    if far.state == "heard":  # it was, between the two looks; or it waits for a program that is not this one
        return known
    return known.model_copy(
        update={"state": far.state, "what": far.what or None, "share": far.share, "reason": far.reason}
    )


@routes.post("/notes/{note}/hear", status_code=202, responses=answers(404))
def hear_again(note: NoteInPath, assistant: TheAssistant, hearing: TheHearing, who: Office) -> NoteState:
    """Try once more to hear a note that had been given up."""
    if not assistant.note_told(note).is_heard:
        hearing.again(note)
    return state_of(note, assistant, hearing)


@routes.get(
    "/notes/{note}/transcript",
    responses={
        200: {"content": {"application/json": {"schema": {"$ref": "#/components/schemas/Transcript"}}}},
        **answers(404),
    },
)
def transcript(note: NoteInPath, assistant: TheAssistant, who: Visitor) -> dict:
    """The words of a note, each with its times and how sure it is, and what was cut because it could not be trusted."""
    words = assistant.transcript(note)
    if words is None:
        raise Problem(404, "That note has not been heard yet.")
    return plain(words)


@routes.get(
    "/notes/{note}/recording",
    response_class=FileResponse,
    responses={200: {"content": {"audio/*": _BINARY}}, 206: {"description": "A piece of it."}, **answers(404, 416)},
)
def recording(note: NoteInPath, assistant: TheAssistant, who: Visitor) -> Response:
    """The recording as it was sent. Takes `Range`, so that a player can begin at any second."""
    if assistant.note_told(note).recording is None:
        raise Problem(404, "That note was typed; there is nothing to play.")
    path = _on_the_disk(assistant.recording_file, note)
    media_type = MEDIA_TYPE.get(path.suffix, "application/octet-stream")
    return FileResponse(
        path,
        media_type=media_type,
        filename=f"note-{note}{path.suffix}",
        content_disposition_type="inline" if path.suffix in MEDIA_TYPE else "attachment",
        headers=_KEPT_BY_THE_BROWSER,
    )


@routes.post("/notes/{note}/photos", status_code=201, responses=answers(404, 415))
async def attach(
    note: NoteInPath,
    photo: Annotated[UploadFile, File(description="JPEG, PNG, WebP or HEIC.")],
    request: Request,
    assistant: TheAssistant,
    who: Visitor,
) -> Photo:
    """A photo of a plate or gauge, kept with a note. It is shown, and not read."""

    def kept():
        return assistant.attach(note, photo.file.read(), who.name)

    made = await run_sync(kept, limiter=request.app.state.uploads)
    return Photo(sha256=made.sha256, note=note, media_type=made.media_type, bytes=made.bytes)


@routes.get(
    "/photos/{sha256}",
    response_class=FileResponse,
    responses={200: {"content": {"image/*": _BINARY}}, **answers(404)},
)
def photo(sha256: Annotated[str, Path(pattern=SHA256)], assistant: TheAssistant, who: Visitor) -> Response:
    """A photo as it was sent."""
    kept = assistant.attachment(sha256)
    return FileResponse(
        _on_the_disk(assistant.attachment_file, sha256),
        media_type=kept.media_type,
        filename=f"photo-{sha256[:12]}.{kept.media_type.partition('/')[2]}",
        content_disposition_type="inline" if kept.media_type in SHOWN else "attachment",
        headers=_KEPT_BY_THE_BROWSER,
    )


def _on_the_disk(find: Callable[[str], FilePath], what: str) -> FilePath:
    """A file that is kept; one that was deleted by age, or by hand, is not found, now or later."""
    try:
        return find(what)
    except StoreError as err:
        raise Problem(404, str(err)) from err


# Under its hash or its note's id a file never changes.
_KEPT_BY_THE_BROWSER = {"cache-control": "private, max-age=31536000, immutable"}

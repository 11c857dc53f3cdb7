"""How a note is coming along, as server-sent events."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import aclosing

from anyio.to_thread import run_sync
from fastapi import APIRouter, Depends
from fastapi.sse import EventSourceResponse, ServerSentEvent

from api.deps import TheAssistant, TheHearing, Visitor
from api.models import NoteInPath, NoteState, Progress
from api.notes import state_of
from api.problems import answers

routes = APIRouter(tags=["notes"])
_RETRY_MS = 3000  # how long a browser waits before it asks again after a broken connection


async def there_is(note: NoteInPath, assistant: TheAssistant) -> None:
    """Found out before the stream begins, because afterwards it is too late for a 404."""
    await run_sync(assistant.note_told, note)


@routes.get(
    "/notes/{note}/progress",
    response_class=EventSourceResponse,
    dependencies=[Depends(there_is)],
    responses=answers(404),
)
async def progress(
    note: NoteInPath, assistant: TheAssistant, hearing: TheHearing, who: Visitor
) -> AsyncIterator[ServerSentEvent]:
    """Events until the note is heard: any number of `progress`, then `done` with the answer, or `failed` with why."""
    if not (await run_sync(assistant.note_told, note)).is_heard:
        hearing.add(note)  # in case it was accepted by another program on the same store
    async with aclosing(hearing.follow(note)) as states:
        async for state in states:
            if state.state not in ("heard", "failed"):
                yield _event("progress", Progress(note=note, state=state.state, what=state.what, share=state.share))
    now = await run_sync(state_of, note, assistant, hearing)
    if now.state in ("heard", "failed"):
        yield _event("done" if now.state == "heard" else "failed", _as_progress(now))


def _as_progress(now: NoteState) -> Progress:
    share = 1.0 if now.state == "heard" else 0.0
    return Progress(note=now.note, state=now.state, share=share, say=now.say, said=now.said, reason=now.reason)


def _event(name: str, progress: Progress) -> ServerSentEvent:
    return ServerSentEvent(event=name, data=progress, retry=_RETRY_MS)

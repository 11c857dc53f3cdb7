"""A question that was asked aloud: its words, so that it can be asked like any other. No note is made of it."""

from __future__ import annotations

from typing import Annotated

from anyio.to_thread import run_sync
from fastapi import APIRouter, File, Request, UploadFile
from pydantic import BaseModel, Field

from api.deps import TheAssistant, Visitor
from api.problems import Problem, answers
from api.sound_and_pictures import HEAD, is_sound
from assistant import Assistant

routes = APIRouter(tags=["asking"])

LONGEST_S = 60.0  # of a question


class QuestionWords(BaseModel):
    text: str = Field(description="As they were heard; empty where nobody spoke, or nothing could be trusted.")


@routes.post("/ask/words", responses=answers(415))
async def words_of_a_question(
    audio: Annotated[UploadFile, File(description="A short recording, of any common kind.")],
    request: Request,
    assistant: TheAssistant,
    who: Visitor,
) -> QuestionWords:
    """The words of a spoken question. The recording is not kept."""
    raw = await audio.read()
    if not is_sound(raw[:HEAD]):
        raise Problem(415, "That is no recording of a kind that is taken: wav, flac, mp3, m4a, ogg, webm and such.")
    text = await run_sync(_heard, assistant, raw, limiter=request.app.state.uploads)
    return QuestionWords(text=text)


def _heard(assistant: Assistant, raw: bytes) -> str:
    from assistant.hear.recording import read_recording  # slow to load, and most questions are typed
    from assistant.hear.transcript import transcribe

    recording = read_recording(raw, longest_s=LONGEST_S)
    with assistant.ears() as ears:
        return transcribe(recording, ears).text

"""One connection of /api/v1/listen: what its client says, and what it is told. The agreement is in api/listen.py."""

from __future__ import annotations

import asyncio
import json
from contextlib import suppress
from typing import Annotated, Any, Literal
from uuid import UUID

from fastapi import WebSocket, WebSocketException
from pydantic import Field, TypeAdapter, ValidationError
from starlette.websockets import WebSocketDisconnect

from api.access import Who
from api.deps import visitor
from api.models import Day, Given, JobName
from api.spoken import Begins, Spoken, SpokenNotes, answer_to
from assistant.errors import AssistantError

RATE = 16_000
MOST_BYTES = 65_536  # of a binary message
MOST_TEXT = 4_096  # characters of a text message
HELD_BYTES = 10 * RATE * 2  # of sound between two notes
MOST_FAULTS = 50  # messages that are not understood, before the connection is closed
IDLE_S = 600.0
SLOW_S = 20.0  # that a client may take to read
_MOST_UNREAD = 256  # messages

_GOING_AWAY, _POLICY, _TRY_LATER = 1001, 1008, 1013  # as RFC 6455 and its registry have them


class Start(Given):
    kind: Literal["start"]
    client_id: UUID
    mode: Literal["hands_free", "push_to_talk"]
    rate: int = RATE
    job: JobName | None = None
    date: Day | None = None
    end_pause_s: float | None = Field(default=None, ge=0.4, le=10)


class Told(Given):
    kind: Literal["done", "speaking", "spoken", "stop"]


_message = TypeAdapter(Annotated[Start | Told, Field(discriminator="kind")])


class Connection:
    """What goes on between one client and its notes."""

    def __init__(self, socket: WebSocket, who: Who, notes: SpokenNotes, end_pause_s: float):
        self._socket, self._who, self._notes, self._end_pause_s = socket, who, notes, end_pause_s
        self._note: Spoken | None = None  # the one that is open, or was last
        self._mine: set[Spoken] = set()  # every note that is told of over this connection
        self._held = bytearray()  # sound behind the end of the last note
        self._deaf = False  # while the client speaks itself
        self._between = False  # whether there was a note before, so that sound is held
        self._faults = 0
        self._unsent: asyncio.Queue[dict[str, Any] | None] = asyncio.Queue(_MOST_UNREAD)
        self._over = asyncio.Event()
        self._code = 1000

    # ------------------------------------------------------------ both directions

    async def run(self) -> None:
        """Until either side is gone, or the last note after `stop` is answered."""
        sending = asyncio.create_task(self._send())
        reading = asyncio.create_task(self._read())
        over = asyncio.create_task(self._over.wait())
        try:
            # Not until sending ends: what was received before the client went is still to be read.
            await asyncio.wait((reading, over), return_when=asyncio.FIRST_COMPLETED)
        finally:
            for note in self._mine:
                if note.say == self._say:
                    note.leave()
            reading.cancel()
            over.cancel()
            with suppress(asyncio.QueueFull):
                self._unsent.put_nowait(None)
            with suppress(Exception):
                await asyncio.wait_for(sending, SLOW_S)
            with suppress(Exception):  # it may be gone already
                await asyncio.wait_for(self._socket.close(self._code), SLOW_S)

    def _say(self, message: dict[str, Any]) -> None:
        try:
            self._unsent.put_nowait(message)
        except asyncio.QueueFull:
            self._end(_POLICY)
        if message.get("fatal"):
            self._end(_POLICY)

    def _end(self, code: int) -> None:
        self._code = code
        self._over.set()

    async def _send(self) -> None:
        with suppress(WebSocketDisconnect, RuntimeError):
            while (message := await self._unsent.get()) is not None:
                try:
                    await asyncio.wait_for(self._socket.send_text(json.dumps(message)), SLOW_S)
                except TimeoutError:
                    self._end(_POLICY)
                    return

    async def _read(self) -> None:
        while not self._over.is_set():
            try:
                message = await asyncio.wait_for(self._socket.receive(), IDLE_S)
            except TimeoutError:
                self._problem("idle", "Neither sound nor a message for 10 minutes.", _GOING_AWAY)
                return
            if message["type"] == "websocket.disconnect":
                return
            if message.get("bytes") is not None:
                await self._sound(message["bytes"])
            else:
                await self._told(message.get("text") or "")

    def _problem(self, problem: str, detail: str, code: int | None = None, client_id: str | None = None) -> None:
        """Say that something is wrong; with a `code` that closes the connection."""
        client_id = client_id or (self._note.begins.client_id if self._note else None)
        told = {"kind": "problem", "client_id": client_id, "problem": problem, "detail": detail}
        self._say({**told, "fatal": code is not None})
        if code is not None:
            self._code = code

    def _fault(self, problem: str, detail: str) -> None:
        self._faults += 1
        self._problem(problem, detail, _POLICY if self._faults > MOST_FAULTS else None)

    # ------------------------------------------------------------ sound

    async def _sound(self, pcm: bytes) -> None:
        if len(pcm) % 2 or len(pcm) > MOST_BYTES:
            self._fault("bad_sound", f"Sound comes as whole 16-bit samples, at most {MOST_BYTES} bytes at once.")
        elif self._deaf:
            return
        elif self._is_open:
            rest = await self._note.feed(pcm)
            if rest is not None:
                self._hold(rest)
        elif self._between:
            self._hold(pcm)
        else:
            self._fault("not_started", "Say `start` before there is any sound.")

    def _hold(self, pcm: bytes) -> None:
        self._held += pcm[: HELD_BYTES - len(self._held)]

    @property
    def _is_open(self) -> bool:
        return self._note is not None and self._note.live.ended is None

    # ------------------------------------------------------------ messages

    async def _told(self, text: str) -> None:
        if len(text) > MOST_TEXT:
            self._fault("not_understood", f"A message has at most {MOST_TEXT} characters.")
            return
        try:
            message = _message.validate_json(text)
        except ValidationError as err:
            first = err.errors()[0]
            where = ".".join(map(str, first["loc"][1:]))
            self._fault("not_understood", f"{where}: {first['msg']}" if where else first["msg"])
            return
        if isinstance(message, Start):
            await self._start(message)
        elif message.kind in ("speaking", "spoken"):
            self._deaf = message.kind == "speaking"
        elif message.kind == "done":
            if self._is_open:
                self._note.end("done")
            elif not self._between:
                self._fault("not_started", "There is no note to be done with.")
        else:
            await self._stop()

    async def _start(self, start: Start) -> None:
        client_id = str(start.client_id)
        if start.rate != RATE:
            self._fault("bad_sound", f"Sound comes at {RATE} samples a second.")
            return
        try:
            self._who = await visitor(self._socket)  # the device may have been revoked since
        except WebSocketException as err:
            self._problem("not_let_in", err.reason, _POLICY, client_id)
            return
        if self._is_open and self._note.begins.client_id != client_id:
            if not self._note.live.is_empty:
                self._fault("still_open", "Another note is open; say `done` first.")
                return
            self._note.end("nothing")  # nobody has spoken yet: another job was chosen, say
        await self._go_on(start, client_id)

    async def _go_on(self, start: Start, client_id: str) -> None:
        """Begin a note, or take up one that was begun before, wherever it has got to."""
        found = self._notes.find(self._who, client_id)
        if found is None and (told := await asyncio.to_thread(self._notes.told, self._who, client_id)):
            await self._again(client_id, *told, start.mode == "hands_free")
            return
        if found is None and self._notes.is_full:
            self._problem("too_many", "Too many notes are being spoken. Try again later.", _TRY_LATER, client_id)
            return
        pause_s = start.end_pause_s or self._end_pause_s
        if found is None:
            begins = Begins(client_id, start.mode == "hands_free", pause_s, start.job, start.date)
            found = self._notes.begin(begins, self._who)
        elif found.say != self._say:
            told = {"kind": "problem", "client_id": client_id, "problem": "elsewhere", "fatal": True}
            found.say({**told, "detail": "The note went on over another connection."})
            self._held.clear()
        self._mine.add(found)
        found.answered.add_done_callback(lambda _: self._mine.discard(found))
        found.come_back(self._say)
        if found.live.ended:
            for earlier in filter(None, (found.ended, found.kept)):
                self._say(earlier)
            return
        self._note, self._between = found, True
        received = found.live.received + len(self._held) // 2
        found.tell("listening", received=received, end_pause_s=found.begins.end_pause_s)
        held, self._held = bytes(self._held), bytearray()
        if held:
            await self._sound(held[:MOST_BYTES])
            for at in range(MOST_BYTES, len(held), MOST_BYTES):
                await self._sound(held[at : at + MOST_BYTES])

    async def _again(self, client_id: str, note: str, samples: int, hands_free: bool) -> None:
        """Say once more what became of a note that was told already."""
        assistant = self._notes.assistant
        try:
            told = await asyncio.to_thread(assistant.note_told, note)
        except AssistantError as err:
            self._problem("conflict", str(err), client_id=client_id)
            return
        about = {"client_id": client_id, "note": note, "job": told.job, "date": told.date}
        self._say({"kind": "speech_ended", "client_id": client_id, "samples": samples, "why": "broken"})
        self._say({"kind": "kept", **about, "new": False, "samples": samples})
        if told.is_heard:
            answer = await asyncio.to_thread(answer_to, assistant, note, hands_free)
            self._say({"kind": "answer", "client_id": client_id, **answer})
        else:
            self._problem("not_heard", "It is kept, and will be heard later.", client_id=client_id)

    async def _stop(self) -> None:
        """What has been said is a note; once everything is answered the connection closes."""
        if self._is_open:
            self._note.end("done")
        mine = [note.answered for note in self._mine]
        if mine:
            await asyncio.wait(mine)
        self._end(1000)

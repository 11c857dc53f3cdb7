"""Notes that are being spoken: each is heard as it comes, kept once it is over, and answered.

A note here outlives its connection. It is durable when `kept` is said; until then its client holds the sound as well.
"""

from __future__ import annotations

import asyncio
import functools
import logging
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from typing import Any

from api.access import Who
from api.kept import Kept
from api.work import Hearing
from assistant import Assistant
from assistant.converse import for_the_ear
from assistant.errors import AssistantError, ModelError, NoteConflict
from assistant.hear.desk import Desk, HearsWindow, Pressing
from assistant.hear.gates import Heard
from assistant.hear.live import Began, Ended, LiveNote
from assistant.hear.windows import Window

GRACE_S = 30.0  # that a note waits for its client to come back
MOST_OPEN = 64  # notes at once; each is at most 10 minutes of sound, 19 MB
MOST_UNDECODED_S = 60.0  # of settled speech, before a sender is read more slowly

Say = Callable[[dict[str, Any]], None]
_reports = logging.getLogger("superheard")


@dataclass(frozen=True, slots=True)
class Begins:
    """What a client says of a note that it begins."""

    client_id: str
    hands_free: bool
    end_pause_s: float
    job: str | None = None
    date: date | None = None


class Spoken:
    """One note, from its first sample to its answer.

    say  tells its client; does nothing while there is none
    """

    def __init__(self, begins: Begins, who: Who, notes: SpokenNotes):
        self.begins, self.who, self._notes = begins, who, notes
        self.live = LiveNote(begins.end_pause_s if begins.hands_free else None)
        self.say: Say = _nobody
        self.ended: dict[str, Any] | None = None  # what was said when it ended, and
        self.kept: dict[str, Any] | None = None  # when it was kept: said again to a client that comes back
        self._fed, self._over = asyncio.Event(), asyncio.Event()
        self._left: asyncio.TimerHandle | None = None
        self._deaf = False  # the recogniser failed on it
        self.answered = asyncio.create_task(self._run())

    @property
    def key(self) -> tuple[str | None, str]:
        return self.who.device, self.begins.client_id

    def tell(self, kind: str, **values: Any) -> dict[str, Any]:
        message = {"kind": kind, "client_id": self.begins.client_id, **values}
        self.say(message)
        return message

    # ------------------------------------------------------------ its client

    async def feed(self, pcm: bytes) -> bytes | None:
        """Take sound. Gives back what came after the note's end; None while it goes on."""
        found = await asyncio.get_running_loop().run_in_executor(self._notes.noticing, self.live.feed, pcm)
        for event in found:
            if isinstance(event, Began):
                self.tell("speech_began", at=event.at)
        self._noticed(found)
        while self.live.undecoded_s() > MOST_UNDECODED_S and not (self._deaf or self.live.ended):
            await asyncio.sleep(0.2)
        return next((event.rest for event in found if isinstance(event, Ended)), None)

    def end(self, why: str) -> None:
        self._noticed([self.live.end(why)])

    def _noticed(self, events: Sequence[Began | Ended]) -> None:
        if any(isinstance(event, Ended) for event in events):
            self._over.set()
        self._fed.set()

    def come_back(self, say: Say) -> None:
        """Its client is here (again)."""
        self.say = say
        if self._left:
            self._left.cancel()
            self._left = None

    def leave(self) -> None:
        """Its client is gone; if the note is not over it waits a while for it."""
        self.say = _nobody
        if not self.live.ended:
            self._left = asyncio.get_running_loop().call_later(GRACE_S, self.end, "broken")

    @property
    def is_left(self) -> bool:
        return self._left is not None

    # ------------------------------------------------------------ hearing, keeping, answering

    async def _run(self) -> None:
        hearing = asyncio.create_task(self._hear())
        try:
            await self._over.wait()
            why = "nothing" if self.live.is_empty else self.live.ended.why
            self.ended = self.tell("speech_ended", samples=self.live.ended.at, why=why)
            if not self.live.is_empty and (note := await self._keep()):
                await hearing
                await self._answer(note)
        except Exception:
            _reports.exception("A note that was being spoken failed")
            self.tell("problem", problem="not_kept" if self.kept is None else "not_heard", detail=_OURS, fatal=False)
        finally:
            hearing.cancel()
            self._notes.is_over(self)

    async def _hear(self) -> None:
        """Until the note is over and every window of it is heard, or cannot be."""
        while not self._deaf:
            over = self._over.is_set()
            if await self._hear_next():
                continue
            if over:
                return
            await self._fed.wait()
            self._fed.clear()

    async def _hear_next(self) -> bool:
        """Have the next window heard; whether there was one."""
        desk = self._notes.desk
        if (window := self.live.wanted(provisional=desk.is_idle)) is None:
            return False
        pressing = Pressing.OVER if self.live.ended else Pressing.SURE if self.live.is_sure(window) else Pressing.MAYBE
        try:
            heard = await self._while_wanted(window, asyncio.wrap_future(desk.hear(self.live, window, pressing)))
        except (ModelError, asyncio.CancelledError) as err:
            if asyncio.current_task().cancelling():
                raise
            _reports.error("A note cannot be heard while it is spoken: %s", err or "the server stops")
            self._deaf = True
            return True
        if heard is not None:
            self._take(window, heard)
        return True

    async def _while_wanted(self, window: Window, hearing: asyncio.Future) -> list[Heard] | None:
        """What is heard in a window; None as soon as the speaker goes on: the next pause does not wait for this one."""
        while not hearing.done():
            if not self.live.wants(window):
                hearing.add_done_callback(functools.partial(self._take_late, window))
                return None
            fed = asyncio.create_task(self._fed.wait())
            try:
                await asyncio.wait((hearing, fed), return_when=asyncio.FIRST_COMPLETED)
            finally:
                fed.cancel()
            self._fed.clear()
        return hearing.result()

    def _take_late(self, window: Window, hearing: asyncio.Future) -> None:
        """The words up to a pause that was not the end are still worth showing."""
        if not hearing.cancelled() and hearing.exception() is None and hearing.result() is not None:
            self._take(window, hearing.result())

    def _take(self, window: Window, heard: list[Heard]) -> None:
        before = self.live.text
        self._noticed(self.live.take_heard(window, heard))
        if self.live.text != before and not self._over.is_set():
            self.tell("heard_so_far", text=self.live.text)

    async def _keep(self) -> str | None:
        """Recording and note on the disk; the note's id, or None where that failed."""
        try:
            accepted = await asyncio.to_thread(self._accept)
        except NoteConflict as err:
            self.tell("problem", problem="conflict", detail=str(err), fatal=False)
        except AssistantError as err:
            _reports.error("A spoken note is not kept: %s", err)
            self.tell("problem", problem="not_kept", detail=str(err), fatal=False)
        else:
            told = {"note": accepted.note, "job": accepted.job, "date": accepted.date, "new": accepted.new}
            self.kept = self.tell("kept", **told, samples=self.live.ended.at)
            return accepted.note
        return None

    def _accept(self):
        begins, notes = self.begins, self._notes
        accepted = notes.assistant.accept(
            audio=self.live.recording(), job=begins.job, date=begins.date, client_id=begins.client_id, by=self.who.name
        )
        notes.remember(self, accepted.note)
        return accepted

    async def _answer(self, note: str) -> None:
        if self._deaf:
            self._notes.hearing.add(note)
            self.tell("problem", problem="not_heard", detail="It is kept, and will be heard later.", fatal=False)
            return
        transcript = self.live.transcript(self._notes.assistant.settings.model)
        await asyncio.to_thread(self._notes.assistant.heard, note, transcript)
        self.tell("answer", **await asyncio.to_thread(answer_to, self._notes.assistant, note, self.begins.hands_free))


class SpokenNotes:
    """All notes that are being spoken to this server. To be made and used inside its event loop."""

    def __init__(self, assistant: Assistant, kept: Kept, hearing: Hearing):
        self.assistant, self.hearing, self._kept = assistant, hearing, kept
        self.desk = Desk(lambda: recogniser(assistant), hands(assistant))
        self.noticing = ThreadPoolExecutor(1, "noticing")
        self._open: dict[tuple[str | None, str], Spoken] = {}
        self.connected: Counter[str | None] = Counter()  # connections of each device

    def find(self, who: Who, client_id: str) -> Spoken | None:
        """The note with that id, while it is being spoken or answered."""
        return self._open.get((who.device, client_id))

    def begin(self, begins: Begins, who: Who) -> Spoken:
        """A new note. Where too many are open the one that was left first is ended for it."""
        self.desk.make_ready()
        left = [note for note in self._open.values() if note.is_left]
        if len(self._open) >= MOST_OPEN and left:
            left[0].end("broken")
        note = Spoken(begins, who, self)
        self._open[note.key] = note
        return note

    @property
    def is_full(self) -> bool:
        return len(self._open) >= MOST_OPEN and not any(note.is_left for note in self._open.values())

    def is_over(self, note: Spoken) -> None:
        if self._open.get(note.key) is note:
            del self._open[note.key]

    def remember(self, spoken: Spoken, note: str) -> None:
        """That the note with that client's id is kept, and up to which of its samples; holds after a restart."""
        row = {"client_id": spoken.begins.client_id, "device": spoken.who.device or "", "note": note}
        with self._kept.open() as db:
            db.table("spoken").insert({**row, "samples": spoken.live.ended.at}, ignore=True)

    def told(self, who: Who, client_id: str) -> tuple[str, int] | None:
        """A note that was kept before, and its samples; None if there is none of that id and device."""
        with self._kept.open() as db:
            rows = list(
                db.query("SELECT * FROM spoken WHERE client_id = ? AND device = ?", (client_id, who.device or ""))
            )
        return (rows[0]["note"], rows[0]["samples"]) if rows else None

    async def close(self) -> None:
        """The server stops: what has been said is kept now, and heard when it runs again."""
        notes = list(self._open.values())
        closing = asyncio.create_task(asyncio.to_thread(self.desk.close))
        for note in notes:
            note.end("broken")
        await closing
        await asyncio.gather(*(note.answered for note in notes), return_exceptions=True)
        self.noticing.shutdown()


def recogniser(assistant: Assistant) -> HearsWindow:
    """What hears one window after another, beside whatever else the assistant's recogniser is doing."""
    from assistant.hear.transcript import one_by_one  # slow to load; not before somebody speaks

    return one_by_one(assistant.weights())


def hands(assistant: Assistant) -> int:
    """How many windows the recogniser hears beside each other."""
    from assistant.hear.transcript import beside_each_other

    return beside_each_other(assistant.settings.device, assistant.settings.threads)


def answer_to(assistant: Assistant, note: str, hands_free: bool) -> dict[str, Any]:
    """What a client is told of a note that is heard."""
    told, reply = assistant.note_told(note), assistant.reply_to(note)
    said = reply.note["text"]
    aloud = for_the_ear(reply.say) if said or not hands_free else ""
    return {"note": note, "job": told.job, "date": told.date, "said": said, "say": reply.say, "aloud": aloud}


def _nobody(message: dict[str, Any]) -> None:
    """There is no client to tell."""


_OURS = "That went wrong on our side and was written into the server's report."

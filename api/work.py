"""The queue that hears accepted notes: one after another, again after a restart, and never one for ever.

A note is safe before it comes here; this only sees to its being transcribed. What stands in the home folder is how
often each was begun: a recording that takes the whole process down with it is given up after three times as well.
"""

from __future__ import annotations

import asyncio
import logging
import threading
from collections.abc import AsyncIterator
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass

from api.kept import Kept
from assistant import Assistant
from assistant.errors import AssistantError, ModelError, RecordingError, StoreError

TRIES = 3
RETRY_S = (5.0, 60.0)  # waits before the second and the third
_reports = logging.getLogger("superheard")


@dataclass(frozen=True, slots=True)
class State:
    """How far a note is."""

    state: str  # waiting | hearing | heard | failed
    what: str = ""  # what is being done
    share: float = 0.0  # of it that is done, 0 to 1
    reason: str | None = None  # why it failed


class Stopping(Exception):
    """Raised inside a transcription, between two windows, when the server stops."""


class Hearing:
    """Hears accepted notes in the background.

    executor  of threads, closed with this; None: a single one, so that one note is heard after another
    retry_s   waits before a note is tried again

    Safe from several threads. `follow` belongs to the event loop that runs it.
    """

    def __init__(
        self,
        assistant: Assistant,
        kept: Kept,
        executor: Executor | None = None,
        retry_s: tuple[float, ...] = RETRY_S,
    ):
        self._assistant, self._kept, self._retry_s = assistant, kept, retry_s
        self._executor = executor or ThreadPoolExecutor(1, "hearing")
        self._lock = threading.Lock()
        self._states: dict[str, State] = {}  # of the notes that are not heard
        self._followers: dict[str, set[tuple[asyncio.AbstractEventLoop, asyncio.Event]]] = {}
        self._timers: set[threading.Timer] = set()
        self._stopping = threading.Event()
        with kept.open() as db:
            self._tried = {row["note"]: row["tries"] for row in db.query("SELECT note, tries FROM hearing")}
            self._given_up = {
                row["note"]: row["reason"] for row in db.query("SELECT * FROM hearing WHERE reason IS NOT NULL")
            }

    def resume(self) -> None:
        """Take up what was accepted and not heard when the server last stopped."""
        for note in self._assistant.waiting():
            self.add(note)

    def add(self, note: str) -> None:
        """Have an accepted note heard, unless it is being already or was given up."""
        with self._lock:
            if note in self._states or self._stopping.is_set():
                return
            if self._tried.get(note, 0) >= TRIES and note not in self._given_up:
                self._given_up[note] = f"It was begun {TRIES} times and never finished."
            if note in self._given_up:
                return
            self._states[note] = State("waiting")
            self._executor.submit(self._hear, note)

    def again(self, note: str) -> None:
        """Try a note that was given up once more, from the beginning."""
        self._forget(note)
        self.add(note)

    def state(self, note: str) -> State:
        """How far an accepted note is."""
        with self._lock:
            if note in self._given_up:
                return State("failed", reason=self._given_up[note])
            return self._states.get(note) or State("heard", share=1.0)

    def waiting(self) -> int:
        """How many notes are waiting or being heard."""
        with self._lock:
            return len(self._states)

    async def follow(self, note: str) -> AsyncIterator[State]:
        """A note's state now and whenever it changes, until it is heard or failed, or the server stops."""
        follower = (asyncio.get_running_loop(), asyncio.Event())
        with self._lock:
            self._followers.setdefault(note, set()).add(follower)
        try:
            while True:
                follower[1].clear()
                state = self.state(note)
                yield state
                if state.state in ("heard", "failed") or self._stopping.is_set():
                    return
                await follower[1].wait()
        finally:
            with self._lock:
                self._followers[note].discard(follower)
                if not self._followers[note]:
                    del self._followers[note]

    def stop(self) -> None:
        """Begin to stop: nothing more is begun, and what is being heard is left off between two windows."""
        with self._lock:
            self._stopping.set()
            timers, notes = list(self._timers), list(self._followers)
        for timer in timers:
            timer.cancel()
        for note in notes:
            self._tell(note)

    def close(self) -> None:
        """Stop, and wait until nothing is being done any more."""
        self.stop()
        self._executor.shutdown(wait=True, cancel_futures=True)

    # ------------------------------------------------------------ in the executor's thread

    def _hear(self, note: str) -> None:
        if self._stopping.is_set():
            return
        tries = TRIES
        try:
            tries = self._count(note, +1)
            self._set(note, State("hearing", "listening"))
            self._assistant.hear(note, progress=lambda what, done, of: self._went_on(note, what, done, of))
        except Stopping:
            self._count(note, -1)
        except RecordingError as err:
            self._give_up(note, str(err))
        except Exception as err:  # whatever it is, the next note must still be heard
            self._failed_once(note, tries, err)
        else:
            self._forget(note)
            self._tell(note)

    def _went_on(self, note: str, what: str, done: float, of: float) -> None:
        if self._stopping.is_set():
            raise Stopping
        self._set(note, State("hearing", what, done / of if of else 0.0))

    def _failed_once(self, note: str, tries: int, err: Exception) -> None:
        """Again after a while; given up after the third time. What was not the recording's fault a restart forgives."""
        _reports.error("Note %s could not be heard, try %d of %d: %r", note, tries, TRIES, err)
        ours = isinstance(err, (ModelError, StoreError))
        reason = str(err) if isinstance(err, AssistantError) else f"The program failed on it ({type(err).__name__})."
        if tries < TRIES:
            self._later(note, reason, self._retry_s[min(tries, len(self._retry_s)) - 1])
        else:
            self._give_up(note, reason, for_good=not ours)

    def _later(self, note: str, reason: str, wait_s: float) -> None:
        def due() -> None:
            with self._lock:
                self._timers.discard(timer)
                if not self._stopping.is_set():
                    self._executor.submit(self._hear, note)

        timer = threading.Timer(wait_s, due)
        timer.daemon = True
        with self._lock:
            self._timers.add(timer)
            if self._stopping.is_set():
                return
        self._set(note, State("waiting", f"trying again: {reason}"))
        timer.start()

    # ------------------------------------------------------------ what is remembered

    def _count(self, note: str, change: int) -> int:
        """Count a try, on the disk before it starts, or take one back; how many that makes."""
        with self._lock:
            tries = self._tried[note] = self._tried.get(note, 0) + change
        with self._kept.open() as db:
            db.table("hearing").insert({"note": note, "tries": tries, "reason": None}, pk="note", replace=True)
        return tries

    def _give_up(self, note: str, reason: str, for_good: bool = True) -> None:
        with self._lock:
            self._states.pop(note, None)
            self._given_up[note] = reason
        self._tell(note)
        with self._kept.open() as db:
            if for_good:
                db.execute("UPDATE hearing SET reason = ? WHERE note = ?", (reason, note))
            else:
                db.execute("DELETE FROM hearing WHERE note = ?", (note,))

    def _forget(self, note: str) -> None:
        """Nothing stands in the way of a note any more."""
        with self._lock:
            for known in (self._states, self._tried, self._given_up):
                known.pop(note, None)
        with self._kept.open() as db:
            db.execute("DELETE FROM hearing WHERE note = ?", (note,))

    def _set(self, note: str, state: State) -> None:
        with self._lock:
            self._states[note] = state
        self._tell(note)

    def _tell(self, note: str) -> None:
        """Wake whoever follows the note."""
        with self._lock:
            followers = list(self._followers.get(note, ()))
        for loop, changed in followers:
            if not loop.is_closed():
                loop.call_soon_threadsafe(changed.set)

"""One recogniser for all the notes that are being spoken: as many windows at once as it can, most pressing first."""

from __future__ import annotations

import heapq
import itertools
import threading
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import suppress
from dataclasses import dataclass, field
from enum import IntEnum

import numpy as np

from assistant.errors import AssistantError
from assistant.hear.gates import Heard
from assistant.hear.live import LiveNote
from assistant.hear.windows import Window

HearsWindow = Callable[[np.ndarray, Window], list[Heard]]


class Pressing(IntEnum):
    OVER = 0  # somebody waits for the answer
    SURE = 1  # will be needed
    MAYBE = 2  # will be needed if this pause is the end


@dataclass(order=True, slots=True)
class _Order:
    pressing: Pressing
    came: int
    note: LiveNote = field(compare=False)
    window: Window = field(compare=False)
    heard: Future = field(compare=False)


class Desk:
    """Hears windows of live notes in threads of its own.

    load   gives what hears one window, given the sound and the window; called in such a thread when first needed
    hands  how many windows it can hear at once
    """

    def __init__(self, load: Callable[[], HearsWindow], hands: int = 1):
        self._load, self._hears, self._loading = load, None, threading.Lock()
        self._waiting: list[_Order] = []
        self._changed = threading.Condition()
        self._closed = self._early = False
        self._busy = 0  # threads
        self._count = itertools.count()
        self._threads = [threading.Thread(target=self._work, name="live hearing", daemon=True) for _ in range(hands)]
        for thread in self._threads:
            thread.start()

    @property
    def is_idle(self) -> bool:
        """Whether a window would be heard at once."""
        with self._changed:
            return self._busy < len(self._threads) and not self._waiting

    def make_ready(self) -> None:
        """Load the recogniser now, so that the first note does not wait for it."""
        with self._changed:
            self._early = True
            self._changed.notify()

    def hear(self, note: LiveNote, window: Window, pressing: Pressing) -> Future[list[Heard] | None]:
        """What is heard in a window; None where it was no longer wanted when its turn came.

        The future raises ModelError if the recogniser fails, CancelledError after `close`.
        """
        order = _Order(pressing, next(self._count), note, window, Future())
        with self._changed:
            if self._closed:
                order.heard.cancel()
            else:
                heapq.heappush(self._waiting, order)
                self._changed.notify()
        return order.heard

    def close(self) -> None:
        """Begin nothing more, and wait for the windows that are being heard."""
        with self._changed:
            self._closed = True
            dropped, self._waiting = self._waiting, []
            self._changed.notify_all()
        for order in dropped:
            order.heard.cancel()
        for thread in self._threads:
            thread.join()

    def _work(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._waiting or self._closed or self._early)
                if self._closed:
                    return
                early, self._early = self._early, False
                self._busy += 1
                order = heapq.heappop(self._waiting) if self._waiting else None
            if early:
                with suppress(AssistantError):  # whoever has something to hear is told
                    self._loaded()
            if order and order.heard.set_running_or_notify_cancel():
                try:
                    order.heard.set_result(self._hear(order))
                except Exception as err:  # whatever it is belongs to who waits for it; the next note is still heard
                    order.heard.set_exception(err)
            with self._changed:
                self._busy -= 1

    def _hear(self, order: _Order) -> list[Heard] | None:
        if not order.note.wants(order.window):
            return None
        return self._loaded()(order.note.samples(order.window), order.window)

    def _loaded(self) -> HearsWindow:
        with self._loading:
            if self._hears is None:
                self._hears = self._load()
            return self._hears

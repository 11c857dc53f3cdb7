"""A phone on the line of `/api/v1/listen`, and a stand-in for the recogniser at its other end."""

from __future__ import annotations

import json
import threading
import time
import uuid
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from itertools import count

import numpy as np
import pytest
from fastapi.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from api import spoken
from api.deps import SHOP
from assistant import Assistant
from assistant.errors import ModelError
from assistant.hear.gates import Heard
from assistant.hear.recording import read_recording
from assistant.hear.windows import RATE, Window
from assistant.records import Word
from tests.hear.sounds import HERE
from tests.hear.test_live import pcm

PATH = "/api/v1/listen"
WITHIN_S = 60  # every message comes, however busy the machine is
PIECE = RATE // 10 * 2  # bytes of a tenth of a second
SAID = "Suction pressure is 118. Head pressure is 345."


@pytest.fixture(scope="module")
def speech() -> np.ndarray:
    return read_recording(HERE / "audio" / "charge.ogg").samples[: 4 * RATE]


class Recogniser:
    """Stands in for the real one: hears in each window what it is told to."""

    def __init__(self):
        self.says, self.fails, self.windows = SAID, False, []
        self.gate = threading.Event()
        self.gate.set()

    def __call__(self, samples: np.ndarray, window: Window) -> list[Heard]:
        assert self.gate.wait(20)
        self.windows.append(window)
        if self.fails:
            raise ModelError("The recogniser failed.")
        words, step = self.says.split(), (window.end_s - window.start_s) / 20
        timed = zip(words, count(), strict=False)
        heard = tuple(Word(w, window.start_s + i * step, window.start_s + (i + 1) * step, 0.9) for w, i in timed)
        return [Heard(heard, window.start_s, window.end_s, -0.2, 0.02, 1.2)]


@pytest.fixture
def recogniser(monkeypatch) -> Recogniser:
    stand_in = Recogniser()
    monkeypatch.setattr(spoken, "recogniser", lambda assistant: stand_in)
    return stand_in


class Phone:
    """The client's side of one connection. `heard` is every message that came."""

    def __init__(self, socket):
        self.socket, self.heard = socket, []
        self._reading = ThreadPoolExecutor(1)

    def next(self) -> dict:
        """The next message. One that never comes must fail its test, not stop all of them."""
        message = self._reading.submit(self.socket.receive_json).result(WITHIN_S)
        self.heard.append(message)
        return message

    def start(self, mode: str = "hands_free", client_id: str | None = None, **more) -> str:
        self.id = client_id or str(uuid.uuid4())
        self.say("start", client_id=self.id, mode=mode, **more)
        return self.id

    def say(self, kind: str, **more) -> None:
        self.socket.send_text(json.dumps({"kind": kind, **more}))

    def sound(self, samples: np.ndarray) -> None:
        sound = pcm(samples)
        for at in range(0, len(sound), PIECE):
            self.socket.send_bytes(sound[at : at + PIECE])

    def until(self, kind: str, client_id: str | None = None) -> dict:
        """The next message of that kind; none of a problem may come before."""
        while True:
            message = self.next()
            if message["kind"] == kind and client_id in (None, message["client_id"]):
                return message
            assert message["kind"] != "problem", message

    def kinds(self, client_id: str | None = None) -> list[str]:
        return [each["kind"] for each in self.heard if client_id in (None, each["client_id"])]

    def closed(self) -> int:
        """The code it was closed with, after whatever was still said."""
        with pytest.raises(WebSocketDisconnect) as closed:
            while True:
                self.next()
        return closed.value.code


def last(tech: Phone, kind: str) -> dict:
    while not tech.heard or tech.heard[-1]["kind"] != kind:
        tech.next()
    return tech.heard[-1]


@contextmanager
def phone(client: TestClient, **headers) -> Iterator[Phone]:
    with connected(client, **headers) as socket:
        yield Phone(socket)


def connected(client: TestClient, **headers):
    return client.websocket_connect(str(client.base_url).replace("http", "ws", 1) + PATH, **headers)


def until(so: Callable[[], bool], seconds: float = 10.0) -> None:
    ends = time.monotonic() + seconds
    while not so():
        assert time.monotonic() < ends, "it took too long"
        time.sleep(0.01)


def being_spoken(client: TestClient, client_id: str) -> spoken.Spoken | None:
    """This machine's own note of that id."""
    return client.app.state.spoken.find(SHOP, client_id)


def taken(client: TestClient, client_id: str, samples: int) -> None:
    """Waits until the server has read that much; this client, when it goes, takes what is unread with it."""
    until(lambda: being_spoken(client, client_id).live.received == samples)


def notes(assistant: Assistant, job: str) -> list[str]:
    return [note for visit in assistant.log(job)["visits"] for note in visit["notes"]]

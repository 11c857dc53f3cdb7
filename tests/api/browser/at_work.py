"""A real server in a thread, and what tests of pages need of it and of the page in front of it."""

from __future__ import annotations

import socket
import threading
import time
import tomllib
import wave
from collections.abc import Callable
from pathlib import Path

import httpx
import numpy as np
import uvicorn
from playwright.sync_api import Page

from api.app import create_app
from api.certificate import Certificate
from api.deps import SHOP
from assistant import Assistant
from assistant.hear.recording import read_recording
from assistant.settings import Settings

DEMO = Path(__file__).parents[3] / "demo_audio"
DEMO_JOB = "pottery-studio"
PLACE_S = 2.3  # into 10_hood_again: "Third day at the pottery studio"
FIGURE_S = 8.9  # into 10_hood_again: "… now it adds up to sixteen ten CFM"
WAIT_MS = 15_000  # for anything a page does; an answer by the recogniser is given longer where it is waited for
PHONE = {"viewport": {"width": 360, "height": 740}, "device_scale_factor": 2, "has_touch": True}
DESKTOP = {"viewport": {"width": 1280, "height": 900}}
OWN = {"X-Superheard": "1"}  # what our own pages send with every write


class Server:
    """uvicorn in a thread, on a port that stays the same when it is stopped and started again."""

    def __init__(self, home: Path, certificate: Certificate | None = None):
        self.home, self.certificate = home, certificate
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.url = f"{'https' if certificate else 'http'}://localhost:{self.port}"
        self.http = httpx.Client(base_url=f"{self.url}/api/v1", headers=OWN, timeout=30, verify=certificate is None)
        self.assistant = Assistant(home)
        self._thread: threading.Thread | None = None

    def start(self) -> Server:
        kept = self.certificate
        self.app = create_app(Settings(home=self.home), self.assistant, kept)
        config = uvicorn.Config(
            self.app,
            host="127.0.0.1",
            port=self.port,
            log_level="warning",
            ssl_certfile=kept and kept.certificate,
            ssl_keyfile=kept and kept.key,
        )
        self._server = uvicorn.Server(config)
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()
        until(lambda: self._server.started, 20)
        return self

    def stop(self) -> None:
        """As a power cut would: nobody is waited for."""
        if self._thread:
            self._server.should_exit = self._server.force_exit = True
            self._thread.join(20)
            self._thread = None

    def close(self) -> None:
        self.stop()
        self.http.close()
        self.assistant.close()

    def notes(self, job: str = DEMO_JOB) -> list[str]:
        """The words of a job's notes, in order, as the HTTP interface gives them."""
        log = self.http.get(f"/jobs/{job}/log").raise_for_status().json()
        told = [note for visit in log["visits"] for note in visit["notes"]]
        return [self.http.get(f"/notes/{note}").raise_for_status().json()["said"] for note in told]


def until(true: Callable[[], object], within_s: float, page: Page | None = None):
    """Waits until something is true, and gives it; fails when it is not in time. `page` goes on meanwhile."""
    end = time.monotonic() + within_s
    while not (found := true()):
        assert time.monotonic() < end, f"not within {within_s:g} s"
        page.wait_for_timeout(100) if page else time.sleep(0.1)
    return found


def tell_demo(assistant: Assistant) -> None:
    """The demonstration job, as its texts tell it."""
    for note in tomllib.loads((DEMO / "scenario.toml").read_text("utf-8"))["note"]:
        if note["text"].strip():
            assistant.tell(text=note["text"], job=DEMO_JOB, date=note["date"], by=SHOP.name)


def ready(page: Page, url: str) -> Page:
    """The phone page, once its parts are at work."""
    page.goto(url)
    page.wait_for_selector("html[data-ready=yes]")
    return page


def microphone_file(
    path: Path, recording: str, *, until_s: float | None = None, before_s: float = 1.0, after_s: float = 3.0
) -> Path:
    """A WAV file of a demonstration recording, or of its beginning, with silence before and after."""
    rate = 16000
    samples = np.asarray(read_recording(DEMO / f"{recording}.ogg").samples, np.float32)
    parts = [np.zeros(int(before_s * rate), np.float32), samples[: until_s and int(until_s * rate)]]
    parts.append(np.zeros(int(after_s * rate), np.float32))
    sound = (np.clip(np.concatenate(parts), -1, 1) * 32767).astype("<i2")
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(sound.tobytes())
    return path

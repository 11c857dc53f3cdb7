"""Debian's Chromium in front of a real server on a free port.

`serve()` starts a server with a home of its own; `chromium(...)` a browser, which can be given a recording for a
microphone; `phone(...)` opens a page as a phone of 360 pixels has it. Whatever a page complains about fails the test.
"""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from api.certificate import Certificate
from tests.api.browser.at_work import PHONE, WAIT_MS, Server, tell_demo

expect.set_options(timeout=WAIT_MS)

POLICY = "Content Security Policy"  # in what a browser says where it refuses a script or a style
_QUIET = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--autoplay-policy=no-user-gesture-required",
]  # fmt: skip


@pytest.fixture
def serve(tmp_path: Path) -> Iterator[Callable[..., Server]]:
    """Starts servers: serve(demo=True) has the demonstration job told, serve(certificate=…) is for the network."""
    with ExitStack() as closing:

        def start(demo: bool = False, certificate: Certificate | None = None) -> Server:
            server = Server(tmp_path / f"home-{time.monotonic_ns()}", certificate)
            closing.callback(server.close)
            if demo:
                tell_demo(server.assistant)
            return server.start()

        yield start


@pytest.fixture(scope="module")
def demo_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A server with the demonstration job, for tests that only look."""
    server = Server(tmp_path_factory.mktemp("demo") / "home")
    try:
        tell_demo(server.assistant)
        yield server.start()
    finally:
        server.close()


@pytest.fixture(scope="module")
def chromium() -> Iterator[Callable[..., Browser]]:
    """Starts Chromium: chromium(microphone=path) hears that WAV file once, and silence after it."""
    program = shutil.which("chromium")
    if program is None:
        reason = "Debian's chromium is not installed (apt-get install chromium)"
        assert os.environ.get("CI") != "true", reason
        pytest.skip(reason)
    with ExitStack() as closing:
        player = closing.enter_context(sync_playwright())
        started: dict[tuple, Browser] = {}

        def start(microphone: Path | None = None, *more: str) -> Browser:
            arguments = [*_QUIET, *more]
            if microphone is not None:
                arguments += ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
                              f"--use-file-for-fake-audio-capture={microphone}%noloop"]  # fmt: skip
            if (key := tuple(arguments)) not in started:
                started[key] = player.chromium.launch(executable_path=program, args=arguments)
                closing.callback(started[key].close)
            return started[key]

        yield start


@pytest.fixture
def phone(chromium) -> Iterator[Callable[..., Page]]:
    """Opens pages: phone(browser=…, **context options). Script errors and refused scripts or styles fail the test."""
    complaints: list[str] = []
    contexts: list[BrowserContext] = []

    def open_page(browser: Browser | None = None, **options) -> Page:
        context = (browser or chromium()).new_context(**{**PHONE, **options})
        context.set_default_timeout(WAIT_MS)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: complaints.append(f"{page.url}: {error}"))
        page.on("console", lambda said: complaints.append(said.text) if POLICY in said.text else None)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert not complaints

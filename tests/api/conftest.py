"""A server in this process, as it stands on loopback, and as it stands in the network."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
import uvicorn
from fastapi import FastAPI
from fastapi.testclient import TestClient

from api.access import OFFICE, TECH
from api.app import create_app
from api.certificate import certificate_for
from api.serving import sockets_at
from api.slow_heads import HeadInTime
from assistant import Assistant
from assistant.settings import Settings
from tests.api.phone_line import recogniser, speech  # noqa: F401  the stand-in for notes heard while they are spoken
from tests.door.conftest import slow_ears  # noqa: F401  the stand-in for recordings

DEMO = Path(__file__).parents[2] / "demo_audio"
OWN = {"x-superheard": "1"}  # what our own pages send with every write


@dataclass(frozen=True)
class Net:
    """A server in the network: a client that is let in by nothing, and headers for each who may come in."""

    client: TestClient
    tech: dict[str, str]
    office: dict[str, str]


def client_of(app, base_url: str = "http://localhost", address: str = "127.0.0.1") -> TestClient:
    """A client that gets a fault of ours as the answer 500, like anybody would."""
    return TestClient(app, base_url=base_url, client=(address, 50000), raise_server_exceptions=False)


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "home"


@pytest.fixture
def assistant(home: Path) -> Iterator[Assistant]:
    with Assistant(home) as assistant:
        yield assistant


@pytest.fixture
def shop(assistant: Assistant, home: Path) -> Iterator[TestClient]:
    """The server on loopback, where only this machine asks."""
    with client_of(create_app(Settings(home=home), assistant)) as client:
        yield client


@pytest.fixture(scope="session")
def certificate(tmp_path_factory: pytest.TempPathFactory):
    return certificate_for(("192.168.7.5", "van.local"), tmp_path_factory.mktemp("certificate"))


@pytest.fixture
def net(assistant: Assistant, home: Path, certificate) -> Iterator[Net]:
    """The server in the network, with a tech's phone and the office paired."""
    app = create_app(Settings(home=home), assistant, certificate)
    with client_of(app, "https://192.168.7.5:8642", "192.168.7.20") as client:
        tokens = {role: app.state.devices.add(name, role)[1] for name, role in (("Ana", TECH), ("Desk", OFFICE))}
        yield Net(client, *({"authorization": f"Bearer {tokens[role]}"} for role in (TECH, OFFICE)))


def told(client: TestClient, text: str, job: str = "print-shop", **fields: str):
    """A typed note, told over HTTP."""
    answer = client.post("/api/v1/notes", data={"text": text, "job": job, **fields})
    assert answer.status_code in (200, 201), answer.text
    return answer.json()


@contextmanager
def serving(app: FastAPI) -> Iterator[str]:
    """The application on a free port of loopback, as it runs in earnest; its address."""
    server = uvicorn.Server(
        uvicorn.Config(app, port=0, http=HeadInTime, log_level="critical", timeout_graceful_shutdown=2)
    )
    listening = sockets_at(0, to_the_network=False)
    thread = threading.Thread(target=server.run, args=(listening,), daemon=True)
    address = f"http://127.0.0.1:{listening[0].getsockname()[1]}"
    thread.start()
    ends = time.monotonic() + 20
    while not server.started:
        assert thread.is_alive() and time.monotonic() < ends, "the server did not start"
        time.sleep(0.01)
    try:
        yield address
    finally:
        server.should_exit = True
        thread.join(20)
    assert not thread.is_alive(), "the server did not stop"

"""What is done to the server to hurt it, in short; at length: `python -m tests.api.abuse`."""

from __future__ import annotations

import asyncio
import socket

import httpx
import psutil
import pytest

from api import slow_heads
from api.app import create_app
from assistant import Assistant
from assistant.settings import Settings
from tests.api import abuse
from tests.api.conftest import serving
from tests.api.load import AS_OFTEN_AS_THEY_LIKE
from tests.api.process import served

MOST_MB = 40  # that a round of abuse may add once three have warmed everything up; measured: 1 to 12


def test_abuse_of_the_line_harms_nobody_else_and_leaves_nothing_behind(tmp_path):
    with served(tmp_path, *AS_OFTEN_AS_THEY_LIKE, *abuse.MORE, program="tests.api.stand_in") as server:
        process = psutil.Process(server.process.pid)
        came = asyncio.run(asyncio.wait_for(abuse.run(server.api, process, rounds=4, seed=1, times=4), 300))
    assert came.answered == came.honest >= 2
    assert came.kept >= came.honest
    assert came.lost == []
    assert came.twice == []
    assert {"not_understood", "bad_sound", "not_started"} <= set(came.problems)
    assert came.memory_mb[-1] - came.memory_mb[-2] < MOST_MB, came.memory_mb


@pytest.fixture
def address(monkeypatch):
    monkeypatch.setattr(slow_heads, "HEAD_S", 0.5)
    with Assistant() as assistant, serving(create_app(Settings(), assistant)) as address:
        yield address


def connected(address: str) -> socket.socket:
    line = socket.create_connection(("127.0.0.1", int(address.rpartition(":")[2])), timeout=20)
    line.settimeout(20)
    return line


@pytest.mark.parametrize("said", [b"", b"GET / HTTP/1.1\r\nHost: localhost\r\nX-More: 1\r\n"], ids=["nothing", "half"])
def test_a_connection_whose_header_never_ends_is_let_go(address, said):
    with connected(address) as line:
        line.sendall(said)
        assert line.recv(100) == b""  # closed from the other side; without that this waits, and fails


def test_so_is_one_that_asked_well_before(address):
    with connected(address) as line:
        line.sendall(b"GET /api/v1/health HTTP/1.1\r\nHost: localhost\r\n\r\n")
        assert line.recv(10).startswith(b"HTTP/1.1 2")
        line.sendall(b"GET /api/v1/health HTTP/1.1\r\nHost:")
        while line.recv(1000):
            pass


def test_a_request_whose_answer_takes_longer_is_not(address, monkeypatch):
    with httpx.Client(base_url=address, timeout=20) as client:
        question = iter([b'{"name": ', b'"slow"}'])

        def body():
            yield next(question)
            asyncio.run(asyncio.sleep(1.5))  # three times as long as a header may take
            yield next(question)

        headers = {"content-type": "application/json"}
        assert client.post("/api/v1/jobs", content=body(), headers=headers).status_code == 201

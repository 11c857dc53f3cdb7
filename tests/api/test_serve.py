"""`superheard serve` as a process of its own: ready, stopped, killed and begun again, and served to the network."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import time

import httpx
import pytest

from api.serving import sockets_at
from tests.api.conftest import DEMO, OWN
from tests.api.process import ROOT, served


def heard(client: httpx.Client, note: str) -> dict:
    ends = time.monotonic() + 120
    while (state := client.get(f"/notes/{note}").json())["state"] in ("waiting", "hearing"):
        assert time.monotonic() < ends, state
        time.sleep(0.2)
    return state


def test_a_recording_that_was_acknowledged_is_heard_after_the_process_was_killed(tmp_path):
    raw = (DEMO / "10_hood_again.ogg").read_bytes()
    with served(tmp_path) as server:
        sent = server.http.post("/notes", files={"audio": ("hood.ogg", raw)}, data={"job": "studio"})
        assert sent.status_code == 201
        assert sent.json()["state"] == "waiting"
        server.stop(signal.SIGKILL)
    with served(tmp_path) as server:
        state = heard(server.http, sent.json()["note"])
        assert {(r["quantity"], r["value"]) for r in state["content"]["readings"]} == {("return_airflow", 1610.0)}
        assert server.http.get(f"/notes/{state['note']}/recording").content == raw
        assert server.http.post("/ask", json={"question": "what is the return airflow?", "job": "studio"}).json()[
            "value"
        ] == pytest.approx(1610)


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_it_stops_at_once_when_it_is_told_to_even_while_it_listens(tmp_path, how):
    raw = (DEMO / "07_first_fire.ogg").read_bytes()
    with served(tmp_path) as server:
        server.http.post("/notes", files={"audio": ("fire.ogg", raw)})
        began = time.monotonic()
        code = server.stop(how)
        assert time.monotonic() - began < 15  # the recogniser may be loading, or at a window
        assert code in (0, -how)
        assert "Traceback" not in server.process.stdout.read()


def test_alone_it_listens_on_loopback_and_nowhere_else(tmp_path):
    with served(tmp_path) as server:
        port = httpx.URL(server.url).port
        with socket.create_connection(("127.0.0.1", port), 5):
            pass
        others = {each[4][0] for each in socket.getaddrinfo(socket.gethostname(), port, socket.AF_INET)}
        for address in others - {"127.0.0.1", "127.0.1.1"}:
            with pytest.raises(OSError):
                socket.create_connection((address, port), 2)


def test_an_answer_is_sent_at_once_and_does_not_wait_for_more_to_send():
    """asyncio turns the waiting off on sockets that say they are TCP, and on no others."""
    for each in sockets_at(0, to_the_network=True):
        assert each.proto == socket.IPPROTO_TCP
        each.close()


def test_a_port_that_is_taken_is_told_in_one_line(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        command = [sys.executable, "-m", "assistant", "serve", "--home", str(tmp_path)]
        port = str(taken.getsockname()[1])
        done = subprocess.run([*command, "--port", port], cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert done.returncode == 1
    assert re.fullmatch(rf"Error: Port {port} cannot be used .*; choose another with --port\.\n", done.stderr)


def test_in_the_network_it_speaks_https_and_lets_in_whoever_has_the_code_of_the_terminal(tmp_path):
    with served(tmp_path, "--lan") as server:
        assert server.url.startswith("https://")
        assert server.http.get("/jobs").status_code == 401
        office, phone = re.findall(r"/pair#(\S+)", server.greeting)
        for code, role in ((office, "office"), (phone, "tech")):
            asked = {"code": code, "name": role, "keep": "token"}
            token = server.http.post("/pair", json=asked, headers=OWN).json()["token"]
            me = server.http.get("/me", headers={"authorization": f"Bearer {token}"}).json()
            assert (me["name"], me["role"]) == (role, role)
        with pytest.raises(httpx.HTTPError):
            httpx.get(server.url.replace("https", "http") + "/api/v1/health")
    with served(tmp_path, "--lan") as again:
        assert "No office is paired yet" not in again.greeting
        assert again.http.get("/me", headers={"authorization": f"Bearer {token}"}).status_code == 200

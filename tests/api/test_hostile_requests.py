"""Requests made to do harm, over a real connection: each is refused in words, and the server stays as it was."""

from __future__ import annotations

import socket
import zlib
from pathlib import Path

import httpx
import psutil
import pytest

from api.app import create_app
from assistant import Assistant
from assistant.settings import Settings
from tests.api.conftest import serving
from tests.api.load import AS_OFTEN_AS_THEY_LIKE
from tests.api.process import served

JSON = {"content-type": "application/json"}
FORM = {"content-type": "multipart/form-data; boundary=bbb"}
FIELD = b'Content-Disposition: form-data; name="text"\r\n\r\n'
MOST_MB = 40  # that all these requests may add to the server's memory, whatever they unpack to


def parts(*bodies: bytes) -> bytes:
    return b"".join(b"--bbb\r\n" + body + b"\r\n" for body in bodies) + b"--bbb--\r\n"


JOBS, NOTES, ASK = "/jobs", "/notes", "/ask"
BODIES = {
    "an array in an array, and so on": (JOBS, JSON, b"[" * 100_000, 400),
    "an object in an object, and so on": (JOBS, JSON, b'{"a":' * 15_000 + b"1" + b"}" * 15_000, 400),
    "a number of 100,000 digits": (ASK, JSON, b'{"question":' + b"9" * 100_000 + b"}", 400),
    "what unpacks to 100 megabytes": (
        JOBS,
        {**JSON, "content-encoding": "deflate"},
        zlib.compress(b"[" * 100_000_000),
        400,
    ),
    "no UTF-8": (JOBS, JSON, b'{"name": "\xff\xfe"}', 400),
    "thousands of fields": (NOTES, FORM, parts(*[FIELD.replace(b"text", b"f%d" % n) + b"x" for n in range(5000)]), 400),
    "thousands of files": (
        NOTES,
        FORM,
        parts(*[b'Content-Disposition: form-data; name="audio"; filename="a.wav"\r\n\r\nx'] * 5000),
        400,
    ),
    "a field of 20 megabytes": (NOTES, FORM, parts(FIELD + b"x" * 20_000_000), 400),
    "a name of 5 megabytes": (NOTES, FORM, parts(FIELD.replace(b"text", b"n" * 5_000_000) + b"x"), 400),
    "100,000 headers of a part": (NOTES, FORM, parts(b"X: a\r\n" * 100_000 + FIELD + b"x"), 400),
    "20 megabytes before the first part": (NOTES, FORM, b"\r\n" * 10_000_000, 422),
    "a million fields in an address's form": (
        NOTES,
        {"content-type": "application/x-www-form-urlencoded"},
        b"a=1&" * 1_000_000,
        400,
    ),
    "a form without a boundary": (NOTES, {"content-type": "multipart/form-data"}, b"x" * 1000, 400),
    "an empty form": (NOTES, FORM, b"", 422),
}


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    home = tmp_path_factory.mktemp("home")
    with served(home, *AS_OFTEN_AS_THEY_LIKE, program="tests.api.stand_in") as server:
        yield server


@pytest.mark.parametrize("what", BODIES)
def test_a_body_made_to_do_harm_is_refused_in_bounded_memory(server, what):
    path, headers, body, status = BODIES[what]
    process = psutil.Process(server.process.pid)
    before = process.memory_info().rss
    answer = server.http.post(path, content=iter([body]), headers=headers)  # in chunks: it states no length
    assert answer.status_code == (413 if path != NOTES and len(body) > 128_000 else status), answer.text[:200]
    assert answer.headers["content-type"] == "application/problem+json"
    assert process.memory_info().rss - before < MOST_MB << 20
    assert server.http.get(JOBS).json() == []


@pytest.fixture(scope="module")
def port():
    with Assistant() as assistant, serving(create_app(Settings(requests_per_minute=10_000), assistant)) as address:
        yield int(address.rpartition(":")[2])


def asked(port: int, raw: bytes) -> str:
    """The status line that comes back for these bytes; "" where the connection is closed without one."""
    with socket.create_connection(("127.0.0.1", port), timeout=20) as line:
        line.settimeout(20)
        line.sendall(raw)
        return line.recv(1000).split(b"\r\n")[0].decode()


HOST = b"Host: localhost\r\n"
RAW = {
    "two lengths": (
        b"POST /api/v1/jobs HTTP/1.1\r\n" + HOST + b"Content-Length: 5\r\nContent-Length: 6\r\n\r\nabcdef",
        "400",
    ),
    "a length below zero": (b"POST /api/v1/jobs HTTP/1.1\r\n" + HOST + b"Content-Length: -5\r\n\r\n", "400"),
    "an unknown coding": (b"POST /api/v1/jobs HTTP/1.1\r\n" + HOST + b"Transfer-Encoding: x, chunked\r\n\r\n", "400"),
    "two hosts": (b"GET /api/v1/me HTTP/1.1\r\n" + HOST + b"Host: evil.example\r\n\r\n", "400"),
    "no host": (b"GET /api/v1/me HTTP/1.1\r\n\r\n", "400"),
    "another host in the address": (b"GET http://evil.example/api/v1/me HTTP/1.1\r\n" + HOST + b"\r\n", "404"),
    "a null in a header": (b"GET /api/v1/me HTTP/1.1\r\n" + HOST + b"X: a\0b\r\n\r\n", "400"),
    "a header in two lines": (b"GET /api/v1/me HTTP/1.1\r\n" + HOST + b"X: a\n b\r\n\r\n", "200"),
    "a null in the path": (b"GET /api/v1/jobs/a%00b/log HTTP/1.1\r\n" + HOST + b"\r\n", "404"),
    "a line end in the path": (b"GET /api/v1/jobs/a%0d%0aX:b/log HTTP/1.1\r\n" + HOST + b"\r\n", "404"),
    "no HTTP": (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(200) + b"\r\n\r\n", "400"),
    "a header of a megabyte": (b"GET /api/v1/me HTTP/1.1\r\n" + HOST + b"X: " + b"a" * 1_000_000, "400"),
    "an address of a megabyte": (b"GET /api/v1/search?words=" + b"a" * 1_000_000, "400"),
    "thousands of headers": (b"GET /api/v1/me HTTP/1.1\r\n" + HOST + b"X: a\r\n" * 200_000 + b"\r\n", "400"),
}


@pytest.mark.parametrize("what", RAW)
def test_a_request_that_is_none_is_refused_and_the_server_goes_on(port, what):
    raw, status = RAW[what]
    try:
        told = asked(port, raw)
    except (ConnectionResetError, BrokenPipeError):  # it was closed while we still talked
        told = ""
    assert told.split(" ")[1:2] in ([status], [])
    assert told or len(raw) > 100_000, "only what is large may be dropped without a word"
    assert asked(port, b"GET /api/v1/me HTTP/1.1\r\n" + HOST + b"\r\n").endswith("200 OK")


def test_a_name_that_leads_elsewhere_writes_nothing_there(tmp_path):
    inside = tmp_path / "deep" / "home"
    with Assistant(inside) as assistant, serving(create_app(Settings(home=inside), assistant)) as address:
        for name in ("../../outside", "/tmp/outside", "..\\outside", "a/../../outside", "~/outside", "outside\u2024/x"):
            files = {"text": (None, "suction 118"), "job": (None, name)}
            answer = httpx.post(f"{address}/api/v1/notes", files=files)
            assert answer.status_code in (200, 201, 422), answer.text
    assert [path for path in tmp_path.rglob("*outside*")] == []
    assert not Path("/tmp/outside").exists()
    assert [path.name for path in tmp_path.iterdir()] == ["deep"]

"""What stands before every route: host, origin, size, rate and headers."""

from __future__ import annotations

import pytest

from api.app import create_app
from api.headers import HEADERS
from assistant import Assistant
from assistant.settings import Settings
from tests.api.conftest import OWN, client_of

READ, WRITE = "/api/v1/me", "/api/v1/jobs"
PLACES = ["/", "/office", "/api/v1/me", "/api/v1/health", "/static/base.css", "/nothing-here"]


@pytest.fixture(scope="module")
def local():
    with Assistant() as assistant, client_of(create_app(Settings(), assistant)) as client:
        yield client


@pytest.mark.parametrize("path", PLACES)
@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:80", "192.168.7.5", "localhost.evil.example", "", "[::1"]
)
def test_a_name_that_is_not_the_servers_own_is_refused_everywhere(local, path, host):
    answer = local.get(path, headers={"host": host})
    assert answer.status_code == 421
    assert answer.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize("host", ["localhost", "localhost:8642", "127.0.0.1", "[::1]:8642", "LOCALHOST"])
def test_loopback_by_any_of_its_names_is_answered(local, host):
    assert local.get(READ, headers={"host": host}).status_code == 200


def test_another_machine_is_not_answered_while_nothing_is_opened_for_it():
    with Assistant() as assistant, client_of(create_app(Settings(), assistant), address="192.168.7.20") as client:
        assert client.get(READ).status_code == 403
        assert client.get("/").status_code == 403


def test_in_the_network_only_the_names_of_the_certificate_are_answered(net):
    for host in ("192.168.7.5:8642", "van.local:8642", "localhost"):
        assert net.client.get(READ, headers={**net.tech, "host": host}).status_code == 200
    for host in ("192.168.7.6", "evil.example"):
        assert net.client.get(READ, headers={**net.tech, "host": host}).status_code == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://localhost:9999"},
        {"origin": "http://localhost.evil.example"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_another_sites_page_can_neither_read_nor_write(local, headers):
    assert local.get(READ, headers={**headers, "sec-fetch-mode": "cors"}).status_code == 403
    assert local.post(WRITE, json={"name": "x"}, headers={**OWN, **headers}).status_code == 403
    assert local.get("/api/v1/jobs").json() == []


def test_a_link_from_another_site_opens_a_page_and_writes_nothing(local):
    link = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"}
    assert local.get("/", headers=link).status_code == 200
    assert local.post(WRITE, json={"name": "x"}, headers={**OWN, **link}).status_code == 403


def test_a_write_from_a_page_needs_the_header_that_only_our_pages_send(local):
    page = {"origin": "http://localhost", "sec-fetch-site": "same-origin"}
    assert local.post(WRITE, json={"name": "from a page"}, headers=page).status_code == 403
    assert local.post(WRITE, json={"name": "from a page"}, headers={**page, **OWN}).status_code == 201


def test_a_form_of_another_site_with_the_cookie_is_refused(net):
    token = net.office["authorization"].removeprefix("Bearer ")
    cookie = {"cookie": f"__Host-superheard={token}"}
    assert net.client.post(WRITE, json={"name": "x"}, headers=cookie).status_code == 403
    assert net.client.post(WRITE, json={"name": "x"}, headers={**cookie, **OWN}).status_code == 201


def test_no_preflight_of_another_site_is_granted(local):
    asks = {"origin": "http://evil.example", "access-control-request-method": "POST"}
    answer = local.options(WRITE, headers=asks)
    assert answer.status_code == 403
    assert not [name for name in answer.headers if name.startswith("access-control")]


@pytest.mark.parametrize("path", [*PLACES, "/api/v1/nothing", "/api/v1/notes/000000000000"])
def test_every_answer_carries_the_headers(local, path):
    answer = local.get(path)
    assert set(HEADERS) <= set(answer.headers)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "script-src" not in policy or "script-src 'self';" in policy


def test_a_fault_of_ours_says_nothing_of_what_it_was_and_carries_the_headers_too(local, monkeypatch):
    def fails(*_: object):
        raise RuntimeError("secret words")

    monkeypatch.setattr(local.app.state.assistant, "jobs", fails)
    answer = local.get("/api/v1/jobs")
    assert answer.status_code == 500
    assert answer.headers["content-type"] == "application/problem+json"
    assert "secret" not in answer.text
    assert set(HEADERS) <= set(answer.headers)


def test_a_body_is_refused_by_the_size_it_states_before_any_of_it_is_read(local):
    sent = []

    def body():
        for _ in range(1000):
            sent.append(1)
            yield b"x" * 10_000

    answer = local.post(
        WRITE, content=body(), headers={"content-length": "10000000", "content-type": "application/json"}
    )
    assert answer.status_code == 413
    assert answer.headers["connection"] == "close"


def test_a_body_that_states_no_size_is_stopped_on_the_way(local):
    answer = local.post(
        WRITE, content=(b"x" * 10_000 for _ in range(100)), headers={"content-type": "application/json"}
    )
    assert answer.status_code == 413


def test_a_recording_may_be_as_large_as_the_setting_says_and_no_larger():
    settings = Settings(max_upload_mb=0.5)
    with Assistant() as assistant, client_of(create_app(settings, assistant)) as client:
        for size, status in ((400_000, 415), (600_000, 413)):
            answer = client.post("/api/v1/notes", files={"audio": ("a.wav", b"\0" * size)})
            assert answer.status_code == status, answer.text


def test_a_device_that_asks_too_often_is_told_when_to_come_back():
    with Assistant() as assistant, client_of(create_app(Settings(requests_per_minute=5), assistant)) as client:
        answers = [client.get(READ) for _ in range(8)]
    assert [answer.status_code for answer in answers] == [200] * 5 + [429] * 3
    assert 1 <= int(answers[-1].headers["retry-after"]) <= 60


def test_one_device_that_asks_too_often_does_not_shut_out_another_at_the_same_address(assistant, certificate):
    app = create_app(Settings(requests_per_minute=5), assistant, certificate)
    with client_of(app, "https://192.168.7.5", "192.168.7.20") as client:
        busy, other = ({"authorization": f"Bearer {app.state.devices.add(name, 'tech')[1]}"} for name in ("A", "B"))
        assert [client.get(READ, headers=busy).status_code for _ in range(6)][-1] == 429
        assert client.get(READ, headers=other).status_code == 200

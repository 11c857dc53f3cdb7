"""Who may come in: pairing, tokens, roles and the calendar's link."""

from __future__ import annotations

import hashlib
import re
import stat
from datetime import datetime, timedelta

import pytest
from fastapi.routing import iter_route_contexts
from starlette.websockets import WebSocketDisconnect

from api.access import CODE_MINUTES, OFFICE, TECH, Codes, Devices
from api.kept import DATABASE, Kept
from tests.api.conftest import OWN

# Every address that answers without a token, and why it may.
OPEN = {
    "/api/v1/health": "says that it is up",
    "/api/v1/pair": "takes a code",
    "/api/v1/authority.crt": "is public by its nature",
    "/api/v1/calendar.ics": "takes a token of its own",
    "/api/v1/openapi.json": "describes the interface, and holds no job",
    "/pair": "where a code is typed in",
    "/offline": "has nothing of a job in it",
    "/manifest.webmanifest": "has nothing of a job in it",
    "/service-worker.js": "has nothing of a job in it",
}
# What only the office may do.
OFFICE_ALONE = [
    ("GET", "/api/v1/devices"),
    ("POST", "/api/v1/devices/codes"),
    ("POST", "/api/v1/calendar"),
    ("POST", "/api/v1/jobs/{job}/corrections"),
    ("POST", "/api/v1/notes/{note}/hear"),
    ("GET", "/api/v1/jobs/{job}/invoice.csv"),
    ("GET", "/api/v1/jobs/{job}/proposal.txt"),
]
BODIES = {
    "/api/v1/devices/codes": {"role": "tech"},
    "/api/v1/jobs/{job}/corrections": {"note": "0" * 12, "quantity": "superheat", "said": "x", "action": "confirm"},
}


def filled(path: str) -> str:
    return (
        path.replace("{note}", "0" * 12)
        .replace("{sha256}", "0" * 64)
        .replace("{device}", "0" * 16)
        .replace("{job}", "print-shop")
    )


def routes_of(app) -> list[tuple[str, str]]:
    found = [(method, context.path) for context in iter_route_contexts(app.routes) for method in context.methods or ()]
    return sorted(set(found))


def test_nothing_but_the_open_addresses_answers_without_a_token(net):
    checked = 0
    for method, path in routes_of(net.client.app):
        if path in OPEN or path.startswith("/static"):
            continue
        answer = net.client.request(method, filled(path), headers=OWN, follow_redirects=False)
        refused = 401 if path.startswith("/api/") else 303
        assert answer.status_code == refused, f"{method} {path} answered {answer.status_code}"
        checked += 1
    assert checked > 25


def test_every_open_address_is_there_and_knows_no_job(net):
    net.client.app.state.assistant.tell("suction 118", job="secret-orchard")
    known = {path for _, path in routes_of(net.client.app)}
    for path in OPEN:
        assert path in known
        assert "orchard" not in net.client.get(path).text


@pytest.mark.parametrize("token", ["wrong", "Bearer", "x" * 5000, "caf\xe9".encode("latin-1"), "0" * 43])
def test_a_wrong_token_is_refused(net, token):
    token = token if isinstance(token, bytes) else token.encode()
    assert net.client.get("/api/v1/me", headers={"authorization": b"Bearer " + token}).status_code == 401
    assert net.client.get("/api/v1/me", headers={"cookie": b"__Host-superheard=" + token}).status_code == 401


def test_after_ten_wrong_tokens_an_address_is_let_in_no_more_for_a_while_even_with_a_right_one(net):
    guesses = [net.client.get("/api/v1/me", headers={"authorization": f"Bearer {n:043}"}) for n in range(12)]
    assert [answer.status_code for answer in guesses] == [401] * 10 + [429] * 2
    assert int(guesses[-1].headers["retry-after"]) >= 1
    assert net.client.get("/api/v1/me", headers=net.tech).status_code == 429


@pytest.mark.parametrize(("method", "path"), OFFICE_ALONE)
def test_a_tech_may_not_do_what_is_the_offices(net, method, path):
    asked = {"json": BODIES[path]} if path in BODIES else {}
    assert net.client.request(method, filled(path), headers=net.tech, **asked).status_code == 403
    assert net.client.request(method, filled(path), headers=net.office, **asked).status_code in (200, 201, 404)


def test_no_page_of_the_office_is_shown_to_a_tech(net):
    pages = [
        path for method, path in routes_of(net.client.app) if method == "GET" and re.match("/(office|devices)", path)
    ]
    assert pages
    for path in pages:
        assert net.client.get(filled(path), headers=net.tech).status_code == 403, path


def test_a_tech_may_tell_and_ask_and_look(net):
    told = net.client.post("/api/v1/notes", data={"text": "head pressure 345", "job": "a"}, headers=net.tech)
    assert told.status_code == 201
    for path in (f"notes/{told.json()['note']}", "jobs", "jobs/a/log", "jobs/a/log.csv", "tasks", "search?words=head"):
        assert net.client.get(f"/api/v1/{path}", headers=net.tech).status_code == 200, path


# ------------------------------------------------------------ pairing


def paired(net, code, **more):
    return net.client.post("/api/v1/pair", json={"code": code, "name": "Bo", **more}, headers=OWN)


def new_code(net, role=TECH):
    return net.client.post("/api/v1/devices/codes", json={"role": role}, headers=net.office).json()


def test_a_code_lets_one_device_in_with_its_role_and_works_once(net):
    code = new_code(net)
    assert code["address"] == f"https://192.168.7.5:8642/pair#{code['code']}"
    assert code["qr_svg"].startswith("<svg")
    first = paired(net, code["code"].lower().replace("-", " "))
    assert first.status_code == 201
    assert first.json()["role"] == "tech"
    assert net.client.get("/api/v1/me").json()["name"] == "Bo"  # the client keeps the cookie
    assert paired(net, code["code"]).status_code == 403


def test_the_cookie_is_out_of_reach_of_scripts_and_of_other_sites(net):
    cookie = paired(net, new_code(net)["code"]).headers["set-cookie"]
    name, *flags = [part.strip().lower() for part in cookie.split(";")]
    assert name.startswith("__host-superheard=")
    assert {"httponly", "secure", "samesite=strict", "path=/"} <= set(flags)
    assert not [flag for flag in flags if flag.startswith("domain")]


def test_a_program_gets_a_token_in_place_of_a_cookie(net):
    made = paired(net, new_code(net)["code"], keep="token")
    assert "set-cookie" not in made.headers
    bearer = {"authorization": f"Bearer {made.json()['token']}"}
    assert net.client.get("/api/v1/me", headers=bearer).json()["role"] == "tech"


def test_codes_cannot_be_guessed_in_turn(net):
    code = new_code(net)["code"]
    guesses = [paired(net, f"{n:08}") for n in range(12)]
    assert [answer.status_code for answer in guesses] == [403] * 10 + [429] * 2
    assert paired(net, code).status_code == 429  # not even the right one, from this address


def test_after_twenty_wrong_guesses_by_all_together_no_open_code_works_any_more():
    codes = Codes()
    code = codes.make(TECH)
    assert [codes.use("wrong") for _ in range(20)] == [None] * 20
    assert codes.use(code) is None
    assert codes.use(codes.make(OFFICE)) == OFFICE


def test_a_code_ends_after_its_minutes():
    now = [0.0]
    codes = Codes(lambda: now[0])
    early, late = codes.make(TECH), codes.make(TECH)
    now[0] = CODE_MINUTES * 60 - 1
    assert codes.use(early) == TECH
    now[0] = CODE_MINUTES * 60 + 1
    assert codes.use(late) is None


def test_codes_and_tokens_are_long_and_never_the_same():
    codes = Codes()
    made = {codes.make(TECH) for _ in range(500)}
    assert len(made) == 500
    assert all(re.fullmatch(r"[2-9A-HJKMNP-Z]{4}-[2-9A-HJKMNP-Z]{4}", code) for code in made)
    devices = Devices(Kept(None), 180)
    tokens = {devices.add("x", TECH)[1] for _ in range(50)}
    assert len(tokens) == 50
    assert all(len(token) == 43 for token in tokens)  # 256 bits


def test_on_loopback_alone_there_is_nothing_to_pair_with(shop):
    assert shop.post("/api/v1/devices/codes", json={}).status_code == 409
    assert shop.get("/api/v1/me").json() == {"name": "this computer", "role": "office", "device": None}


# ------------------------------------------------------------ devices


def test_a_revoked_device_is_let_in_no_more_from_that_moment_and_after_a_restart(net, home):
    listed = {each["name"]: each for each in net.client.get("/api/v1/devices", headers=net.office).json()}
    assert listed["Desk"]["this"] is True
    ana = listed["Ana"]["id"]
    assert net.client.get("/api/v1/me", headers=net.tech).status_code == 200
    assert net.client.delete(f"/api/v1/devices/{ana}", headers=net.office).status_code == 204
    assert net.client.get("/api/v1/me", headers=net.tech).status_code == 401
    assert net.client.delete(f"/api/v1/devices/{ana}", headers=net.office).status_code == 404
    token = net.tech["authorization"].removeprefix("Bearer ")
    assert Devices(Kept(home), 180).of_token(token) is None


def test_a_tech_may_revoke_its_own_device_and_no_other(net):
    me = net.client.get("/api/v1/me", headers=net.tech).json()["device"]
    desk = net.client.get("/api/v1/me", headers=net.office).json()["device"]
    assert net.client.delete(f"/api/v1/devices/{desk}", headers=net.tech).status_code == 403
    assert net.client.delete(f"/api/v1/devices/{me}", headers=net.tech).status_code == 204
    assert net.client.get("/api/v1/me", headers=net.tech).status_code == 401


def test_no_token_is_anywhere_on_the_disk_and_nobody_else_can_read_the_file(net, home):
    token = net.tech["authorization"].removeprefix("Bearer ")
    files = [file.read_bytes() for file in home.rglob("*") if file.is_file()]
    assert any(hashlib.sha256(token.encode()).hexdigest().encode() in raw for raw in files)
    assert not any(token.encode() in raw for raw in files)
    assert stat.S_IMODE((home / DATABASE).stat().st_mode) == 0o600


def test_a_device_that_was_not_seen_for_too_long_must_be_paired_again(home):
    kept = Kept(home)
    _, token = Devices(kept, 30).add("Ana", TECH)
    for days, may in ((29, True), (31, False)):
        seen = (datetime.now().astimezone() - timedelta(days=days)).isoformat()
        with kept.open() as db:
            db.execute("UPDATE device SET seen_at = ?", (seen,))
        assert (Devices(kept, 30).of_token(token) is not None) is may


def test_two_devices_never_have_the_same_name(home):
    devices = Devices(Kept(home), 180)
    assert [devices.add("Ana", TECH)[0].name for _ in range(3)] == ["Ana", "Ana 2", "Ana 3"]


# ------------------------------------------------------------ the calendar


def test_a_calendars_link_reads_the_tasks_and_nothing_else(net):
    net.client.app.state.assistant.tell("I'll call the owner on Monday", job="bakery")
    link = net.client.post("/api/v1/calendar", headers=net.office).json()
    path, token = link["address"].removeprefix("https://192.168.7.5:8642").split("?token=")
    feed = net.client.get(path, params={"token": token})
    assert feed.status_code == 200
    assert feed.headers["content-type"].startswith("text/calendar")
    assert "call the owner" in feed.text
    assert net.client.get("/api/v1/jobs", headers={"authorization": f"Bearer {token}"}).status_code == 403
    assert net.client.get("/api/v1/jobs", params={"token": token}).status_code == 401
    assert net.client.delete(f"/api/v1/devices/{link['id']}", headers=net.office).status_code == 204
    assert net.client.get(path, params={"token": token}).status_code == 401


def test_a_techs_token_is_not_taken_in_an_address_where_logs_would_keep_it(net):
    token = net.tech["authorization"].removeprefix("Bearer ")
    assert net.client.get("/api/v1/calendar.ics", params={"token": token}).status_code == 403
    assert net.client.get("/api/v1/calendar.ics").status_code == 401
    assert net.client.get("/api/v1/calendar.ics", headers=net.tech).status_code == 200


# ------------------------------------------------------------ the socket


@pytest.mark.parametrize(
    "headers",
    [{}, {"authorization": "Bearer wrong"}, {"host": "evil.example"}, {"origin": "https://evil.example"}],
    ids=["no token", "wrong token", "wrong host", "wrong origin"],
)
def test_the_socket_opens_for_nobody_who_may_not_come_in(net, headers):
    if "origin" in headers or "host" in headers:
        headers = {**net.tech, **headers}
    with pytest.raises(WebSocketDisconnect) as refused, net.client.websocket_connect("/api/v1/listen", headers=headers):
        pass
    assert refused.value.code == 1008

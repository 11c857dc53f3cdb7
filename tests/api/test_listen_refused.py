"""Nonsense, too much and the wrong people over the WebSocket: told, bounded, refused."""

from __future__ import annotations

import json
import time
import uuid

import numpy as np
import pytest
from starlette.websockets import WebSocketDisconnect

from api import listen, listening, spoken
from api.app import create_app
from api.listening import Connection
from assistant.hear.windows import RATE
from assistant.settings import Settings
from tests.api.conftest import client_of
from tests.api.phone_line import (
    being_spoken,
    connected,
    last,
    phone,
    until,
)
from tests.hear.test_live import silence

# ---------------------------------------------------------------- nonsense, and too much


def start_with(**values) -> str:
    return json.dumps({"kind": "start", "client_id": str(uuid.uuid4()), "mode": "hands_free"} | values)


@pytest.mark.parametrize(
    ("message", "problem"),
    [
        ("not json", "not_understood"),
        ("[1, 2]", "not_understood"),
        ('{"kind": "sing"}', "not_understood"),
        ('{"kind": "start"}', "not_understood"),
        ('{"kind": "start", "client_id": "x", "mode": "hands_free"}', "not_understood"),
        (start_with(mode="whisper"), "not_understood"),
        (start_with(rate=8000), "bad_sound"),
        (start_with(job="  "), "not_understood"),
        (start_with(end_pause_s=0), "not_understood"),
        (start_with(end_pause_s=float("inf")), "not_understood"),
        ('{"kind": "start", "date": "' + "9" * 5000 + '"}', "not_understood"),
        ('{"kind": "done"}', "not_started"),
        (b"\0\0" * 100, "not_started"),
        (b"\0" * 101, "bad_sound"),
        (b"\0" * 65_538, "bad_sound"),
    ],
)  # fmt: skip
def test_nonsense_is_told_and_the_connection_goes_on(shop, recogniser, message, problem):
    with phone(shop) as tech:
        (tech.socket.send_bytes if isinstance(message, bytes) else tech.socket.send_text)(message)
        told = last(tech, "problem")
        assert told["problem"] == problem and told["detail"] and not told["fatal"]
        assert problem in listen.PROBLEMS
        tech.start()
        tech.until("listening")


def test_a_second_note_is_not_begun_while_one_is_spoken(shop, recogniser, speech):
    with phone(shop) as tech:
        tech.start("push_to_talk")
        tech.sound(speech)
        tech.start("push_to_talk")
        assert last(tech, "problem")["problem"] == "still_open"


def test_hands_free_another_note_may_be_begun_while_nobody_has_spoken(shop, recogniser, speech):
    with phone(shop) as tech:
        tech.start(job="bakery")
        tech.sound(silence(1))
        second = tech.start(job="clinic")
        tech.sound(np.concatenate([silence(1), speech, silence(3)]))
        assert tech.until("answer", second)["job"] == "clinic"


def test_nothing_but_nonsense_is_let_go(shop, recogniser):
    with phone(shop) as tech:
        for _ in range(listening.MOST_FAULTS + 1):
            tech.socket.send_text("?")
        assert tech.closed() == 1008


def test_more_connections_than_are_listened_to_are_refused(home, assistant, recogniser):
    app = create_app(Settings(home=home, spoken_at_once=2), assistant)
    with client_of(app) as client, phone(client) as one, phone(client) as two:
        one.start(), two.start()
        one.until("listening"), two.until("listening")
        with phone(client) as three:
            assert three.closed() == 1013
            assert three.heard[-1]["problem"] == "too_many"


def test_one_paired_device_has_a_few_connections_and_no_more(net, recogniser):
    sockets = [connected(net.client, headers=net.tech) for _ in range(listen.MOST_OF_ONE)]
    for socket in sockets:
        socket.__enter__()
    with phone(net.client, headers=net.tech) as more:
        assert more.closed() == 1013
    with phone(net.client, headers=net.office) as other:
        other.start()
        other.until("listening")
    for socket in sockets:
        socket.__exit__(None, None, None)


def test_a_client_that_sends_nothing_is_let_go(shop, recogniser, monkeypatch):
    monkeypatch.setattr(listening, "IDLE_S", 0.2)
    with phone(shop) as tech:
        assert tech.closed() == 1001
    assert tech.heard[-1]["problem"] == "idle"


@pytest.mark.anyio
async def test_a_client_that_does_not_read_is_let_go(monkeypatch, recogniser):
    import asyncio

    monkeypatch.setattr(listening, "SLOW_S", 0.2)

    class Stuck:
        closed = None

        async def receive(self):
            await asyncio.sleep(0)
            return {"type": "websocket.receive", "text": "?"}

        async def send_text(self, text):
            await asyncio.sleep(60)

        async def close(self, code):
            self.closed = code

    socket = Stuck()
    monkeypatch.setattr(listening, "MOST_FAULTS", 10**9)
    await asyncio.wait_for(Connection(socket, None, None, 1.0).run(), 10)
    assert socket.closed == 1008


def test_sound_is_read_no_faster_than_it_is_heard(shop, recogniser, speech, monkeypatch):
    """Sent at once, hours of talk would fill the memory."""
    monkeypatch.setattr(spoken, "MOST_UNDECODED_S", 5.0)
    recogniser.gate.clear()
    with phone(shop) as tech:
        mine = tech.start("push_to_talk")
        for _ in range(6):
            tech.sound(np.concatenate([speech, silence(3)]))
        until(lambda: being_spoken(shop, mine) is not None)
        note = being_spoken(shop, mine)
        until(lambda: note.live.undecoded_s() > 5)
        time.sleep(0.5)
        taken = note.live.received
        assert taken < 4 * 7 * RATE
        recogniser.gate.set()
        until(lambda: note.live.received == 6 * (len(speech) + 3 * RATE), 30)
        tech.say("done")
        tech.until("answer")


def test_pages_are_answered_while_the_recogniser_works(shop, recogniser, speech):
    recogniser.gate.clear()
    with phone(shop) as tech:
        tech.start("push_to_talk")
        tech.sound(speech)
        tech.say("done")
        tech.until("kept")
        assert shop.get("/api/v1/health").status_code == 200
        assert not recogniser.gate.is_set()  # it would have failed, had the page waited for it
        recogniser.gate.set()
        tech.until("answer")


# ---------------------------------------------------------------- who may


def test_a_socket_opened_by_a_page_from_elsewhere_is_refused(shop, recogniser):
    for headers in ({"origin": "https://elsewhere.example"}, {"host": "elsewhere.example"}):
        with pytest.raises(WebSocketDisconnect), connected(shop, headers=headers):
            pass
    with phone(shop, headers={"origin": "http://localhost"}) as tech:
        tech.start()
        tech.until("listening")


def test_a_device_that_is_not_paired_is_refused(net, recogniser):
    with pytest.raises(WebSocketDisconnect), connected(net.client):
        pass


def test_a_device_that_was_revoked_begins_no_further_note(net, recogniser):
    devices = net.client.app.state.devices
    with phone(net.client, headers=net.tech) as tech:
        first = tech.start()
        tech.until("listening", first)
        (device,) = [each for each in devices.listed() if each.name == "Ana"]
        devices.revoke(device.id)
        tech.start()
        assert tech.closed() == 1008
    assert tech.heard[-1]["problem"] == "not_let_in"


def test_another_devices_note_is_not_told(net, assistant, recogniser, speech):
    with phone(net.client, headers=net.tech) as tech:
        mine = tech.start("push_to_talk")
        tech.sound(speech)
        tech.say("done")
        tech.until("answer")
    with phone(net.client, headers=net.office) as other:
        other.start("push_to_talk", mine)
        assert other.until("listening")["received"] == 0

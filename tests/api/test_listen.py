"""Notes over the WebSocket: heard while they are spoken, kept before they are answered, each once, whatever breaks."""

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

from api import listen, listening, spoken
from api.app import create_app
from api.deps import SHOP
from api.listening import Connection
from assistant import Assistant
from assistant.errors import ModelError, StoreError
from assistant.hear.gates import Heard
from assistant.hear.recording import read_recording
from assistant.hear.windows import RATE, Window
from assistant.records import Word
from assistant.settings import Settings
from tests.api.conftest import DEMO, client_of
from tests.hear.sounds import HERE
from tests.hear.test_live import pcm, silence

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


# ---------------------------------------------------------------- a note, from speech to answer


def test_a_hands_free_note_is_noticed_kept_and_answered(shop, assistant, recogniser, speech):
    with phone(shop) as tech:
        mine = tech.start(job="bakery", date="2026-03-02")
        tech.sound(np.concatenate([silence(2), speech, silence(3)]))
        answer = tech.until("answer")
        kinds = [kind for kind in tech.kinds() if kind != "heard_so_far"]
        assert kinds == ["listening", "speech_began", "speech_ended", "kept", "answer"]
        assert all(message["client_id"] == mine for message in tech.heard)
    assert answer["said"] == SAID
    assert "118" in answer["say"] and "345" in answer["say"]
    assert "one eighteen" in answer["aloud"]
    assert (answer["job"], answer["date"]) == ("bakery", "2026-03-02")
    assert notes(assistant, "bakery") == [answer["note"]]
    assert [reading["value"] for reading in assistant.log("bakery")["readings"]] == [118, 345]


def test_its_recording_is_what_was_streamed_and_is_on_the_disk_before_the_answer(shop, assistant, recogniser, speech):
    sound = np.concatenate([silence(0.5), speech, silence(0.5)])
    recogniser.gate.clear()
    with phone(shop) as tech:
        tech.start("push_to_talk", job="bakery")
        tech.sound(sound)
        tech.say("done")
        kept = tech.until("kept")
        assert kept["samples"] == len(sound)
        kept_sound = read_recording(assistant.recording_file(kept["note"])).samples
        assert pcm(kept_sound) == pcm(sound)
        assert assistant.waiting() == [kept["note"]]
        recogniser.gate.set()
        tech.until("answer")
    assert assistant.waiting() == []


def test_the_words_heard_live_are_the_notes_transcript_and_nothing_is_decoded_twice(
    shop, assistant, recogniser, speech, monkeypatch
):
    monkeypatch.setattr(Assistant, "weights", lambda self: pytest.fail("decoded again"))
    with phone(shop) as tech:
        tech.start("push_to_talk", job="bakery")
        tech.sound(np.concatenate([speech, silence(0.2)]))
        tech.say("done")
        note = tech.until("answer")["note"]
    transcript = assistant.transcript(note)
    assert transcript.text == SAID
    assert transcript.model == "base"
    assert len(recogniser.windows) == len(set(recogniser.windows)) == 1


def test_words_are_shown_while_the_person_still_talks(shop, recogniser, speech):
    with phone(shop) as tech:
        tech.start("push_to_talk")
        tech.sound(np.concatenate([speech, silence(0.6)]))
        assert tech.until("heard_so_far")["text"] == SAID
        tech.say("done")
        tech.until("answer")


def test_notes_follow_each_other_and_sound_in_between_belongs_to_the_next(shop, assistant, recogniser, speech):
    with phone(shop) as tech:
        first = tech.start(job="bakery")
        tech.sound(np.concatenate([speech, silence(2.5), speech, silence(0.3)]))  # more than one note at once
        ended = tech.until("speech_ended")
        second = tech.start("push_to_talk", job="bakery")
        received = tech.until("listening", second)["received"]
        assert received == 8 * RATE + int(2.8 * RATE) - ended["samples"]
        tech.say("done")
        assert tech.until("speech_ended", second)["samples"] == received
        tech.until("answer", second) if "answer" not in tech.kinds(second) else None
    until(lambda: not assistant.waiting())
    assert len(notes(assistant, "bakery")) == 2
    assert "answer" in tech.kinds(first)


def test_what_is_heard_while_the_phone_speaks_is_in_no_note(shop, recogniser, speech):
    with phone(shop) as tech:
        tech.start()
        tech.say("speaking")
        tech.sound(speech)
        tech.say("spoken")
        tech.sound(silence(1))
        tech.say("done")
        ended = tech.until("speech_ended")
    assert (ended["why"], ended["samples"]) == ("nothing", RATE)
    assert tech.kinds() == ["listening", "speech_ended"]


def test_noise_without_words_is_kept_and_needs_no_saying(shop, recogniser, speech):
    recogniser.says = ""
    with phone(shop) as tech:
        tech.start()
        tech.sound(np.concatenate([speech, silence(3)]))
        answer = tech.until("answer")
    assert answer["said"] == "" and answer["aloud"] == "" and answer["say"]


def test_after_stop_the_last_note_is_answered_and_the_connection_closed(shop, assistant, recogniser, speech):
    with phone(shop) as tech:
        tech.start(job="bakery")
        tech.sound(np.concatenate([silence(1), speech]))
        tech.say("stop")
        assert tech.closed() == 1000
    assert tech.kinds()[-3:] == ["speech_ended", "kept", "answer"]
    assert len(notes(assistant, "bakery")) == 1


def test_who_tells_is_kept_with_the_note(net, assistant, recogniser, speech):
    with phone(net.client, headers=net.tech) as tech:
        tech.start("push_to_talk")
        tech.sound(speech)
        tech.say("done")
        note = tech.until("answer")["note"]
    assert assistant.note_told(note).by == "Ana"


# ---------------------------------------------------------------- what breaks, and once is once


def test_a_broken_note_goes_on_where_it_was(shop, assistant, recogniser, speech):
    with phone(shop) as tech:
        mine = tech.start("push_to_talk", job="bakery")
        tech.sound(speech[: 2 * RATE])
        tech.until("speech_began")
        taken(shop, mine, 2 * RATE)
    until(lambda: being_spoken(shop, mine).is_left)
    with phone(shop) as tech:
        tech.start("push_to_talk", mine, job="bakery")
        received = tech.until("listening")["received"]
        assert received == 2 * RATE
        tech.sound(speech[received:])
        tech.say("done")
        note = tech.until("answer")["note"]
    assert len(notes(assistant, "bakery")) == 1
    assert pcm(read_recording(assistant.recording_file(note)).samples) == pcm(speech)


def test_a_note_whose_client_stays_away_is_told_as_far_as_it_came_and_told_once(
    shop, assistant, recogniser, speech, monkeypatch
):
    monkeypatch.setattr(spoken, "GRACE_S", 0.2)
    with phone(shop) as tech:
        mine = tech.start(job="bakery")
        tech.sound(np.concatenate([silence(3), speech]))
        began = tech.until("speech_began")["at"]
        taken(shop, mine, 3 * RATE + len(speech))
    until(lambda: assistant.jobs() and not assistant.waiting())
    (note,) = notes(assistant, "bakery")
    for _ in range(2):
        with phone(shop) as tech:
            tech.start("push_to_talk", mine, job="bakery")
            answer = tech.until("answer")
        assert tech.kinds() == ["speech_ended", "kept", "answer"]
        assert tech.heard[0]["why"] == "broken"
        assert (tech.heard[1]["note"], tech.heard[1]["samples"]) == (note, 3 * RATE + len(speech))
        assert answer["said"] == SAID
    assert len(notes(assistant, "bakery")) == 1
    kept = read_recording(assistant.recording_file(note))
    assert kept.duration_s == pytest.approx((3 * RATE + len(speech) - began) / RATE)


def test_a_connection_that_breaks_where_nobody_spoke_leaves_nothing(shop, assistant, recogniser, monkeypatch):
    monkeypatch.setattr(spoken, "GRACE_S", 0.1)
    with phone(shop) as tech:
        mine = tech.start()
        tech.sound(silence(2))
        tech.until("listening")
    until(lambda: being_spoken(shop, mine) is None)
    assert assistant.jobs() == []


def test_an_answer_that_was_not_received_is_said_again_after_a_restart(home, recogniser, speech):
    with Assistant(home) as assistant:
        with client_of(create_app(Settings(home=home), assistant)) as client, phone(client) as tech:
            mine = tech.start("push_to_talk", job="bakery")
            tech.sound(speech)
            tech.say("done")
            first = tech.until("answer")
        with client_of(create_app(Settings(home=home), assistant)) as client, phone(client) as tech:
            tech.start("push_to_talk", mine, job="bakery")
            again = tech.until("answer")
        assert len(notes(assistant, "bakery")) == 1
    assert (again["note"], again["said"]) == (first["note"], first["said"])
    assert tech.heard[1]["new"] is False and tech.heard[1]["samples"] == len(speech)


def test_when_the_server_stops_what_was_said_is_kept_and_heard_when_it_runs_again(home, recogniser, speech):
    with Assistant(home) as assistant:
        with client_of(create_app(Settings(home=home), assistant)) as client, phone(client) as tech:
            mine = tech.start(job="bakery")
            tech.sound(np.concatenate([silence(1), speech]))
            tech.until("speech_began")
            taken(client, mine, RATE + len(speech))
        (note,) = assistant.waiting()
        assert assistant.note_told(note).job == "bakery"
        assert read_recording(assistant.recording_file(note)).duration_s > len(speech) / RATE


def test_a_second_connection_takes_the_note_over_and_the_first_is_told(shop, recogniser, speech):
    with phone(shop) as first, phone(shop) as second:
        mine = first.start("push_to_talk")
        first.sound(speech[:RATE])
        first.until("listening")
        taken(shop, mine, RATE)
        second.start("push_to_talk", mine)
        assert second.until("listening")["received"] == RATE
        assert first.closed() == 1008
        assert first.heard[-1]["problem"] == "elsewhere" and first.heard[-1]["fatal"]
        second.say("done")
        second.until("answer")


def test_where_the_recogniser_fails_the_note_is_kept_and_queued(shop, assistant, recogniser, speech, monkeypatch):
    queued: list[str] = []
    monkeypatch.setattr(shop.app.state.hearing, "add", queued.append)
    recogniser.fails = True
    with phone(shop) as tech:
        tech.start("push_to_talk", job="bakery")
        tech.sound(speech)
        tech.say("done")
        problem = last(tech, "problem")
    assert problem["problem"] == "not_heard" and not problem["fatal"]
    assert tech.kinds()[-3:] == ["speech_ended", "kept", "problem"]
    assert queued == assistant.waiting() != []


def test_where_the_store_fails_the_client_is_told_to_keep_its_own(shop, assistant, recogniser, speech, monkeypatch):
    def full(*_, **__):
        raise StoreError("The disk is full.")

    monkeypatch.setattr(assistant, "accept", full)
    with phone(shop) as tech:
        tech.start("push_to_talk")
        tech.sound(speech)
        tech.say("done")
        problem = last(tech, "problem")
    assert (problem["problem"], problem["detail"]) == ("not_kept", "The disk is full.")
    assert "kept" not in tech.kinds()


def test_an_id_that_told_something_else_is_a_conflict(shop, assistant, recogniser, speech):
    mine = str(uuid.uuid4())
    assistant.accept("Head 345.", job="bakery", client_id=mine)
    with phone(shop) as tech:
        tech.start("push_to_talk", mine, job="bakery")
        tech.sound(speech)
        tech.say("done")
        assert last(tech, "problem")["problem"] == "conflict"


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
        began = time.monotonic()
        assert shop.get("/api/v1/health").status_code == 200
        assert time.monotonic() - began < 2
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


# ---------------------------------------------------------------- with the recogniser


def test_a_recording_spoken_over_the_socket_gives_its_readings(shop, assistant):
    """A demonstration recording in pieces of a tenth of a second, twice as fast as life, with the real recogniser."""
    samples = read_recording(DEMO / "11_recheck.ogg").samples
    sound = pcm(np.concatenate([silence(1), samples, silence(8)]))
    with phone(shop) as tech:
        tech.start(job="studio", date="2025-09-04")
        for at in range(0, len(sound), PIECE):
            tech.socket.send_bytes(sound[at : at + PIECE])
            time.sleep(0.05)
        answer = tech.until("answer")
    values = {reading["quantity"]: reading["value"] for reading in assistant.log("studio")["readings"]}
    assert values["suction_pressure"] == 124 and values["liquid_pressure"] == 358
    assert "heard_so_far" in tech.kinds()
    assert assistant.transcript(answer["note"]).text == answer["said"]

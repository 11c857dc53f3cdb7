"""How far a recording is with being heard, told as it goes over HTTP."""

from __future__ import annotations

import json
import threading

import httpx
import pytest

from api.app import create_app
from assistant.errors import RecordingError
from assistant.settings import Settings
from tests.api.conftest import serving, told
from tests.api.test_notes import NOTES, heard, recorded
from tests.door.sounds import tone


def events_of(client, note: str) -> list[tuple[str, dict]]:
    events, name = [], ""
    with client.stream("GET", f"{NOTES}/{note}/progress") as stream:
        assert stream.headers["content-type"].startswith("text/event-stream")
        for line in stream.iter_lines():
            if line.startswith("event: "):
                name = line.removeprefix("event: ")
            elif line.startswith("data: "):
                events.append((name, json.loads(line.removeprefix("data: "))))
    return events


@pytest.fixture
def live(assistant, home):
    """The server on a real port, where a stream is a stream."""
    with serving(create_app(Settings(home=home), assistant)) as address, httpx.Client(base_url=address) as client:
        yield client


def test_progress_is_told_while_a_note_is_heard_and_ends_with_the_answer(live, slow_ears):
    slow_ears.go_on.clear()
    note = recorded(live, tone(440)).json()["note"]
    assert slow_ears.listening.wait(5)
    threading.Timer(0.3, slow_ears.go_on.set).start()
    events = events_of(live, note)
    assert [name for name, _ in events[:-1]] == ["progress"] * (len(events) - 1)
    assert len(events) >= 2
    name, last = events[-1]
    assert name == "done"
    assert last["said"] == slow_ears.says
    assert "345" in last["say"]


def test_progress_of_a_note_that_is_heard_already_ends_at_once(live):
    note = told(live, "head 345")["note"]
    assert [name for name, _ in events_of(live, note)] == ["done"]


def test_progress_of_a_note_that_cannot_be_heard_ends_with_the_reason(live, slow_ears):
    slow_ears.fails = RecordingError("It is damaged.")
    note = recorded(live, tone(440)).json()["note"]
    name, last = events_of(live, note)[-1]
    assert (name, last["reason"]) == ("failed", "It is damaged.")


def test_progress_of_no_note_is_not_found(live):
    answer = live.get(f"{NOTES}/000000000000/progress")
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"


def test_somebody_who_goes_away_is_not_followed_any_more(live, slow_ears, assistant):
    slow_ears.go_on.clear()
    note = recorded(live, tone(440)).json()["note"]
    with live.stream("GET", f"{NOTES}/{note}/progress") as stream:
        next(stream.iter_lines())
    slow_ears.go_on.set()
    assert heard(live, note)["state"] == "heard"


def test_the_server_stops_while_somebody_waits_for_a_note(assistant, home, slow_ears):
    slow_ears.go_on.clear()
    app = create_app(Settings(home=home), assistant)
    with serving(app) as address:
        client = httpx.Client(base_url=address)
        note = recorded(client, tone(440)).json()["note"]
        waits = threading.Thread(target=events_of, args=(client, note), daemon=True)
        waits.start()
        assert slow_ears.listening.wait(5)
        app.state.hearing.stop()
        slow_ears.go_on.set()
    waits.join(5)
    assert not waits.is_alive()

"""Whatever breaks on the line, in the recogniser or in the store, a note is kept and told once."""

from __future__ import annotations

import uuid

import numpy as np
import pytest

from api import spoken
from api.app import create_app
from assistant import Assistant
from assistant.errors import StoreError
from assistant.hear.recording import read_recording
from assistant.hear.windows import RATE
from assistant.settings import Settings
from tests.api.conftest import client_of
from tests.api.phone_line import (
    SAID,
    being_spoken,
    last,
    notes,
    phone,
    taken,
    until,
)
from tests.hear.test_live import pcm, silence

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

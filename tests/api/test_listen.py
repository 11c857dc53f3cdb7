"""Notes over the WebSocket: heard while they are spoken, kept before they are answered."""

from __future__ import annotations

import threading
import time

import numpy as np
import pytest

from assistant import Assistant
from assistant.hear.desk import Desk
from assistant.hear.recording import read_recording
from assistant.hear.windows import RATE
from tests.api.conftest import DEMO
from tests.api.phone_line import (
    PIECE,
    SAID,
    notes,
    phone,
    until,
)
from tests.hear.test_live import pcm, silence

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


def test_the_last_pause_does_not_wait_for_a_decoding_of_an_earlier_one(shop, recogniser, speech):
    held, gate = threading.Event(), threading.Event()

    def hears(samples, window):
        if not held.is_set():
            held.set()
            assert gate.wait(20)
        return recogniser(samples, window)

    server = shop.app.state.spoken
    server.desk.close()
    server.desk = Desk(lambda: hears, hands=2)
    with phone(shop) as tech:
        tech.start("push_to_talk", job="bakery")
        tech.sound(np.concatenate([speech, silence(0.6)]))
        assert held.wait(20)
        tech.sound(np.concatenate([speech, silence(0.2)]))
        tech.say("done")
        assert tech.until("answer")["said"] == SAID
        gate.set()


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
        for each in (first, second):  # whichever is understood sooner is answered sooner
            tech.until("answer", each) if "answer" not in tech.kinds(each) else None
    until(lambda: not assistant.waiting())
    assert len(notes(assistant, "bakery")) == 2
    assert "answer" in tech.kinds(first)
    assert "answer" in tech.kinds(second)


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

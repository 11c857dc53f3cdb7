"""The queue: one after another, again after a restart, and no note for ever."""

from __future__ import annotations

import asyncio
import threading
import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from api.kept import Kept
from api.work import TRIES, Hearing
from assistant.errors import ModelError, RecordingError


class Ears:
    """Stands in for the assistant: hears what it is told to, in the way it is told to."""

    def __init__(self, *waiting: str):
        self.notes = list(waiting)
        self.heard: list[str] = []
        self.begun: list[str] = []
        self.fails: dict[str, Exception] = {}
        self.gate = threading.Event()
        self.gate.set()
        self.at_once = self.most_at_once = 0

    def waiting(self) -> list[str]:
        return [note for note in self.notes if note not in self.heard]

    def hear(self, note: str, progress) -> None:
        self.at_once += 1
        self.most_at_once = max(self.most_at_once, self.at_once)
        try:
            self.begun.append(note)
            progress("listening", 0.25, 1.0)
            while not self.gate.wait(0.01):
                progress("listening", 0.5, 1.0)
            if note in self.fails:
                raise self.fails[note]
            self.heard.append(note)
        finally:
            self.at_once -= 1


@pytest.fixture
def kept():
    return Kept(None)


def until(so, seconds: float = 5.0) -> None:
    ends = time.monotonic() + seconds
    while not so():
        assert time.monotonic() < ends, "it took too long"
        time.sleep(0.005)


def idle(hearing: Hearing) -> None:
    until(lambda: hearing.waiting() == 0)


def test_notes_are_heard_one_after_another_in_the_order_they_were_accepted(kept):
    ears = Ears()
    hearing = Hearing(ears, kept)
    for note in "abcde":
        hearing.add(note)
    idle(hearing)
    assert ears.heard == list("abcde")
    assert ears.most_at_once == 1
    hearing.close()


def test_a_note_that_is_added_twice_is_heard_once(kept):
    ears = Ears()
    ears.gate.clear()
    hearing = Hearing(ears, kept)
    for _ in range(3):
        hearing.add("a")
    ears.gate.set()
    idle(hearing)
    assert ears.begun == ["a"]
    hearing.close()


def test_what_was_left_by_the_last_run_is_heard_in_this_one(kept):
    ears = Ears("a", "b")
    hearing = Hearing(ears, kept)
    hearing.resume()
    idle(hearing)
    assert ears.heard == ["a", "b"]
    hearing.close()


def test_a_recording_that_cannot_be_heard_fails_with_its_reason_and_the_next_is_heard(kept):
    ears = Ears("bad", "good")
    ears.fails["bad"] = RecordingError("It is damaged.")
    hearing = Hearing(ears, kept)
    hearing.resume()
    idle(hearing)
    assert hearing.state("bad").state == "failed"
    assert hearing.state("bad").reason == "It is damaged."
    assert ears.heard == ["good"]
    hearing.close()


def test_a_recording_that_failed_is_not_tried_again_after_a_restart(kept):
    ears = Ears("bad")
    ears.fails["bad"] = RecordingError("It is damaged.")
    first = Hearing(ears, kept)
    first.resume()
    idle(first)
    first.close()
    second = Hearing(ears, kept)
    second.resume()
    idle(second)
    assert second.state("bad").state == "failed"
    assert second.state("bad").reason == "It is damaged."
    assert ears.begun == ["bad"]
    second.close()


def test_a_fault_is_tried_three_times_and_then_given_up(kept):
    ears = Ears("bad")
    ears.fails["bad"] = RuntimeError("no memory")
    hearing = Hearing(ears, kept, retry_s=(0.01,))
    hearing.resume()
    until(lambda: hearing.state("bad").state == "failed")
    assert ears.begun == ["bad"] * TRIES
    assert "no memory" not in hearing.state("bad").reason
    hearing.close()


def test_a_fault_that_passes_is_forgotten(kept):
    ears = Ears("a")
    ears.fails["a"] = RuntimeError("for a moment")
    hearing = Hearing(ears, kept, retry_s=(0.05,))
    hearing.resume()
    until(lambda: ears.begun == ["a"])
    ears.fails.clear()
    until(lambda: ears.heard == ["a"])
    idle(hearing)
    assert hearing.state("a").state == "heard"
    hearing.close()


def test_a_missing_recogniser_is_not_held_against_the_note(kept):
    ears = Ears("a")
    ears.fails["a"] = ModelError("model.bin is missing")
    hearing = Hearing(ears, kept, retry_s=(0.01,))
    hearing.resume()
    until(lambda: hearing.state("a").state == "failed")
    assert hearing.state("a").reason == "model.bin is missing"
    hearing.close()
    ears.fails.clear()
    after = Hearing(ears, kept)
    after.resume()
    idle(after)
    assert ears.heard == ["a"]
    after.close()


def test_a_recording_that_takes_the_process_down_is_given_up_after_three_times(kept):
    for _ in range(TRIES):  # each was begun and never finished
        with kept.open() as db:
            db.execute(
                "INSERT INTO hearing VALUES ('deadly', 1, NULL) ON CONFLICT (note) DO UPDATE SET tries = tries + 1"
            )
    ears = Ears("deadly", "good")
    hearing = Hearing(ears, kept)
    hearing.resume()
    idle(hearing)
    assert ears.begun == ["good"]
    assert hearing.state("deadly").state == "failed"
    assert "never finished" in hearing.state("deadly").reason
    hearing.close()


def test_what_was_given_up_can_be_tried_again_by_hand(kept):
    ears = Ears("bad")
    ears.fails["bad"] = RecordingError("It is damaged.")
    hearing = Hearing(ears, kept)
    hearing.resume()
    idle(hearing)
    ears.fails.clear()
    hearing.again("bad")
    idle(hearing)
    assert ears.heard == ["bad"]
    assert hearing.state("bad").state == "heard"
    hearing.close()


def test_stopping_leaves_off_what_is_being_heard_and_it_does_not_count_as_a_try(kept):
    ears = Ears("long", "next")
    ears.gate.clear()
    hearing = Hearing(ears, kept)
    hearing.resume()
    until(lambda: ears.begun == ["long"])
    began = time.monotonic()
    hearing.close()
    assert time.monotonic() - began < 15  # the gate gives way later
    assert ears.heard == []
    with kept.open() as db:
        assert [row["tries"] for row in db.query("SELECT tries FROM hearing WHERE note = 'long'")] == [0]
    ears.gate.set()
    after = Hearing(ears, kept)
    after.resume()
    idle(after)
    assert ears.heard == ["long", "next"]
    after.close()


def test_a_try_that_waits_for_its_time_does_not_hold_up_the_end(kept):
    ears = Ears("a")
    ears.fails["a"] = RuntimeError("for a moment")
    hearing = Hearing(ears, kept, retry_s=(3600.0,))
    hearing.resume()
    until(lambda: "trying again" in hearing.state("a").what)
    began = time.monotonic()
    hearing.close()
    assert time.monotonic() - began < 600  # not the hour


def test_several_threads_hear_several_notes_at_once(kept):
    ears = Ears()
    ears.gate.clear()
    hearing = Hearing(ears, kept, ThreadPoolExecutor(3))
    for note in "abc":
        hearing.add(note)
    until(lambda: len(ears.begun) == 3)
    ears.gate.set()
    idle(hearing)
    assert ears.most_at_once == 3
    hearing.close()


def test_whoever_follows_a_note_sees_it_wait_be_heard_and_end(kept):
    ears = Ears()
    ears.gate.clear()
    hearing = Hearing(ears, kept)

    async def follow():
        hearing.add("a")
        seen = []
        async for state in hearing.follow("a"):
            seen.append(state)
            if state.share == 0.5:
                ears.gate.set()
        return seen

    seen = asyncio.run(asyncio.wait_for(follow(), 5))
    assert seen[-1].state == "heard"
    assert "hearing" in {state.state for state in seen}
    assert hearing._followers == {}
    hearing.close()


def test_following_ends_when_the_server_stops(kept):
    ears = Ears()
    ears.gate.clear()
    hearing = Hearing(ears, kept)

    async def follow():
        hearing.add("a")
        async for _ in hearing.follow("a"):
            threading.Thread(target=hearing.close).start()

    asyncio.run(asyncio.wait_for(follow(), 5))
    assert ears.heard == []

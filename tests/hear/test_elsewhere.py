"""Recordings heard in other processes, and by the workers of a real Dask scheduler, one of which is killed at work."""

from __future__ import annotations

import os
import signal
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from assistant.errors import RecordingError, SettingsError
from assistant.hear.elsewhere import Recogniser, elsewhere, hear_there
from assistant.settings import Settings
from tests.cluster import until

RECORDINGS = sorted((Path(__file__).parent / "human").glob("*.flac"))[:8]
RECOGNISER = Recogniser.of(Settings(model="tiny.en", threads=1))
LONGEST_S = 600.0


@pytest.fixture(scope="module")
def heard_here() -> list[str]:
    return [hear_there(file.read_bytes(), RECOGNISER, LONGEST_S).text for file in RECORDINGS]


def test_processes_of_this_machine_hear_the_same_words(heard_here):
    with elsewhere("2") as place:
        assert place.hands() == 2
        with ThreadPoolExecutor(2) as asking:
            heard = list(asking.map(lambda f: place.hear(f.read_bytes(), RECOGNISER, LONGEST_S).text, RECORDINGS[:3]))
    assert heard == heard_here[:3]


def test_a_recording_that_is_none_is_told_as_one_from_elsewhere_too():
    with elsewhere("1") as place, pytest.raises(RecordingError, match="cannot be decoded"):
        place.hear(b"no sound at all", RECOGNISER, LONGEST_S)


def test_the_recordings_of_a_killed_worker_are_heard_by_another(cluster, heard_here):
    address, workers = cluster
    with elsewhere(address) as place:
        until(lambda: place.hands() == 2, 60)
        client = place.executor._client
        with ThreadPoolExecutor(len(RECORDINGS)) as asking:
            heard = [asking.submit(place.hear, f.read_bytes(), RECOGNISER, LONGEST_S) for f in RECORDINGS]
            until(lambda: all(client.processing().values()), 60)  # both are at work
            os.kill(workers[0].pid, signal.SIGKILL)
            texts = [each.result(timeout=180).text for each in heard]
        assert until(lambda: place.hands() == 1, 60)
    assert texts == heard_here


@pytest.mark.parametrize("workers", ["none", "0", "-1", "100000", "http://hub", ""])
def test_what_is_no_place_to_hear_is_refused(workers):
    with pytest.raises(SettingsError, match="workers cannot be"), elsewhere(workers):
        pass


def test_a_scheduler_that_does_not_answer_is_named(monkeypatch):
    monkeypatch.setattr("assistant.hear.elsewhere._CONNECT_S", 1)
    with (
        pytest.raises(SettingsError, match="No Dask scheduler answers at tcp://127.0.0.1:9"),
        elsewhere("tcp://127.0.0.1:9"),
    ):
        pass

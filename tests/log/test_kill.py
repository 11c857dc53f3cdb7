"""Killed at any moment, it loses nothing that it acknowledged. `python -m tests.log.kill --times 200` takes longer."""

from __future__ import annotations

import pytest

from tests.log import kill


def test_killed_eight_times_under_load_every_acknowledged_note_is_there_once_and_whole(tmp_path):
    done = kill.run(tmp_path / "home", 8, seed=11)
    assert done.kills == 8
    assert len(done.acknowledged) > 50  # else it would have proved little
    assert done.waited > 0


def test_the_look_itself_finds_a_note_that_is_lost_or_not_whole(tmp_path):
    kill.run(tmp_path / "home", 1, seed=3)
    recording = next((tmp_path / "home" / "recordings").rglob("*.wav"))
    recorded = next(
        client_id
        for client_id in (f"r0-{n}-{m}" for n in range(kill.TELLERS) for m in range(1000))
        if kill.content_of(client_id).get("audio") == recording.read_bytes()
    )
    store = kill.Store(tmp_path / "home")
    note = store.sent(recorded)[0]
    store.close()
    kill._look(tmp_path / "home", {recorded: note})
    recording.write_bytes(recording.read_bytes()[:-1])
    with pytest.raises(AssertionError, match="not whole"):
        kill._look(tmp_path / "home", {recorded: note})
    with pytest.raises(LookupError):
        kill._look(tmp_path / "home", {"never-told": "0" * 12})

"""A disk that fills up while notes are told: a clear message, nothing half, nothing lost, and room makes it go on."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from assistant import Assistant
from assistant.log import checking
from tests.log.kill import content_of

# Tells notes until the disk will not have another; says which it acknowledged and what it heard at last.
TELL = """
import resource, sys
from pathlib import Path
from assistant import Assistant
from assistant.errors import StoreError
from tests.log.kill import DAY, content_of
home, most = Path(sys.argv[1]), int(sys.argv[2])
with Assistant(home) as assistant:
    if most:
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
    failed = 0
    for count in range(3000):
        client_id = f"n{count}"
        try:
            note = assistant.accept(**content_of(client_id), job="a", date=DAY, client_id=client_id).note
            print("ack", client_id, note, flush=True)
        except StoreError as err:
            failed += 1
            print("error", err, flush=True)
            if failed == 5:
                break
"""


@pytest.fixture
def small_disk(tmp_path):
    """A disk of 4 MB of its own; only root can make one."""
    place = tmp_path / "disk"
    place.mkdir()
    mounted = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=4m", "none", str(place)], capture_output=True)
    if os.geteuid() != 0 or mounted.returncode != 0:
        pytest.skip("a small disk can only be made by root")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def told_until_full(home: Path, most: int = 0) -> tuple[dict[str, str], list[str]]:
    done = subprocess.run(
        [sys.executable, "-c", TELL, str(home), str(most)],
        capture_output=True, text=True, timeout=120, cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    lines = [line.split(" ", 2) for line in done.stdout.splitlines()]
    acknowledged = {line[1]: line[2] for line in lines if line[0] == "ack"}
    return acknowledged, [" ".join(line[1:]) for line in lines if line[0] == "error"]


def nothing_is_lost(home: Path, acknowledged: dict[str, str]) -> None:
    with Assistant(home) as assistant:
        assert {row["id"] for row in assistant._store.rows("SELECT id FROM note")} == set(acknowledged.values())
        for client_id, note in acknowledged.items():
            content = content_of(client_id)
            if "audio" in content:
                assert assistant.recording_file(note).read_bytes() == content["audio"]
            else:
                assert assistant.note_told(note).text == content["text"]
    assert checking.status(home, full=True).faults == ()
    assert list(home.rglob(".part-*")) == []


def test_on_a_disk_that_fills_up_what_was_acknowledged_is_whole_and_with_room_it_goes_on(small_disk):
    (small_disk / "in the way").write_bytes(bytes(2_000_000))
    acknowledged, errors = told_until_full(small_disk / "home")
    assert len(acknowledged) > 10 and errors
    assert all("is full. Make room, then tell the note again; notes told before are safe" in each for each in errors)
    (small_disk / "in the way").unlink()
    nothing_is_lost(small_disk / "home", acknowledged)
    again, _ = told_until_full(small_disk / "home")
    assert acknowledged.items() <= again.items() and len(again) > len(acknowledged)


def test_where_files_may_not_grow_any_more_it_is_a_clear_error_and_nothing_is_half(tmp_path):
    home = tmp_path / "home"
    acknowledged, errors = told_until_full(home, most=1_000_000)
    assert len(acknowledged) > 10 and len(errors) == 5
    assert all("Notes told before are safe" in each and str(home) in each for each in errors)
    nothing_is_lost(home, acknowledged)


def test_in_a_folder_that_became_read_only_what_was_told_can_still_be_looked_at(tmp_path):
    home = tmp_path / "home"
    with Assistant(home) as assistant:
        assistant.tell("Head pressure is 345 psi.", job="a")
        assistant.tell("Suction is 120 psi.", job="b")
        with assistant._store.writing() as db:
            db.execute("PRAGMA query_only = ON")  # what a disk that turned read-only says to every write
        with pytest.raises(Exception, match="cannot be written|readonly|read-only"):
            assistant.accept("Superheat is 12.", job="a")
        assert assistant.log("a")["readings"] and assistant.search("head") and len(assistant.jobs()) == 2

"""Kills the program in the middle of its work, again and again, and looks whether anything acknowledged was lost.

    python -m tests.log.kill --times 200 [--seed 7]

A child process takes in typed notes and recordings from several threads, hears what waits, reads logs, adds photos and
corrections, and writes a line for each note that it acknowledges. It is killed (SIGKILL) at a random moment, also while
it starts. After each kill every acknowledged note must be there once and whole; the next child goes on where it stopped
and is sent some of the acknowledged notes a second time. In the end what waited must be heard, each recording once.
"""

from __future__ import annotations

import argparse
import hashlib
import io
import json
import os
import random
import select
import signal
import subprocess
import sys
import tempfile
import threading
import time
import wave
from collections import Counter
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from unittest import mock

from assistant import Assistant
from assistant.log import checking, mend
from assistant.log.store import Store
from tests.door.sounds import spoken

ROOT = Path(__file__).parents[2]
DAY = date(2026, 5, 12)
TELLERS = 4  # threads that tell notes
LONGEST_S = 1.5  # after the child is ready, until it is killed


def content_of(client_id: str) -> dict[str, str | bytes]:
    """What is sent under an id: typed words, or a short recording; the same whenever it is asked for."""
    drawn = random.Random(client_id)
    if drawn.random() < 0.5:
        return {"text": f"Suction pressure is {drawn.randrange(60, 180)} psi at the unit called {client_id}."}
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setparams((1, 2, 8000, 0, "NONE", ""))
        file.writeframes(drawn.randbytes(2 * drawn.randrange(400, 40_000)))
    return {"audio": out.getvalue()}


# ---------------------------------------------------------------- the child


def child(home: Path, name: str, again: list[str]) -> None:
    """Works until it is killed, or until its standard input closes."""
    _stand_in_for_the_recogniser().start()  # for the life of this process
    assistant = Assistant(home)

    def tell(client_id: str) -> str:
        accepted = assistant.accept(**content_of(client_id), job=f"job {name}", date=DAY, client_id=client_id, by="Ana")
        _say("ack", client_id, accepted.note)
        return accepted.note

    def teller(number: int) -> None:
        for count in range(10_000):
            note = tell(f"{name}-{number}-{count}")
            if count % 7 == 3:
                assistant.attach(note, b"\xff\xd8\xff" + note.encode(), "Ana")
            if count % 5 == 2 and assistant.note_told(note).is_heard:
                for reading in assistant.reply_to(note).note["readings"][:1]:
                    given = {"quantity": reading["quantity"], "said": reading["said"], "by": "Bo"}
                    assistant.correct(note, action="confirm", **given)

    def hearer() -> None:
        while True:
            for note in assistant.waiting():
                assistant.hear(note)
                assistant.log(assistant.note_told(note).job)
            time.sleep(0.01)

    workers = [threading.Thread(target=teller, args=(number,), daemon=True) for number in range(TELLERS)]
    _say("ready")
    for client_id in again:
        tell(client_id)
    for worker in (*workers, threading.Thread(target=hearer, daemon=True)):
        worker.start()
    sys.stdin.read()


def _stand_in_for_the_recogniser():
    """Hears a value in every recording, takes a moment for it, and needs no weights. To be used with `with`."""
    from assistant.hear import transcript

    def transcribe(recording, ears, progress=None):
        time.sleep(0.02)
        words = f"Head pressure is {300 + int(recording.sha256[:2], 16) % 100} psi."
        return spoken(words, recording.duration_s, f"stand-in {time.monotonic_ns()}")  # heard twice would be two

    return mock.patch.multiple(transcript, load_ears=lambda *_: object(), transcribe=transcribe)


def _say(*words: str) -> None:
    os.write(1, (" ".join(words) + "\n").encode())  # one write: no half line between threads


# ---------------------------------------------------------------- the parent


@dataclass
class Outcome:
    """What a run of kills came to."""

    kills: int = 0
    acknowledged: dict[str, str] = field(default_factory=dict)  # client id → note
    waited: int = 0  # recordings that waited to be heard at most, right after a kill
    before_ready: int = 0  # kills while the child was starting
    seconds: float = 0.0


def run(home: Path, times: int, seed: int = 7, progress=None) -> Outcome:
    """Kill `times` times in `home`; AssertionError as soon as anything is not as it should be."""
    drawn, outcome, begun = random.Random(seed), Outcome(), time.monotonic()
    for number in range(times):
        again = drawn.sample(sorted(outcome.acknowledged), min(5, len(outcome.acknowledged)))
        acknowledged, ready = _one_kill(home, f"r{number}", again, drawn)
        for client_id, note in acknowledged.items():
            assert outcome.acknowledged.setdefault(client_id, note) == note, f"{client_id} became another note"
        outcome.kills += 1
        outcome.before_ready += not ready
        outcome.waited = max(outcome.waited, _look(home, acknowledged))
        if progress:
            progress(number + 1, len(outcome.acknowledged))
    _look(home, outcome.acknowledged)
    _finish(home)
    outcome.seconds = time.monotonic() - begun
    return outcome


def _one_kill(home: Path, name: str, again: list[str], drawn: random.Random) -> tuple[dict[str, str], bool]:
    """Start a child and kill it; what it acknowledged, and whether it had got as far as to say that it was ready."""
    command = [
        sys.executable,
        "-m",
        "tests.log.kill",
        "--child",
        name,
        "--home",
        str(home),
        "--again",
        json.dumps(again),
    ]
    started = drawn.random() < 0.1
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, cwd=ROOT) as process:
        try:
            said = b""
            if started:  # killed while it starts
                time.sleep(drawn.uniform(0.0, 0.6))
            else:
                while b"ready\n" not in said:
                    assert select.select([process.stdout], [], [], 60)[0], "the child does not start"
                    piece = os.read(process.stdout.fileno(), 65536)
                    assert piece, "the child ended by itself"
                    said += piece
                time.sleep(drawn.uniform(0.0, LONGEST_S))
            assert process.poll() is None or started, "the child ended by itself"
        finally:
            process.send_signal(signal.SIGKILL)
        said += process.stdout.read()
    lines = [line.split() for line in said.decode().splitlines() if said.endswith(b"\n") or line]
    return {line[1]: line[2] for line in lines if len(line) == 3 and line[0] == "ack"}, b"ready" in said


def _look(home: Path, acknowledged: dict[str, str]) -> int:
    """Every acknowledged note is there, once and whole; how many notes wait to be heard."""
    if not acknowledged:
        return 0
    store = Store(home)
    try:
        notes = Counter(row["note"] for row in store.rows("SELECT note FROM sent"))
        for client_id, note in acknowledged.items():
            told, sent = store.note(note), content_of(client_id)
            assert notes[note] == 1 and store.sent(client_id)[0] == note, f"{client_id} is not one note"
            if "text" in sent:
                assert told.text == sent["text"], f"{client_id} is not whole"
            else:
                assert told.recording == hashlib.sha256(sent["audio"]).hexdigest(), f"{client_id} is another recording"
                assert store.recording_file(told.recording).read_bytes() == sent["audio"], f"{client_id} is not whole"
        return len(store.waiting())
    finally:
        store.close()


def _finish(home: Path) -> None:
    """What waited is heard, each recording once; the store is whole, and so are its logs."""
    with _stand_in_for_the_recogniser(), Assistant(home) as assistant:
        for note in assistant.waiting():
            assistant.hear(note)
        assert assistant.waiting() == []
        twice = assistant._store.rows("SELECT note FROM transcript GROUP BY note HAVING count(*) > 1")
        assert twice == [], "a recording was heard twice"
        assistant.jobs()
        assert assistant.reread().changed == (), "a log was not what its notes come to"
    assert checking.status(home, full=True).faults == ()
    mend.put_right(home)
    assert [each for each in checking.status(home, full=True).notices if "no note speaks of" in each] == []


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.log.kill", description=__doc__)
    parser.add_argument("--times", type=int, default=200)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--home", type=Path)
    parser.add_argument("--child", help=argparse.SUPPRESS)
    parser.add_argument("--again", type=json.loads, default=[], help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.child:
        child(given.home, given.child, given.again)
        return
    with tempfile.TemporaryDirectory() as folder:

        def progress(kills: int, acknowledged: int) -> None:
            if kills % 10 == 0:
                print(f"{kills} kills, {acknowledged} notes acknowledged, none lost", file=sys.stderr, flush=True)

        done = run(given.home or Path(folder) / "home", given.times, given.seed, progress)
    print(
        f"{done.kills} kills ({done.before_ready} while it started), {len(done.acknowledged)} notes acknowledged, all "
        f"there once and whole; up to {done.waited} recordings waited and were heard later; {done.seconds:.0f} s"
    )


if __name__ == "__main__":
    main()

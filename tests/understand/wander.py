"""Tells a great many chance texts, through the whole of the text path, and looks for a crash or an invented value.

    python -m tests.understand.wander [--inputs 1000000] [--seed 0] [--jobs 16] [--faults FOLDER] [--again FILE]

Texts come in jobs of one to six notes, one after another, as typed or as a recogniser gives them, drawn from the
mixtures beside this file. Each is understood, settled, worked out, weighed and answered. The laws: nothing crashes or
takes a minute; every reading keeps the law of laws.py, and prices, days, ducts, goods and hours that of
laws_of_goods.py; every number of the answer is in the note or the job's log. A job is made from the seed and its own
number alone, so it is the same on every machine and with any number of processes; one that breaks a law is printed and
kept whole in FOLDER, and `--again` tells it once more.
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from random import Random

from assistant import converse
from assistant.pipeline import start_job, take_note
from assistant.records import JobLog, Note, Transcript
from tests.founded import numbers_in, unfounded
from tests.understand import mixtures
from tests.understand.heard import transcript
from tests.understand.laws import unsaid
from tests.understand.laws_of_goods import unfounded_records

MOST_NOTES = 6  # of a job
STUCK_S = 60  # a text that takes longer is a fault
_JOBS_AT_ONCE = 50  # that a process takes in one go


@dataclass(frozen=True, slots=True)
class Said:
    text: str
    heard: bool  # as a recogniser gives it, not typed
    days: int  # after the first note of its job


@dataclass(frozen=True, slots=True)
class Broken:
    """A job that broke a law at its last note."""

    seed: int
    number: int  # of the job
    mixture: str  # that its last note is of
    law: str
    notes: tuple[Said, ...]


@dataclass(slots=True)
class Came:
    """What some jobs came to."""

    inputs: Counter[str] = field(default_factory=Counter)  # by mixture
    readings: int = 0
    broken: list[Broken] = field(default_factory=list)


def job(seed: int, number: int) -> list[tuple[str, Said]]:
    """The notes of a job, each with its mixture."""
    chance = Random(f"{seed}:{number}")
    days, told = 0, []
    for _ in range(chance.randint(1, MOST_NOTES)):
        name, text = mixtures.text(chance)
        told.append((name, Said(text, chance.random() < 0.4, days)))
        days += chance.choice((0, 0, 0, 1, 30))
    return told


def tell(said: Said, name: str, before: JobLog) -> tuple[Note, JobLog, str]:
    """A note through the whole text path: what it said, the log after it, and the answer."""
    words = transcript(said.text) if said.heard else Transcript(said.text)
    day = date(2026, 5, 12) + timedelta(said.days)
    note, after = take_note(words, name, day.isoformat(), before)
    return note, after, converse.reply(note, before, after)


def laws_broken(note: Note, before: JobLog, after: JobLog, say: str) -> list[str]:
    broken = unsaid(note) + unfounded_records(note, before)
    loose = [each for each in unfounded(say, (note, before, after), also=_hours(note, after)) if each not in note.text]
    return broken + ([f"numbers that nobody said: {loose} in {say!r}"] if loose else [])


def _hours(*records: Note | JobLog) -> set[float]:
    """Hours as people say them: of 13:30 they say 1:30."""
    numbers = (number for record in records for number in numbers_in((record.events, record.tasks)))
    return {number - 12 for number in numbers if 12 < number < 24}


def run(seed: int, numbers: range) -> Came:
    """Those jobs, one after another."""
    came = Came()
    signal.signal(signal.SIGALRM, _stuck)
    for number in numbers:
        notes, log = job(seed, number), start_job("wander")
        for place, (mixture, said) in enumerate(notes):
            came.inputs[mixture] += 1
            signal.alarm(STUCK_S)
            try:
                note, after, say = tell(said, f"n{place}", log)
                broken = laws_broken(note, log, after, say)
                came.readings += len(note.readings)
            except Exception:  # a crash of any kind is what is looked for
                broken = [traceback.format_exc()]
            finally:
                signal.alarm(0)
            if broken:
                told = tuple(each for _, each in notes[: place + 1])
                came.broken.append(Broken(seed, number, mixture, "\n".join(broken), told))
                break
            log = after
    return came


def _stuck(signum: int, frame: object) -> None:
    raise TimeoutError(f"it took more than {STUCK_S} seconds")


def shares(inputs: int) -> Iterator[range]:
    """Numbers of jobs that come to about that many inputs."""
    jobs = -(-inputs * 2 // (MOST_NOTES + 1))
    return (range(at, min(at + _JOBS_AT_ONCE, jobs)) for at in range(0, jobs, _JOBS_AT_ONCE))


def keep(broken: Broken, folder: Path) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{broken.seed}-{broken.number}.json"
    path.write_text(json.dumps(asdict(broken), indent=1), "ascii")
    return path


def again(path: Path) -> None:
    """Tell a job that was kept once more, and print what it comes to."""
    log = start_job("wander")
    for place, kept in enumerate(json.loads(path.read_text("ascii"))["notes"]):
        said = Said(**kept)
        note, after, say = tell(said, f"n{place}", log)
        print(f"{said!r}\n  {[(r.quantity, r.value, r.said) for r in note.readings]}\n  {say!r}")
        print(*laws_broken(note, log, after, say), sep="\n")
        log = after


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--inputs", type=int, default=20_000)
    options.add_argument("--seed", type=int, default=0)
    options.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="processes")
    options.add_argument("--faults", type=Path, default=Path("wander_faults"), help="where what breaks a law is kept")
    options.add_argument("--again", type=Path)
    asked = options.parse_args()
    if asked.again:
        again(asked.again)
        return
    whole, begun = Came(), time.perf_counter()
    with ProcessPoolExecutor(asked.jobs) as pool:
        for told, came in enumerate(pool.map(partial(run, asked.seed), shares(asked.inputs)), 1):
            whole.inputs += came.inputs
            whole.readings += came.readings
            whole.broken += came.broken
            for broken in came.broken:
                print(f"BROKEN ({broken.mixture}), kept in {keep(broken, asked.faults)}")
                print(broken.law[-1500:], flush=True)
            if told % 100 == 0:
                print(f"… {whole.inputs.total()} inputs, {len(whole.broken)} broken", flush=True)
    took_s = time.perf_counter() - begun
    print(f"seed {asked.seed}: {whole.inputs.total()} inputs in {took_s:.0f} s on {asked.jobs} processes", end=", ")
    print(f"{whole.inputs.total() / took_s:.0f} a second; {whole.readings} readings written down", end="; ")
    print(f"{len(whole.broken)} jobs broke a law; inputs by mixture: {dict(whole.inputs.most_common())}")
    raise SystemExit(bool(whole.broken))


if __name__ == "__main__":
    main()

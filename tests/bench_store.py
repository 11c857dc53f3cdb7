"""How a store behaves as it grows, and how quickly a year of notes is worked out again.

    python -m tests.bench_store --notes 1000 --notes 10000 [--all] [--runs 40] [--rederive 0] [--json]

A store in a temporary folder is filled in one transaction through the store's own functions, twelve typed notes to a
job. Each kind of job is understood once and its findings are kept for every job of that kind, so inside a stored log
the notes bear the ids of the first one: size and speed are those of real logs, only those ids are not. Then, on that
store: telling a note (acknowledged, and answered), a job's log, searches, a page of the list of jobs, the jobs with
work to do, opening. `--rederive N` tells N notes in jobs of eight and works them all out again: one after another, and
by one and two processes.
"""

from __future__ import annotations

import datetime
import json
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import wait
from contextlib import ExitStack
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import click
import numpy as np

from assistant import Assistant, pipeline
from assistant.hear.elsewhere import elsewhere
from assistant.ledger import rules_version
from assistant.log import derived
from assistant.log.store import Store
from assistant.records import Transcript

RULES = f"{rules_version()} 1 1"  # as the ledger has it for the usual instruments
TALK = (
    "Upstairs system is R-410A, suction {a}, head {b}.",
    "Liquid line is {c} degrees, suction line 52.",
    "Total external static is 0.{d}, filter is dirty.",
    "Return side is 0.3 and supply 0.25.",
    "Pulled the vacuum down to 350 microns, it held.",
    "Remind me to bring a 45/5 capacitor on Thursday.",
    "Customer approved the extra return, 450 dollars.",
    "Supply air 55, return air 75.",
    "Downstairs furnace, temperature rise {d} degrees.",
    "Compressor draws {d} amps on the name plate of 18.",
    "Nitrogen test at {b} psi, no drop in half an hour.",
    "Added {e} ounces, head pressure now {b}.",
)
PLACES = "bakery school chapel garage clinic library workshop greenhouse stable laundry".split()
KINDS = 8  # of job, each understood once


@dataclass(frozen=True, slots=True)
class Grown:
    """One size of store; times in milliseconds, half and all but a twentieth of the runs at most that."""

    notes: int
    filled_s: float
    bytes_a_note: int
    open_ms: tuple[int, int]
    accept_ms: tuple[float, float]  # until it is on the disk
    tell_ms: tuple[float, float]  # until it is answered
    log_ms: tuple[float, float]
    search_ms: dict[str, tuple[float, float]]
    page_of_jobs_ms: tuple[float, float]  # a hundred, the newest or from anywhere
    open_tasks_ms: tuple[float, float]  # the jobs that have any


def words(kind: int) -> list[str]:
    held = {"a": 110 + kind, "b": 320 + 3 * kind, "c": 90 + kind, "d": 41 + kind, "e": 3 + kind}
    return [line.format(**held) for line in TALK]


def understood(kind: int) -> list[tuple]:
    """What each note of a kind of job says, and the log after it."""
    log, made = pipeline.start_job(f"kind {kind}"), []
    for place, text in enumerate(words(kind)):
        note, log = pipeline.take_note(Transcript(text), f"{kind:04}{place:08}", "2026-03-02", log)
        made.append((note, log))
    return made


def fill(store: Store, notes: int) -> None:
    kinds = [understood(kind) for kind in range(KINDS)]
    first = datetime.date(2025, 1, 1)
    with store.writing():
        for number in range(max(1, notes // len(TALK))):
            place = PLACES[number % len(PLACES)]
            job, kind = store.open_job(f"{place} {number}"), number % KINDS
            day = (first + datetime.timedelta(days=number % 600)).isoformat()
            told = [
                store.add_note(job, day, text=f"{text} That is at the {place}, door {number % 997}.")
                for text in words(kind)
            ]
            chained = zip(told, derived.chains(job, told, RULES), kinds[kind], strict=True)
            steps = [derived.Step(chain, replace(note, id=new.id), log) for new, chain, (note, log) in chained]
            derived.save(store, job, 0, steps)
            derived.settle(store, job, RULES)


def times(runs: int, work: Callable[[int], object]) -> tuple[float, float]:
    took = []
    for run in range(runs):
        start = time.perf_counter()
        work(run)
        took.append((time.perf_counter() - start) * 1000)
    half, most = np.percentile(took, [50, 95])
    return round(float(half), 2), round(float(most), 2)


def grown(notes: int, runs: int) -> Grown:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        start = time.perf_counter()
        store = Store(home)
        fill(store, notes)
        store.emptied()
        filled_s = time.perf_counter() - start
        store.close()
        size = sum(file.stat().st_size for file in home.iterdir() if file.is_file())
        opening = times(5, lambda _: Assistant(home).close())
        with Assistant(home) as assistant:
            names = assistant._store.job_names()
            some = [names[place] for place in np.random.default_rng(1).integers(len(names), size=runs)]
            assistant.tell(text="Head pressure 318.", job="warming up")
            taken, told = [], []
            for run, job in enumerate(some):
                start = time.perf_counter()
                accepted = assistant.accept(f"Head pressure {300 + run % 90}, visit {run}.", job=job)
                taken.append((time.perf_counter() - start) * 1000)
                assistant.reply_to(accepted.note)
                told.append((time.perf_counter() - start) * 1000)
            searches = {
                "one common word": {"words": "capacitor"},
                "three words": {"words": "head pressure bakery"},
                "a seldom one": {"words": "door 501"},
                "nothing found": {"words": "capacitor greenhouse weathervane"},
                "word, dates, system": {"words": "suction", "since": "2025-06-01", "until": "2025-06-30"}
                | {"system": "upstairs"},
                "a word on old days": {"words": "pressure", "since": "2025-01-02", "until": "2025-01-09"},
                "old days": {"since": "2025-01-02", "until": "2025-01-09"},
            }
            return Grown(
                notes, round(filled_s, 1), size // notes, opening,
                _spread(taken), _spread(told),
                times(runs, lambda run: assistant.log(some[run])),
                {what: times(runs, lambda _, how=how: assistant.search(**how)) for what, how in searches.items()},
                times(runs, lambda run: assistant.jobs(100, some[run] if run % 2 else None)),
                times(5, lambda _: assistant.jobs_with_open_tasks()),
            )  # fmt: skip


def _spread(took: list[float]) -> tuple[float, float]:
    half, most = np.percentile(took, [50, 95])
    return round(float(half), 2), round(float(most), 2)


def rederived(notes: int, workers: str | None = None) -> float:
    """Notes a second, worked out again in jobs of eight: one after another, or by `workers` processes."""
    with ExitStack() as closing:
        folder = closing.enter_context(tempfile.TemporaryDirectory())
        place = closing.enter_context(elsewhere(workers)) if workers else None
        if place:  # a process that has begun, and has read the rules
            wait([place.executor.submit(rules_version) for _ in range(4 * place.hands())])
        assistant = closing.enter_context(Assistant(folder, elsewhere=place))
        with assistant._store.writing():
            for number in range(notes // 8):
                job = assistant._store.open_job(f"job {number}")
                for text in words(number % KINDS)[:8]:
                    assistant._store.add_note(job, "2026-03-02", text=f"{text} Door {number}.")
        start = time.perf_counter()
        assistant.reread()
        return round(notes / (time.perf_counter() - start), 1)


@click.command(help=__doc__)
@click.option("--notes", multiple=True, type=int, default=(1000, 10_000), show_default=True)
@click.option("--all", "every", is_flag=True, help="1,000 to 1,000,000 notes, and working out again; over an hour.")
@click.option("--runs", default=40, show_default=True)
@click.option("--rederive", default=0, show_default=True, help="Notes to work out again; 0: none.")
@click.option("--json", "as_json", is_flag=True)
def main(notes: tuple[int, ...], every: bool, runs: int, rederive: int, as_json: bool) -> None:
    if every:
        notes, rederive = (1000, 10_000, 100_000, 1_000_000), rederive or 8000
    for size in notes:
        one = grown(size, runs)
        if as_json:
            click.echo(json.dumps(asdict(one)))
            continue
        click.echo(f"{one.notes} notes: filled in {one.filled_s} s, {one.bytes_a_note} bytes a note; half / 19 of 20:")
        for what in ("open_ms", "accept_ms", "tell_ms", "log_ms", "page_of_jobs_ms", "open_tasks_ms"):
            click.echo(f"  {what[:-3]:30}{getattr(one, what)[0]:10} {getattr(one, what)[1]:10} ms")
        for what, took in one.search_ms.items():
            click.echo(f"  search, {what:22}{took[0]:10} {took[1]:10} ms")
    if rederive:
        rates = {workers or "0": rederived(rederive, workers) for workers in (None, "1", "2")}
        for workers, rate in rates.items():
            told = f"{rate} notes a second worked out again by {workers} other processes"
            click.echo(json.dumps({"rederived_a_second": rate, "workers": int(workers)}) if as_json else told)


if __name__ == "__main__":
    main()

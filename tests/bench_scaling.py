"""What a second worker brings: the corpus's recordings heard by one process, then by two, one thread each.

    python -m tests.bench_scaling [--notes 16] [--runs 3] [--json]

The processes are those of `superheard serve --workers 2`: bytes go there, transcripts come back. One and two take
turns, elapsed time counts, medians. Two workers can only be twice as quick where two cores are free, so what else ran
meanwhile is told with it: the cores kept busy by anybody but this benchmark.
"""

from __future__ import annotations

import json
import os
import statistics
import time
from collections.abc import Iterator
from concurrent.futures import wait
from contextlib import contextmanager
from dataclasses import asdict, dataclass

import click
import psutil

from assistant.hear.elsewhere import Elsewhere, Recogniser, elsewhere, hear_there
from assistant.settings import Settings
from tests.score import cases
from tests.score.speech import AUDIO

_LONGEST_S = 3600.0


@dataclass(frozen=True, slots=True)
class Scaled:
    workers: int
    notes: int
    runs: int
    elapsed_s: float  # median
    least_s: float
    most_s: float
    notes_per_s: float
    others_cores: float  # kept busy by others, median over the runs


@dataclass(slots=True)
class Run:
    elapsed_s: float = 0.0
    others_cores: float = 0.0


def recordings(most: int) -> list[bytes]:
    there = [AUDIO / f"{case.id}.ogg" for case in cases.load("corpus").cases]
    return [path.read_bytes() for path in there if path.is_file()][: most or None]


def hear_all(there: Elsewhere, recogniser: Recogniser, sounds: list[bytes]) -> None:
    """Every recording, all given at once. Raises what hearing raises."""
    waiting = [there.executor.submit(hear_there, sound, recogniser, _LONGEST_S) for sound in sounds]
    wait(waiting)
    for each in waiting:
        each.result()


@contextmanager
def timed() -> Iterator[Run]:
    """How long something takes, and how many cores others keep busy meanwhile."""
    run, start = Run(), time.perf_counter()
    busy, ours = _busy_s(), _ours_s()
    yield run
    run.elapsed_s = time.perf_counter() - start
    run.others_cores = max(0.0, (_busy_s() - busy) - (_ours_s() - ours)) / run.elapsed_s


def _busy_s() -> float:
    times = psutil.cpu_times()
    return sum(times) - times.idle - getattr(times, "iowait", 0.0) - getattr(times, "guest", 0.0)


def _ours_s() -> float:
    me = psutil.Process()
    return sum(sum(each.cpu_times()[:2]) for each in (me, *me.children(recursive=True)))


def measure(most: int, runs: int, model: str = "base") -> list[Scaled]:
    sounds = recordings(most)
    recogniser = Recogniser.of(Settings(model=model, threads=1))
    took: dict[int, list[Run]] = {1: [], 2: []}
    with elsewhere("1") as one, elsewhere("2") as two:
        for there, count in ((one, 1), (two, 2)):
            hear_all(there, recogniser, sounds[: 2 * count])  # every process loads the recogniser
        for _ in range(runs):
            for there, count in ((one, 1), (two, 2)):
                with timed() as run:
                    hear_all(there, recogniser, sounds)
                took[count].append(run)
    return [_summed(count, len(sounds), each) for count, each in took.items()]


def _summed(workers: int, notes: int, took: list[Run]) -> Scaled:
    elapsed = [run.elapsed_s for run in took]
    middle = statistics.median(elapsed)
    others = round(statistics.median(run.others_cores for run in took), 2)
    least, most = round(min(elapsed), 2), round(max(elapsed), 2)
    return Scaled(workers, notes, len(took), round(middle, 2), least, most, round(notes / middle, 2), others)


@click.command(help=__doc__)
@click.option("--notes", default=16, show_default=True, help="How many recordings; 0 for all 48.")
@click.option("--runs", default=3, show_default=True)
@click.option("--json", "as_json", is_flag=True)
def main(notes: int, runs: int, as_json: bool) -> None:
    load, found = os.getloadavg()[0], measure(notes, runs)
    ratio = round(found[0].elapsed_s / found[1].elapsed_s, 2)
    if as_json:
        rows = [asdict(row) for row in found]
        click.echo(json.dumps({"load_before": load, "scaling": rows, "times_as_fast": ratio}, indent=1))
        return
    for row in found:
        took = f"{row.elapsed_s:.1f} s ({row.least_s:.1f} to {row.most_s:.1f}, {row.runs} runs)"
        click.echo(
            f"{row.workers} worker(s): {row.notes} notes in {took}, {row.notes_per_s:.2f} notes a second; others kept "
            f"{row.others_cores:.1f} cores busy"
        )
    click.echo(f"two are {ratio:.2f} times as fast as one; {os.cpu_count()} cores, load before {load:.1f}")


if __name__ == "__main__":
    main()

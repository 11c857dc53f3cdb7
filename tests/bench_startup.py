"""What starting the command costs: seconds of processor, its own and the system's, of a whole process.

    python -m tests.bench_startup [--runs 5] [--json]

`--help`, and a typed note that is kept, understood and answered, beside a Python that does nothing: its cost is the
least a command in Python can have, and tells how fast this machine is now. The commands take turns; medians. Each runs
once before, so that the files are in memory and the byte code is there.
"""

from __future__ import annotations

import json
import resource
import statistics
import subprocess
import sys
import tempfile
from dataclasses import asdict, dataclass

import click

NOTE = "Suction {place}, head 345, liquid line 94, suction line 52, R-410A."  # what was told before is not read again


@dataclass(frozen=True, slots=True)
class Started:
    what: str
    processor_s: float  # median
    least_s: float
    most_s: float
    runs: int


def commands(home: str, place: int) -> dict[str, list[str]]:
    """The commands of one round; each round tells another note, in a job of its own."""
    note = NOTE.format(place=110 + place)
    superheard = [sys.executable, "-m", "assistant"]
    return {
        "python that does nothing": [sys.executable, "-c", "pass"],
        "superheard --help": [*superheard, "--help"],
        "superheard tell, a typed note": [*superheard, "tell", "--home", home, "--job", f"job {place}", note],
    }


def processor_s(command: list[str]) -> float:
    """Seconds of processor that a command took. Raises CalledProcessError if it fails."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, capture_output=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def measure(runs: int) -> list[Started]:
    with tempfile.TemporaryDirectory() as home:
        for command in commands(home, 0).values():
            processor_s(command)
        took: dict[str, list[float]] = {what: [] for what in commands(home, 0)}
        for place in range(1, runs + 1):
            for what, command in commands(home, place).items():
                took[what].append(processor_s(command))
    return [
        Started(what, round(statistics.median(each), 3), round(min(each), 3), round(max(each), 3), runs)
        for what, each in took.items()
    ]


@click.command(help=__doc__)
@click.option("--runs", default=5, show_default=True)
@click.option("--json", "as_json", is_flag=True)
def main(runs: int, as_json: bool) -> None:
    found = measure(runs)
    if as_json:
        click.echo(json.dumps({"startup": [asdict(row) for row in found]}, indent=1))
        return
    for row in found:
        click.echo(f"{row.what:30} {row.processor_s:6.3f} s of processor ({row.least_s:.3f} to {row.most_s:.3f})")


if __name__ == "__main__":
    main()

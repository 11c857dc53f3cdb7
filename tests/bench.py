"""Every benchmark, one after another, as one table.

    python -m tests.bench [--quick] [--only hearing]… [--long-store] [--out build/bench]

Each part is a command of its own (shown by `--list`) that can be run alone; here it runs in a process of its own with
`--json`, its peers with it. A part that fails leaves its reason in the table, and the others go on. Read the ratios:
absolute times depend on the machine, and on what else it did.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any

import click

from tests.bench_table import ROWS, Row, Table, as_text, documents, write

ROOT = Path(__file__).parent.parent
PACKAGES = ("superheard", "faster-whisper", "ctranslate2", "quantulum3", "CoolProp", "spacy", "openai-whisper")
_ENDS_OF_ERROR = 300  # characters of a failed part's last words


@dataclass(frozen=True, slots=True)
class Part:
    """One benchmark: its module, and what it is given in full and in a hurry."""

    name: str
    module: str
    full: tuple[str, ...] = ()
    quick: tuple[str, ...] = ()

    def command(self, quick: bool) -> list[str]:
        return [sys.executable, "-m", self.module, "--json", *(self.quick if quick else self.full)]


_EVERY_LEVEL = tuple(word for level in ("quiet", "10", "5", "0") for word in ("--level", level))
PARTS = (
    Part("start-up", "tests.bench_startup", (), ("--runs", "3")),
    Part("answer", "tests.bench_listening", ("--words", "48"), ("--notes", "2", "--words", "-1")),
    Part("scaling", "tests.bench_scaling", (), ("--notes", "4", "--runs", "1")),
    Part(
        "hearing",
        "tests.bench_hearing",
        ("--model", "base", "--model", "tiny.en", *_EVERY_LEVEL, "--notes", "0"),
        ("--level", "quiet", "--notes", "4"),
    ),
    Part("understanding", "tests.bench_understanding"),
    Part("saturation", "tests.bench_saturation", (), ("--speed-only", "--runs", "3")),
    Part("store", "tests.bench_store", (), ("--notes", "1000")),
)
_LONG_STORE = ("--all",)


def machine() -> dict[str, Any]:
    return {
        "commit": _commit(),
        "machine": platform.machine(),
        "processor": _processor(),
        "cores": os.cpu_count(),
        "load before": round(os.getloadavg()[0], 2),
        "python": platform.python_version(),
        **{name: version for name in PACKAGES if (version := _version(name))},
    }


def _processor() -> str:
    info = Path("/proc/cpuinfo")
    lines = info.read_text().splitlines() if info.is_file() else []
    named = (line.split(":", 1)[1].strip() for line in lines if line.startswith("model name"))
    return next(named, platform.processor() or "unknown")


def _commit() -> str:
    told = subprocess.run(["git", "rev-parse", "--short", "HEAD"], cwd=ROOT, capture_output=True, text=True)
    return told.stdout.strip() or "unknown"


def _version(name: str) -> str | None:
    try:
        return metadata.version(name)
    except metadata.PackageNotFoundError:
        return None


def run(part: Part, command: Sequence[str]) -> tuple[list[Row], str | None]:
    """The rows of a part, or why there are none."""
    told = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    if told.returncode:
        return [], f"it ended with {told.returncode}: {told.stderr.strip()[-_ENDS_OF_ERROR:]}"
    try:
        return list(ROWS[part.name](documents(told.stdout))), None
    except (ValueError, LookupError) as err:
        return [], f"what it told is not understood: {err!r}"


def measure(commands: dict[Part, list[str]]) -> Table:
    """Run every part, each by its command, and gather the rows."""
    facts, rows, failed, took, load = machine(), [], {}, {}, {}
    for part, command in commands.items():
        click.echo(f"{part.name}: {' '.join(command[1:])}", err=True)
        load[part.name], start = round(os.getloadavg()[0], 2), time.perf_counter()
        found, why = run(part, command)
        took[part.name] = round(time.perf_counter() - start, 1)
        rows += found
        if why:
            failed[part.name] = why
    return Table(facts, tuple(rows), failed, took, load)


@click.command(help=__doc__)
@click.option("--quick", is_flag=True, help="A few minutes: fewer notes, fewer runs. For a look, not for the record.")
@click.option("--only", multiple=True, type=click.Choice([part.name for part in PARTS]), help="Only these parts.")
@click.option("--long-store", is_flag=True, help="The store at every size up to a million notes, which takes an hour.")
@click.option("--out", default=ROOT / "build" / "bench", type=click.Path(path_type=Path), show_default="build/bench")
@click.option("--list", "list_them", is_flag=True, help="Only tell the commands.")
def main(quick: bool, only: tuple[str, ...], long_store: bool, out: Path, list_them: bool) -> None:
    chosen = [part for part in PARTS if not only or part.name in only]
    commands = {part: part.command(quick) for part in chosen}
    for part, command in commands.items():
        if long_store and part.name == "store":
            command += _LONG_STORE
    if list_them:
        for part, command in commands.items():
            click.echo(f"{part.name:14} python {' '.join(command[1:])}")
        return
    table = measure(commands)
    paths = write(table, out)
    click.echo(as_text(table) + "\n" + "\n".join(map(str, paths)))
    sys.exit(1 if table.failed else 0)


if __name__ == "__main__":
    main()

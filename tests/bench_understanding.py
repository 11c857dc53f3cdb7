"""How fast and how well notes are understood, beside a general reader of quantities; and what length costs.

    python -m tests.bench_understanding [--json]

The peer is quantulum3 (extra `bench`, without its optional classifier), on the same notes in the same process, the
two taking turns; without it only ours is shown. Ours does the whole note (readings, events, tasks, agreements and the
rest), the peer its quantities. Both are measured on the same gold: a value counts as found when it is among those
returned, each of which answers one gold value at most. The peer gets every benefit: its number may stand in any unit
that converts to the gold's, and neither quantity, role nor system is asked of it. What it returns beyond the gold was
said all the same (sizes, prices, dates): its precision tells that it does not know which numbers are readings.
The corpus is open and ours was tuned on it, so its accuracy there flatters ours; `heldout` is the fairer of the two.
Medians of several runs: absolute times depend on the machine, read the ratios.
"""

from __future__ import annotations

import json
import os
import platform
import statistics
import time
import warnings
from collections.abc import Callable
from dataclasses import asdict, dataclass
from importlib import metadata
from typing import Any

import click
import numpy as np
from scipy.optimize import linear_sum_assignment

from assistant import units
from assistant.log.settle import start_job
from assistant.records import Note, Transcript
from assistant.understand import cardinals, patterns
from assistant.understand.read import read
from tests.score import cases
from tests.score.alike import same_value

RUNS = 5
LENGTHS = (100, 500, 2000, 8000)  # words
# What the peer calls the units that people here speak in, where they convert to a contract unit. It takes "pounds"
# for money and "minutes" for angles; neither is held against it.
_PEER_UNITS = {
    "ounce": "oz", "pound-mass": "lb", "pound sterling": "lb", "gram": "g", "kilogram": "kg",
    "inch": "in", "foot": "ft", "metre": "m", "centimetre": "cm", "millimetre": "mm",
    "second": "s", "second of arc": "s", "minute": "min", "minute of arc": "min", "hour": "h", "day": "day",
    "pascal": "Pa", "kilopascal": "kPa", "bar": "bar", "millibar": "mbar", "inch of mercury": "inHg", "torr": "torr",
    "degree Celsius": "degC", "watt": "W", "kilowatt": "kW", "milliampere": "mA", "millivolt": "mV",
}  # fmt: skip

Said = tuple[float, str | None]  # a value and its unit, one of ours; None where it is not known
Reader = Callable[[str], list[Said]]


@dataclass(frozen=True, slots=True)
class Result:
    notes_per_second: float
    gold: int  # values wanted
    returned: int
    found: int
    recall: float
    precision: float


FRESH = start_job("bench")  # a job of which nothing is known


def understand(text: str) -> Note:
    return read(Transcript(text), "note", "2026-05-12", FRESH)


def ours(text: str) -> list[Said]:
    return [(reading.value, reading.unit) for reading in understand(text).readings if reading.status != "retracted"]


def peer() -> Reader | None:
    """quantulum3 as a reader, or None where it is not installed."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it tells that its classifier is not there
            from quantulum3 import parser
    except ImportError:
        return None
    return lambda text: [(found.value, _PEER_UNITS.get(found.unit.name)) for found in parser.parse(text)]


def found_in(said: list[Said], gold: list[dict[str, Any]]) -> int:
    """How many gold readings are among the values said, at best, each value answering one."""
    meets = np.array([[_meets(value, want) for want in gold] for value in said], bool).reshape(len(said), len(gold))
    return int(meets[linear_sum_assignment(meets, maximize=True)].sum())


def _meets(said: Said, want: dict[str, Any]) -> bool:
    value, unit = said
    could_be = [value]
    if unit and units.same_kind(unit, want["unit"]):
        could_be.append(units.to_contract(value, unit, want["unit"]))
    if want["unit"] == "inH2O":  # the gold keeps the size of a static, not which side of the blower it is on
        could_be += [abs(each) for each in could_be]
    return any(same_value(each, want["value"]) for each in could_be)


def compare(texts: list[str], golds: list[list[dict[str, Any]]], readers: dict[str, Reader]) -> dict[str, Result]:
    """Every reader on the same notes, taking turns."""
    taken: dict[str, list[float]] = {name: [] for name in readers}
    for _ in range(RUNS):
        for name, reader in readers.items():
            taken[name].append(_seconds(reader, texts))
    results = {}
    for name, reader in readers.items():
        said = [reader(text) for text in texts]
        wanted, returned = sum(map(len, golds)), sum(map(len, said))
        found = sum(found_in(values, gold) for values, gold in zip(said, golds, strict=True))
        speed = len(texts) / statistics.median(taken[name])
        results[name] = Result(speed, wanted, returned, found, found / wanted, found / returned)
    return results


def cost_of_length(texts: list[str]) -> dict[int, float]:
    """Milliseconds per 100 words of one note as long as that, made by chaining `texts`."""
    words = " ".join(texts).split()
    words *= -(-max(LENGTHS) // len(words))
    chained = {length: " ".join(words[:length]) for length in LENGTHS}
    return {
        length: statistics.median(_seconds(understand, [text]) for _ in range(RUNS)) * 1e5 / length
        for length, text in chained.items()
    }


def _seconds(work: Callable[[str], object], texts: list[str]) -> float:
    for remembered in (patterns.plain_words, cardinals._standard, units.to_contract):
        remembered.cache_clear()  # what the run before left of these very notes would flatter us
    start = time.perf_counter()
    for text in texts:
        work(text)
    return time.perf_counter() - start


def machine(readers: dict[str, Reader]) -> dict[str, Any]:
    packages = ("superheard", "text2num", *(name for name in readers if name != "ours"))
    return {
        "machine": platform.machine(),
        "processors": os.cpu_count(),
        "python": platform.python_version(),
        **{package: metadata.version(package) for package in packages},
    }


def measure() -> dict[str, Any]:
    """All figures, as JSON types."""
    readers: dict[str, Reader] = {"ours": ours}
    if theirs := peer():
        readers["quantulum3"] = theirs
    figures: dict[str, Any] = {"machine": machine(readers), "runs": RUNS, "sets": {}}
    for name in ("corpus", "heldout"):
        notes = cases.load(name).cases
        texts = [note.text for note in notes]
        golds = [[row for row in note.gold["readings"] if row.get("status") != "retracted"] for note in notes]
        for reader in readers.values():
            reader(texts[0])  # tables are read and matchers made once
        results = compare(texts, golds, readers)
        figures["sets"][name] = {
            "notes": len(texts),
            "words_per_note": sum(len(text.split()) for text in texts) / len(texts),
            **{reader: asdict(result) for reader, result in results.items()},
        }
        if theirs:
            ratio = results["ours"].notes_per_second / results["quantulum3"].notes_per_second
            figures["sets"][name]["times_as_fast"] = ratio
    figures["ms_per_100_words"] = cost_of_length([note.text for note in cases.load("corpus").cases])
    return figures


def show(figures: dict[str, Any]) -> None:
    print(", ".join(f"{name} {fact}" for name, fact in figures["machine"].items()))
    print(f"medians of {figures['runs']} runs")
    for name, of_set in figures["sets"].items():
        print(f"\n{name}: {of_set['notes']} notes of {of_set['words_per_note']:.0f} words")
        print("             notes a second   values found      in the gold, of those returned")
        for reader in ("ours", "quantulum3"):
            if reader not in of_set:
                continue
            got = of_set[reader]
            recall = f"{got['found']}/{got['gold']} {got['recall']:.1%}"
            precision = f"{got['found']}/{got['returned']} {got['precision']:.1%}"
            print(f"{reader:11}  {got['notes_per_second']:14.0f}   {recall:15}   {precision}")
        if "times_as_fast" in of_set:
            print(f"ours is {of_set['times_as_fast']:.1f} times as fast")
    if "quantulum3" not in figures["machine"]:
        print("\nquantulum3 is not installed: make bench, or pip install -e '.[bench]'")
    print("\none note, chained from the corpus:\nwords   ms per 100 words")
    for length, cost in figures["ms_per_100_words"].items():
        print(f"{length:5d}   {cost:.1f}")


@click.command(help="Understanding beside a general reader of quantities, and what length costs.")
@click.option("--json", "as_json", is_flag=True, help="The figures as JSON, and nothing else.")
def main(as_json: bool) -> None:
    figures = measure()
    if as_json:
        click.echo(json.dumps(figures, indent=1))
    else:
        show(figures)


if __name__ == "__main__":
    main()

"""How fast and how well notes are understood, beside a general reader of quantities; and what length costs.

    python -m tests.bench_understanding

The peer is quantulum3 (extra `bench`), on the same notes in the same process; without it only ours is shown.
A gold value counts as found by the peer when its number is among the numbers it returns. Medians of several
runs: absolute times depend on the machine, read the ratios.
"""

from __future__ import annotations

import math
import os
import platform
import statistics
import time
import warnings
from collections.abc import Callable

from assistant.log.settle import start_job
from assistant.records import Transcript
from assistant.understand.read import read
from tests.score import cases

_RUNS = 5


def _median_seconds(work: Callable[[str], object], texts: list[str]) -> float:
    """Time to put all of `texts` through `work`, the median of several runs."""
    taken = []
    for _ in range(_RUNS):
        start = time.perf_counter()
        for text in texts:
            work(text)
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def _ours(text: str):
    return read(Transcript(text), "note", "2026-05-12", start_job("bench"))


def _values_said(text: str) -> list[float]:
    return [reading.value for reading in _ours(text).readings if reading.status != "retracted"]


def _peer() -> Callable[[str], list[float]] | None:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            from quantulum3 import parser
    except ImportError:
        return None
    return lambda text: [quantity.value for quantity in parser.parse(text)]


def _found(values: Callable[[str], list[float]], chosen: list[cases.Case]) -> tuple[float, float]:
    """(share of the gold's values found, share of what was returned that is in the gold)."""
    found = gold_count = returned = 0
    for case in chosen:
        gold = [r["value"] for r in case.gold["readings"] if r.get("status") != "retracted"]
        left = values(case.text)
        gold_count, returned = gold_count + len(gold), returned + len(left)
        for wanted in gold:
            match = next((value for value in left if math.isclose(value, wanted, rel_tol=5e-3, abs_tol=1e-6)), None)
            if match is not None:
                left.remove(match)
                found += 1
    return found / gold_count, found / returned if returned else 0.0


def main() -> None:
    chosen = list(cases.load("corpus").cases)
    texts = [case.text for case in chosen]
    print(f"{platform.machine()}, {os.cpu_count()} processors, Python {platform.python_version()}")
    print(f"{len(texts)} notes of {sum(len(text.split()) for text in texts) / len(texts):.0f} words")
    print("                 notes a second   values found   of those returned, in the gold")
    rates = {}
    for name, work, values in (("ours", _ours, _values_said), ("quantulum3", _peer(), _peer())):
        if work is None:
            print("quantulum3 is not installed: pip install -e '.[bench]'")
            continue
        work(texts[0])  # tables are read and matchers made once
        rates[name] = len(texts) / _median_seconds(work, texts)
        recall, precision = _found(values, chosen)
        print(f"{name:15}  {rates[name]:14.0f}   {recall:12.0%}   {precision:.0%}")
    if len(rates) == 2:
        print(f"ours is {rates['ours'] / rates['quantulum3']:.1f} times as fast")
    chain = " ".join(texts * 4).split()
    print("words   ms per 100 words")
    for length in (100, 500, 2000, 8000):
        print(f"{length:5d}   {_median_seconds(_ours, [' '.join(chain[:length])]) * 1e5 / length:.1f}")


if __name__ == "__main__":
    main()

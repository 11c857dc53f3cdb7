"""How fast notes are understood, and that the cost grows with their length and no faster.

    python -m tests.bench_understanding

Medians of several runs in one process. Absolute times depend on the machine; read the ratios.
"""

from __future__ import annotations

import os
import platform
import statistics
import time

from assistant.log.settle import start_job
from assistant.records import Transcript
from assistant.understand.read import read
from tests.score import cases

_RUNS = 5


def _seconds(texts: list[str]) -> float:
    """Median time to understand all of `texts`, each as a note of its own."""
    taken = []
    for _ in range(_RUNS):
        start = time.perf_counter()
        for text in texts:
            read(Transcript(text), "note", "2026-05-12", start_job("bench"))
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def main() -> None:
    texts = [case.text for case in cases.load("corpus").cases]
    _seconds(texts[:4])  # tables are read and matchers made once
    words = sum(len(text.split()) for text in texts)
    seconds = _seconds(texts)
    print(f"{platform.machine()}, {os.cpu_count()} processors, Python {platform.python_version()}")
    print(f"{len(texts)} notes of {words / len(texts):.0f} words: {len(texts) / seconds:.0f} notes a second")
    chain = " ".join(texts * 3).split()
    print("words   ms per 100 words")
    for length in (100, 500, 2000, 8000):
        print(f"{length:5d}   {_seconds([' '.join(chain[:length])]) * 1e5 / length:.1f}")


if __name__ == "__main__":
    main()

"""A Dask scheduler of its own with two workers, each a process that a test may kill."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

DASK = Path(sys.executable).parent / "dask"


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[tuple[str, list[subprocess.Popen]]]:
    """A scheduler on a port of its own and two workers: its address, and the workers' processes."""
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": tmp_path}
    told = tmp_path / "scheduler.json"
    started = [
        subprocess.Popen(
            [DASK, "scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--scheduler-file", told],
            **quiet,
        )
    ]
    try:
        until(told.is_file, 60)
        address = until(lambda: _address(told), 60)
        worker = [DASK, "worker", address, "--host", "127.0.0.1", "--nthreads", "1", "--no-nanny", "--no-dashboard"]
        started += [subprocess.Popen(worker, **quiet) for _ in range(2)]
        yield address, started[1:]
    finally:
        for process in started:
            process.kill()
            process.wait()


def _address(told: Path) -> str | None:
    try:
        return json.loads(told.read_text())["address"]
    except ValueError:  # it is being written just now
        return None


def until(true, longest_s: float):
    """What `true` gives once it gives something. Fails after `longest_s`."""
    end = time.monotonic() + longest_s
    while time.monotonic() < end:
        if found := true():
            return found
        time.sleep(0.1)
    raise AssertionError(f"It did not come about in {longest_s} s.")

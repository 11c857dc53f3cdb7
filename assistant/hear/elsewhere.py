"""Hearing in another process or on another machine: sound goes there, the transcript comes back, nothing else moves.

`hear_there` is an ordinary function of plain values, so that any `concurrent.futures` executor can run it: a pool of
processes here, or the workers of a Dask cluster (extra `workers`), which bring a killed worker's recordings to another
by themselves. A process loads the recogniser once and keeps it.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.errors import SettingsError

if TYPE_CHECKING:
    from assistant.hear.transcript import Ears
    from assistant.records import Transcript
    from assistant.settings import Settings

CLUSTER = ("tcp://", "tls://", "ucx://")  # how the address of a Dask scheduler begins
_LOST_WORKERS = 3  # how often a recording goes to another worker when one dies with it
_CONNECT_S = 10
_UNDER_WAY = 32  # recordings sent to a cluster and not back yet; its workers come and go, so it is a fixed number


@dataclass(frozen=True, slots=True)
class Recogniser:
    """Which recogniser to hear with, in values that another machine understands."""

    model: str
    device: str
    compute_type: str
    threads: int
    cache: Path | None

    @classmethod
    def of(cls, settings: Settings) -> Recogniser:
        return cls(settings.model, settings.device, settings.compute_type, settings.threads, settings.cache)


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """Where recordings are heard when not in this process."""

    executor: Executor
    hands: Callable[[], int]  # how many recordings can be heard at once, now
    at_once: int  # how many may be under way, those that wait for a hand among them: what bounds the memory

    def hear(self, raw: bytes, recogniser: Recogniser, longest_s: float) -> Transcript:
        """The transcript of the bytes of a recording. Waits for it. Raises what hearing raises, or what was lost."""
        return self.executor.submit(hear_there, raw, recogniser, longest_s).result()


def hear_there(raw: bytes, recogniser: Recogniser, longest_s: float) -> Transcript:
    """The transcript of the bytes of a recording, at most `longest_s` long. Raises RecordingError, ModelError."""
    from assistant.hear.recording import check_recording
    from assistant.hear.transcript import transcribe

    return transcribe(check_recording(raw, longest_s=longest_s), _ears(recogniser))


@cache
def _ears(recogniser: Recogniser) -> Ears:
    """The recogniser, loaded once for the life of the process."""
    from assistant.hear.transcript import load_ears

    return load_ears(recogniser.model, recogniser.device, recogniser.compute_type, recogniser.threads, recogniser.cache)


@contextmanager
def elsewhere(workers: str) -> Iterator[Elsewhere]:
    """Somewhere else to hear, closed at the end.

    workers  a number of processes on this machine ("2"), or the address of a Dask scheduler ("tcp://hub:8786")

    Raises SettingsError for anything else, or where nobody answers at that address.
    """
    if workers.startswith(CLUSTER):
        with _cluster(workers) as found:
            yield found
        return
    if not workers.isdecimal() or not 1 <= int(workers) <= 4 * (os.cpu_count() or 1):
        raise SettingsError(
            f"workers cannot be {workers!r}; it takes a number of processes, at most four a processor core, "
            f"or the address of a Dask scheduler, as tcp://hub:8786."
        )
    count = int(workers)
    with ProcessPoolExecutor(count, mp_context=get_context("spawn")) as pool:  # a fork would copy the server's locks
        yield Elsewhere(pool, lambda: count, count + 1)


@contextmanager
def _cluster(address: str) -> Iterator[Elsewhere]:
    try:
        from distributed import Client
    except ImportError as err:
        raise SettingsError("A cluster takes the extra `workers`; run: pip install 'superheard[workers]'.") from err
    try:
        client = Client(address, timeout=_CONNECT_S, set_as_default=False, name="superheard")
    except (OSError, TimeoutError, ValueError) as err:
        raise SettingsError(f"No Dask scheduler answers at {address}: {err}.") from err
    with client:
        # pure=False: the same bytes told twice are two pieces of work; what is heard once is kept by the store.
        executor = client.get_executor(pure=False, retries=_LOST_WORKERS)
        yield Elsewhere(executor, lambda: len(client.scheduler_info(n_workers=-1)["workers"]), _UNDER_WAY)
        executor.shutdown(wait=False)

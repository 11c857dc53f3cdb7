"""Many phones that send their notes at once, against a server of its own on this machine.

    python -m tests.api.load [--phones 200] [--notes 3] [--rounds 1] [--json]

Each phone sends its notes one after another, every second one a recording of five seconds that nobody else has, the
others typed; all phones at once. Bounded: so many phones, so many notes, and it stops by itself. Afterwards the server
is asked for every note that was acknowledged. Told: how long an acknowledgement took (half, and all but a twentieth,
were as quick as that), the server's memory on the way, and what else came back. With several rounds, of other phones
against the same server, also how its memory grows from the second on.
"""

from __future__ import annotations

import asyncio
import json
import tempfile
import time
import uuid
from collections import Counter
from dataclasses import asdict, dataclass
from pathlib import Path

import click
import httpx
import numpy as np
import psutil

from tests.api.process import served
from tests.door.sounds import wav

JOBS = 25  # that the phones share
AS_OFTEN_AS_THEY_LIKE = ("--requests-per-minute", "1000000")
SECONDS = 5  # of a recording
_OWN = {"X-Superheard": "1"}


@dataclass(frozen=True, slots=True)
class Load:
    """What a run came to."""

    phones: int
    sent: int
    acknowledged: int
    lost: int  # acknowledged, and not in any job afterwards
    answers: dict[str, int]  # how often each HTTP status, or an error of the connection, came back
    p50_ms: float
    p95_ms: float
    longest_ms: float
    took_s: float  # until the last acknowledgement
    notes_per_second: float
    memory_mb: tuple[float, ...]  # of the server: at the start, at each quarter of the notes, and when all were heard
    heard_s: float  # until no recording waited any more, from the last acknowledgement


def recording(seed: int) -> bytes:
    """Five seconds of a fan, unlike any other: nothing is heard in it, so the load is on taking it in."""
    return wav(np.random.default_rng(seed).normal(0, 900, SECONDS * 16_000))


async def run(address: str, process: psutil.Process, phones: int, notes: int, first: int = 0) -> Load:
    """first: number of the first phone; other numbers tell other notes."""
    took, answers, told = [], Counter(), {}
    memory, quarter = [_mb(process)], max(1, phones * notes // 4)

    async def phone(client: httpx.AsyncClient, number: int) -> None:
        for each in range(notes):
            form = {"job": f"site {number % JOBS}", "client_id": str(uuid.uuid4())}
            sound = (number + each) % 2
            files = {"audio": ("note.wav", recording(number * notes + each))} if sound else None
            if not sound:
                form["text"] = f"Suction {100 + each}, head {300 + number % 90}, phone {number}."
            start = time.perf_counter()
            try:
                answer = await client.post("/notes", data=form, files=files)
            except httpx.HTTPError as err:
                answers[type(err).__name__] += 1
                continue
            took.append(time.perf_counter() - start)
            answers[str(answer.status_code)] += 1
            if answer.is_success:
                told[answer.json()["note"]] = answer.json()["job"]
            if len(took) % quarter == 0:
                memory.append(_mb(process))

    limits = httpx.Limits(max_connections=phones, max_keepalive_connections=phones)
    async with httpx.AsyncClient(base_url=address, headers=_OWN, timeout=120, limits=limits) as client:
        begun = time.perf_counter()
        await asyncio.gather(*(phone(client, number) for number in range(first, first + phones)))
        all_s = time.perf_counter() - begun
        begun = time.perf_counter()
        lost, waiting = 0, list(told)
        while waiting:
            looked = [(note, await client.get(f"/notes/{note}")) for note in waiting]
            lost += sum(not state.is_success for _, state in looked)
            waiting = [note for note, state in looked if state.is_success and state.json()["state"] != "heard"]
            assert time.perf_counter() - begun < 600, "recordings are still waiting after ten minutes"
        heard_s = time.perf_counter() - begun
        memory.append(_mb(process))
        there = set()
        for job in set(told.values()):
            log = (await client.get(f"/jobs/{job}/log")).raise_for_status().json()
            there.update(note for visit in log["visits"] for note in visit["notes"])
        lost += len(told.keys() - there)
    half, most = np.percentile(took, [50, 95]) * 1000
    return Load(
        phones, phones * notes, len(told), lost, dict(answers), round(half), round(most), round(max(took) * 1000),
        round(all_s, 1), round(len(took) / all_s, 1), tuple(memory), round(heard_s, 1),
    )  # fmt: skip


def _mb(process: psutil.Process) -> float:
    return round(process.memory_info().rss / 2**20)


@click.command(help=__doc__)
@click.option("--phones", default=200, show_default=True)
@click.option("--notes", default=3, show_default=True, help="Of each phone.")
@click.option("--rounds", default=1, show_default=True)
@click.option("--json", "as_json", is_flag=True)
def main(phones: int, notes: int, rounds: int, as_json: bool) -> None:
    loads = []
    with tempfile.TemporaryDirectory() as home, served(Path(home), *AS_OFTEN_AS_THEY_LIKE) as server:
        process = psutil.Process(server.process.pid)
        for number in range(rounds):
            loads.append(asyncio.run(run(server.api, process, phones, notes, number * phones)))
            click.echo(json.dumps(asdict(loads[-1]), indent=1) if as_json else _told(loads[-1]))
    if rounds > 2:
        ends = [load.memory_mb[-1] for load in loads[1:]]
        per_round = np.polyfit(range(len(ends)), ends, 1)[0]
        click.echo(f"memory after each round from the second on: {ends} MB, {per_round:+.1f} MB a round")


def _told(load: Load) -> str:
    return (
        f"{load.phones} phones, {load.sent} notes sent, {load.acknowledged} acknowledged, {load.lost} lost; "
        f"answers: {load.answers}\n"
        f"acknowledged after {load.p50_ms:.0f} ms (half), {load.p95_ms:.0f} ms (19 of 20), "
        f"{load.longest_ms:.0f} ms (the last); {load.notes_per_second} notes a second\n"
        f"memory of the server: {', '.join(f'{mb:.0f}' for mb in load.memory_mb)} MB; "
        f"all heard {load.heard_s} s after the last acknowledgement"
    )


if __name__ == "__main__":
    main()

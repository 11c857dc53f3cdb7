"""Abuse of the line that notes are spoken over, against a server of its own on this machine, round after round.

    python -m tests.api.abuse [--rounds 6] [--seed 0] [--times 40]

Each round, all at once and in an order the seed gives: garbage, messages in the wrong order, half samples, huge
messages, floods whose answers nobody reads, connections that are opened and dropped, several with one id, ids sent
again, and headers that never end; and among them honest phones. Afterwards the server must answer, every note that was
kept must be there once, and every id that was sent again must be the same note. Told: the server's memory after each
round. It stops by itself. The recogniser is a stand-in: what is tried is what stands before it.
"""

from __future__ import annotations

import asyncio
import json
import tempfile
import uuid
from collections import Counter
from collections.abc import Awaitable, Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

import click
import httpx
import psutil
from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import WebSocketException

from assistant.hear.recording import read_recording
from tests.api.load import AS_OFTEN_AS_THEY_LIKE
from tests.api.process import served
from tests.hear.sounds import HERE, RATE

GONE = (WebSocketException, OSError, TimeoutError, EOFError)
PATIENCE_S = 60  # for an answer that has to come
MORE = ("--spoken-at-once", "200")


@dataclass(slots=True)
class Told:
    """What the phones were told: the notes that were kept, by the id they were sent under."""

    kept: dict[str, str] = field(default_factory=dict)
    jobs: set[str] = field(default_factory=set)
    problems: Counter[str] = field(default_factory=Counter)
    honest: int = 0  # notes of phones that did nothing wrong, and
    answered: int = 0  # that were answered
    twice: list[str] = field(default_factory=list)  # ids that became two notes

    def heard(self, raw: str | bytes) -> dict:
        message = json.loads(raw)
        if message["kind"] == "problem":
            self.problems[message["problem"]] += 1
        if message["kind"] == "kept":
            known = self.kept.setdefault(message["client_id"], message["note"])
            self.jobs.add(message["job"])
            if known != message["note"]:
                self.twice.append(message["client_id"])
        return message


@dataclass(frozen=True, slots=True)
class Line:
    url: str  # of the socket
    port: int
    speech: bytes  # 16-bit samples of somebody speaking
    told: Told

    def open(self, **more) -> connect:
        return connect(self.url, compression=None, open_timeout=PATIENCE_S, close_timeout=2, **more)


def start(client_id: str | None = None, mode: str = "push_to_talk", **more) -> str:
    return json.dumps(
        {"kind": "start", "client_id": client_id or str(uuid.uuid4()), "mode": mode, "job": "abuse", **more}
    )


async def _listen(line: Line, socket: ClientConnection, until: str = "") -> None:
    """Take what is said until that kind or a problem comes, or nothing more does."""
    with suppress(*GONE):
        while True:
            message = line.told.heard(await asyncio.wait_for(socket.recv(), PATIENCE_S if until else 1))
            if until and message["kind"] in (until, "problem"):
                return


# ---------------------------------------------------------------- what is done to it


async def honest(line: Line, chance: Random) -> None:
    """A phone that speaks a note and waits for its answer; with the same id again it is the same note."""
    client_id = str(uuid.uuid4())
    line.told.honest += 1
    sound = chance.randbytes(3200) + line.speech  # unlike anybody else's
    async with line.open() as socket:
        await socket.send(start(client_id))
        for at in range(0, len(sound), 3200):
            await socket.send(sound[at : at + 3200])
        await socket.send('{"kind": "done"}')
        await _listen(line, socket, "answer")
        line.told.answered += client_id in line.told.kept
    async with line.open() as socket:
        for _ in range(chance.randint(1, 5)):
            await socket.send(start(client_id))
            await _listen(line, socket, "answer")


async def garbage(line: Line, chance: Random) -> None:
    async with line.open() as socket:
        for _ in range(80):
            odd = ("", "{", "null", "[]" * 500, '{"kind": "start"}', '{"kind": 7}', '{"kind": "start", "client_id": 1}',
                   "[" * 4000, '{"kind": "done", "x": 1}', "\0", start(rate=8000), start(end_pause_s=1e308),
                   start(date="9999-99-99"), start(job="../../x\0"), chance.randbytes(9).decode("latin-1"))  # fmt: skip
            await socket.send(chance.choice((chance.choice(odd), chance.randbytes(chance.randrange(1, 9000)))))
        await _listen(line, socket)


async def wrong_order(line: Line, chance: Random) -> None:
    async with line.open() as socket:
        for _ in range(60):
            kind = chance.choice(("done", "speaking", "spoken", "start", "sound", "other start"))
            if kind == "sound":
                await socket.send(line.speech[:3200])
            else:
                await socket.send(start(mode=chance.choice(("hands_free", "push_to_talk"))) if "start" in kind
                                  else json.dumps({"kind": kind}))  # fmt: skip
        await socket.send('{"kind": "stop"}')
        await _listen(line, socket)


async def half_samples(line: Line, chance: Random) -> None:
    async with line.open() as socket:
        await socket.send(start())
        for _ in range(60):
            await socket.send(line.speech[: chance.randrange(1, 400)])
        await _listen(line, socket)


async def huge(line: Line, chance: Random) -> None:
    async with line.open() as socket:
        await socket.send(start())
        size = chance.choice((65_538, 128 * 1024 + 2, 8_000_000))
        await socket.send(chance.choice((bytes(size), "x" * size)))
        await _listen(line, socket)


async def unread(line: Line, chance: Random) -> None:
    """Asks for thousands of answers and reads none."""
    async with line.open(max_queue=1) as socket:
        client_id = str(uuid.uuid4())
        for _ in range(3000):
            await asyncio.wait_for(socket.send(start(client_id)), 10)
        socket.transport.abort()


async def flood(line: Line, chance: Random) -> None:
    """Sound as fast as it goes, minutes of it, and gone."""
    async with line.open() as socket:
        await socket.send(start(mode=chance.choice(("hands_free", "push_to_talk"))))
        for _ in range(40):
            await asyncio.wait_for(socket.send(line.speech[:64_000]), 5)
        socket.transport.abort()


async def dropped(line: Line, chance: Random) -> None:
    """Many opened and dropped, some with a note begun."""
    for _ in range(25):
        with suppress(*GONE):
            socket = await line.open()
            if chance.random() < 0.5:
                await socket.send(start(mode="hands_free"))
            if chance.random() < 0.3:
                await socket.send(line.speech[:3200])
            socket.transport.abort()


async def one_id(line: Line, chance: Random) -> None:
    """Several connections that begin a note of one id at the same time, each with sound of its own."""
    client_id = str(uuid.uuid4())

    async def one() -> None:
        with suppress(*GONE):
            async with line.open() as socket:
                await socket.send(start(client_id))
                await socket.send(line.speech[: chance.randrange(1, 50) * 640])
                await socket.send('{"kind": "done"}')
                await _listen(line, socket, "answer")

    await asyncio.gather(*(one() for _ in range(5)))


async def endless_head(line: Line, chance: Random) -> None:
    """A header that comes a line at a time and never ends."""
    reader, writer = await asyncio.open_connection("127.0.0.1", line.port)
    upgrade = "Connection: Upgrade\r\nUpgrade: websocket\r\n"
    writer.write(f"GET /api/v1/listen HTTP/1.1\r\nHost: localhost\r\n{chance.choice(('', upgrade))}".encode())
    for _ in range(10):
        writer.write(b"X-More: " + chance.randbytes(20).hex().encode() + b"\r\n")
        await asyncio.sleep(0.1)
    writer.transport.abort()


ABUSES: tuple[Callable[[Line, Random], Awaitable[None]], ...] = (
    honest, garbage, wrong_order, half_samples, huge, unread, flood, dropped, one_id, endless_head,
)  # fmt: skip


async def one_round(line: Line, chance: Random, times: int) -> None:
    """Every abuse, and `times` more by chance; at most eight at a time."""
    wanted = [*ABUSES, *(chance.choice(ABUSES) for _ in range(times))]
    chance.shuffle(wanted)
    room = asyncio.Semaphore(8)

    async def do(abuse: Callable[[Line, Random], Awaitable[None]], seed: float) -> None:
        async with room:
            with suppress(*GONE):
                await abuse(line, Random(seed))

    await asyncio.gather(*(do(abuse, chance.random()) for abuse in wanted))


@dataclass(frozen=True, slots=True)
class Came:
    """What a run came to."""

    kept: int
    lost: list[str]  # kept, and not in the log once
    twice: list[str]
    honest: int
    answered: int
    problems: dict[str, int]
    memory_mb: list[int]  # of the server: at the start, and after each round


async def run(api: str, process: psutil.Process, rounds: int, seed: int, times: int) -> Came:
    port = int(api.split(":")[2].split("/")[0])
    samples = read_recording(HERE / "audio" / "charge.ogg").samples[: 3 * RATE]
    line = Line(f"ws://localhost:{port}/api/v1/listen", port, (samples * 32767).astype("<i2").tobytes(), Told())
    memory = [_mb(process)]
    async with httpx.AsyncClient(base_url=api, timeout=PATIENCE_S) as client:
        for number in range(rounds):
            await one_round(line, Random(f"{seed}:{number}"), times)
            (await client.get("/health")).raise_for_status()
            memory.append(_mb(process))
        there: Counter[str] = Counter()
        for job in line.told.jobs:
            log = (await client.get(f"/jobs/{job}/log")).raise_for_status().json()
            there.update(note for visit in log["visits"] for note in visit["notes"])
    lost = [note for note in line.told.kept.values() if there[note] != 1]
    told = line.told
    return Came(len(told.kept), lost, told.twice, told.honest, told.answered, dict(told.problems), memory)


def _mb(process: psutil.Process) -> int:
    return round(process.memory_info().rss / 2**20)


@click.command(help=__doc__)
@click.option("--rounds", default=6, show_default=True)
@click.option("--seed", default=0, show_default=True)
@click.option("--times", default=40, show_default=True, help="Abuses in a round, beyond one of each.")
def main(rounds: int, seed: int, times: int) -> None:
    with (
        tempfile.TemporaryDirectory() as home,
        served(Path(home), *AS_OFTEN_AS_THEY_LIKE, *MORE, program="tests.api.stand_in") as server,
    ):
        came = asyncio.run(run(server.api, psutil.Process(server.process.pid), rounds, seed, times))
    click.echo(f"seed {seed}, {rounds} rounds: {came.honest} honest notes, {came.answered} kept and answered")
    click.echo(f"{came.kept} notes kept in all, {len(came.lost)} lost, {len(came.twice)} told twice")
    click.echo(f"problems told: {came.problems}")
    click.echo(f"memory of the server: {', '.join(map(str, came.memory_mb))} MB")
    raise SystemExit(bool(came.lost or came.twice or came.answered < came.honest))


if __name__ == "__main__":
    main()

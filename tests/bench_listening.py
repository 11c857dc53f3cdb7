"""How soon a note that was spoken is answered, and whether it is heard as well as its recording.

    python -m tests.bench_listening [--notes 7] [--words 48] [--json]

Answers: notes of the corpus, the `--notes` whose length is nearest 15 s, spoken over the WebSocket to `superheard
serve` (a process of its own, an empty home) in pieces of a tenth of a second, in real time. What counts is the time
from the last moment of speech, found in the recording by voice detection, to the answer's text. Hands-free that
contains the end pause, during which nobody can know that the note is over: it is shown apart, and so is what follows
it. With push-to-talk the note is over when the recording is. One note goes before, so that the recogniser is loaded.

Words: the recordings of the corpus, as fast as they can be heard: as a file, and live (hands-free, a second of
silence before and behind). Each window is decoded when the live note wants it; what was heard either way goes through
the same understanding and is scored against the gold. `same` counts notes whose live transcript is, to the last word,
time and probability, what the recording that was kept gives as a file.
"""

from __future__ import annotations

import asyncio
import json
import os
import platform
import statistics
import tempfile
import time
import uuid
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import click
import numpy as np
import psutil
import websockets

from assistant.hear.live import LiveNote
from assistant.hear.recording import read_recording
from assistant.hear.transcript import Ears, hear, load_ears, transcribe
from assistant.hear.windows import RATE
from assistant.records import Transcript
from tests.api.process import served
from tests.score import cases, replay
from tests.score.scribe import Scribe
from tests.score.speech import AUDIO

MIDDLE_S = 15.0  # the length of note that is asked about
PIECE = RATE // 10
END_PAUSE_S = 1.0


@dataclass(frozen=True, slots=True)
class Answers:
    """Medians and the longest, in seconds, from the last moment of speech."""

    mode: str
    notes: int
    speech_s: float  # median length of a note
    to_end: float | None  # until the server said that the note is over; None with push-to-talk
    to_answer: float
    longest: float
    from_end: float  # from the note's being over (noticed, or said) to the answer
    processor: float  # seconds of processor for a second of note, loading apart


@dataclass(frozen=True, slots=True)
class Words:
    who: str
    notes: int
    readings_f1: float
    found: int
    beyond: int  # readings that are not in the gold
    same: int | None = None


# ---------------------------------------------------------------- answers


@dataclass(slots=True)
class Spoken:
    """One note as it went; seconds from its last moment of speech."""

    speech_s: float
    ended: float
    answered: float
    said_done: float
    said: str


async def speak(address: str, samples: np.ndarray, mode: str) -> Spoken:
    """One note in real time, on a connection of its own."""
    speech_end = speech_end_s(samples)
    hands_free = mode == "hands_free"
    silent = np.zeros(20 * RATE, np.float32)
    sound = np.concatenate([silent[:RATE], samples, silent]) if hands_free else samples
    raw = np.round(sound * 32767).astype("<i2").tobytes()
    at = {}
    async with websockets.connect(address, compression=None) as socket:

        async def listen() -> dict:
            async for message in socket:
                told = json.loads(message)
                assert told["kind"] != "problem", told
                at[told["kind"]] = time.perf_counter()
                if told["kind"] == "answer":
                    return told
            raise AssertionError("closed without an answer")

        start = {"kind": "start", "client_id": str(uuid.uuid4()), "mode": mode, "job": f"bench {uuid.uuid4()}"}
        await socket.send(json.dumps(start))
        hearing, begun = asyncio.create_task(listen()), time.perf_counter()
        for place in range(0, len(raw), PIECE * 2):
            piece = raw[place : place + PIECE * 2]
            due = begun + (place + len(piece)) / 2 / RATE  # a microphone gives a piece when it is over
            await asyncio.sleep(max(0.0, due - time.perf_counter()))
            if "speech_ended" in at:
                break
            await socket.send(piece)
        if not hands_free:
            at["done"] = time.perf_counter()
            await socket.send('{"kind": "done"}')
        answer = await asyncio.wait_for(hearing, 60)
    zero = begun + speech_end + (1.0 if hands_free else 0.0)
    said_done = at.get("done", at["speech_ended"]) - zero
    return Spoken(len(samples) / RATE, at["speech_ended"] - zero, at["answer"] - zero, said_done, answer["said"])


def speech_end_s(samples: np.ndarray) -> float:
    """The last moment of speech: the end of the last window, less what is kept around it where nothing was cut."""
    from faster_whisper.vad import VadOptions, get_speech_timestamps

    options = VadOptions(min_silence_duration_ms=300, speech_pad_ms=0)
    return get_speech_timestamps(samples, options)[-1]["end"] / RATE


def answers(notes: int) -> list[Answers]:
    chosen = sorted(all_samples(0), key=lambda each: abs(len(each[1]) / RATE - MIDDLE_S))[: notes + 1]
    found = []
    with tempfile.TemporaryDirectory() as home, served(Path(home), "--end-pause-s", str(END_PAUSE_S)) as server:
        address = f"{server.api.replace('http', 'ws', 1)}/listen"
        process = psutil.Process(server.process.pid)
        asyncio.run(speak(address, chosen[-1][1], "push_to_talk"))
        for mode in ("hands_free", "push_to_talk"):
            before = sum(process.cpu_times()[:2])
            runs = [asyncio.run(speak(address, samples, mode)) for _, samples in chosen[:notes]]
            used = sum(process.cpu_times()[:2]) - before
            found.append(_summed(mode, runs, used))
    return found


def _summed(mode: str, runs: list[Spoken], used_s: float) -> Answers:
    def middle(values: Iterator[float]) -> float:
        return round(statistics.median(values), 2)

    return Answers(
        mode,
        len(runs),
        middle(run.speech_s for run in runs),
        middle(run.ended for run in runs) if mode == "hands_free" else None,
        middle(run.answered for run in runs),
        round(max(run.answered for run in runs), 2),
        middle(run.answered - run.said_done for run in runs),
        round(used_s / sum(run.speech_s for run in runs), 2),
    )


# ---------------------------------------------------------------- words


def all_samples(most: int) -> list[tuple[cases.Case, np.ndarray]]:
    there = [case for case in cases.load("corpus").cases if (AUDIO / f"{case.id}.ogg").is_file()]
    return [(case, read_recording(AUDIO / f"{case.id}.ogg").samples) for case in there[: most or None]]


def heard_live(samples: np.ndarray, ears: Ears) -> tuple[Transcript, bool]:
    """What is heard of a note while it is spoken, and whether its recording gives just that as a file."""
    silent, note = np.zeros(RATE * 3, np.float32), LiveNote(END_PAUSE_S)
    raw = np.round(np.concatenate([silent[:RATE], samples, silent]) * 32767).astype("<i2").tobytes()
    for at in range(0, len(raw), PIECE * 2):
        note.feed(raw[at : at + PIECE * 2])
        # A pause is not decoded before it is nearly long enough to be the end: the words come out the same, sooner.
        while window := note.wanted(provisional=note.silence_s >= END_PAUSE_S - 0.2):
            note.take_heard(window, hear(note.samples(window), [window], ears)[0])
    live = note.transcript(ears.name)
    return live, live == transcribe(read_recording(note.recording()), ears)


def words(most: int) -> list[Words]:
    ears, file, live, same = load_ears(), {}, {}, 0
    chosen = all_samples(most)
    for number, (case, samples) in enumerate(chosen, 1):
        file[case.id] = transcribe(read_recording(AUDIO / f"{case.id}.ogg"), ears)
        live[case.id], is_same = heard_live(samples, ears)
        same += is_same
        click.echo(f"{number}/{len(chosen)} {case.id}", err=True)
    ids = [case for case, _ in chosen]
    return [_scored("file", ids, file), replace(_scored("live", ids, live), same=same)]


def _scored(who: str, chosen: list[cases.Case], heard: dict[str, Transcript]) -> Words:
    whole = [case for case in chosen if heard.keys() >= set(case.after)]
    told = tuple(replace(case, text=heard[case.id].text, heard=heard[case.id]) for case in whole)
    readings = replay.score(cases.Set(told, ()), Scribe).tallies["readings"]
    return Words(who, len(told), round(readings.f1 or 0.0, 3), readings.found, readings.extra)


@click.command(help=__doc__)
@click.option("--notes", default=7, show_default=True, help="How many are spoken in real time; 0 for none.")
@click.option("--words", "most", default=48, show_default=True, help="How many are heard both ways; -1 for none.")
@click.option("--json", "as_json", is_flag=True)
def main(notes: int, most: int, as_json: bool) -> None:
    load = os.getloadavg()[0]
    told = answers(notes) if notes else []
    heard = words(most) if most >= 0 else []
    facts = {"machine": platform.machine(), "cores": os.cpu_count(), "load before": load, "end pause s": END_PAUSE_S}
    if as_json:
        rows = {"answers": [asdict(row) for row in told], "words": [asdict(row) for row in heard]}
        click.echo(json.dumps(facts | rows, indent=1))
        return
    click.echo(", ".join(f"{name} {value}" for name, value in facts.items()))
    for row in told:
        pause = f"the end noticed after {row.to_end:.2f} s, " if row.to_end is not None else ""
        click.echo(
            f"{row.mode:12} {row.notes} notes of {row.speech_s:.0f} s: {pause}answered {row.to_answer:.2f} s after the "
            f"last word (longest {row.longest:.2f}), {row.from_end:.2f} s after the end; "
            f"{row.processor:.2f} s of processor for a second"
        )
    for row in heard:
        same = f", {row.same} the same as their own recording" if row.same is not None else ""
        click.echo(
            f"{row.who:5} {row.notes} notes: readings F1 {row.readings_f1:.3f}, {row.found} found, "
            f"{row.beyond} beyond the gold{same}"
        )


if __name__ == "__main__":
    main()

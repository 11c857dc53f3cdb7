"""How fast and how well spoken notes are heard, beside Whisper as it comes, with the same weights in one process.

    python -m tests.bench_hearing [--model base] [--level quiet --level 10] [--notes 16] [--device cuda] [--json]

The corpus's recordings, quiet or beside a condenser, through the project's own hearing, through faster-whisper with its
defaults (language given), and, where it is installed, through openai-whisper with its own, which gets the same weights
in single precision (tests/whisper_weights.py). All take turns note by note. Speed is seconds of recording for a second
of processor time (on a graphics card: of elapsed time), because elapsed time depends on what else the machine does.
What each heard then goes through the same understanding, and the readings are scored against the gold.
"""

from __future__ import annotations

import json
import os
import platform
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from importlib import import_module

import click
import numpy as np

from assistant.hear.recording import Recording, read_recording
from assistant.hear.transcript import Ears, load_ears, transcribe
from assistant.records import Transcript
from models import fetch
from tests.hear.nonspeech import as_recording
from tests.score import cases, replay
from tests.score.scribe import Scribe
from tests.score.speech import AUDIO, LEVELS, samples_at
from tests.whisper_weights import dimensions, state, variables

Hear = Callable[[Recording], Transcript]
_COMPUTE = {"cpu": "int8", "cuda": "float16"}


@dataclass(frozen=True, slots=True)
class Result:
    """One way of hearing, with one model, at one level of noise."""

    who: str
    model: str
    level: str
    notes: int
    speech_s: float
    took_s: float  # of the processor; elapsed on a graphics card
    times_real_time: float
    readings_f1: float
    beyond: int  # readings that are not in the gold


def ours(ears: Ears) -> Hear:
    return lambda recording: transcribe(recording, ears)


def plain_faster_whisper(model: str, device: str, threads: int) -> Hear:
    """faster-whisper with its defaults, told only that the language is English."""
    from faster_whisper import WhisperModel

    whisper = WhisperModel(
        str(fetch.put_together(model)), device=device, compute_type=_COMPUTE[device], cpu_threads=threads
    )

    def hear(recording: Recording) -> Transcript:
        segments, _ = whisper.transcribe(recording.samples, language="en")
        return Transcript(" ".join(segment.text.strip() for segment in segments), model=model)

    return hear


def openai_whisper(model: str, device: str, threads: int) -> Hear:
    """openai-whisper with its defaults, told only the language. Raises ImportError where it is not installed.

    It is in no extra, because what it brings takes more than 5 GB: whoever wants this peer installs it by hand.
    """
    torch, whisper = import_module("torch"), import_module("whisper")
    torch.set_num_threads(threads)
    folder = fetch.put_together(model)
    held = variables(folder / "model.bin")
    loaded = whisper.Whisper(whisper.ModelDimensions(**dimensions(held)))
    weights = {name: torch.from_numpy(values) for name, values in state(held).items()}
    loaded.load_state_dict(weights)
    loaded = loaded.to(device)

    def hear(recording: Recording) -> Transcript:
        told = whisper.transcribe(loaded, recording.samples.copy(), language="en", fp16=device == "cuda")
        return Transcript(told["text"].strip(), model=model)

    return hear


def left_out() -> dict[str, str]:
    """Peers that cannot be had here, and why."""
    try:
        import_module("whisper")
    except ImportError as err:
        return {"openai-whisper": f"not installed ({err}); pip install openai-whisper, which brings more than 5 GB"}
    return {}


def measure(model: str, level: str, most: int, device: str, threads: int) -> list[Result]:
    """Every way of hearing on the same notes, taking turns."""
    clock = time.process_time if device == "cpu" else time.perf_counter
    ways = {
        "superheard": ours(load_ears(model, device, _COMPUTE[device], threads)),
        "faster-whisper": plain_faster_whisper(model, device, threads),
    }
    if "openai-whisper" not in left_out():
        ways["openai-whisper"] = openai_whisper(model, device, threads)
    chosen = [case for case in cases.load("corpus").cases if (AUDIO / f"{case.id}.ogg").is_file()][: most or None]
    took, heard, speech_s = dict.fromkeys(ways, 0.0), {who: {} for who in ways}, 0.0
    for hear in ways.values():
        hear(as_recording(np.zeros(16_000, np.float32)))  # the first call sets things up
    for case in chosen:
        samples = samples_at(read_recording(AUDIO / f"{case.id}.ogg").samples, case.id, level)
        recording = as_recording(samples)
        speech_s += recording.duration_s
        for who, hear in ways.items():
            start = clock()
            heard[who][case.id] = hear(recording)
            took[who] += clock() - start
    return [_result(who, model, level, chosen, heard[who], speech_s, took[who]) for who in ways]


def _result(
    who: str,
    model: str,
    level: str,
    chosen: list[cases.Case],
    heard: dict[str, Transcript],
    speech_s: float,
    took_s: float,
) -> Result:
    whole = [case for case in chosen if heard.keys() >= set(case.after)]
    told = tuple(replace(case, text=heard[case.id].text, heard=heard[case.id]) for case in whole)
    readings = replay.score(cases.Set(told, ()), Scribe).tallies["readings"]
    f1, speed = round(readings.f1 or 0.0, 3), round(speech_s / took_s, 2)
    return Result(who, model, level, len(chosen), round(speech_s), round(took_s, 1), speed, f1, readings.extra)


@click.command(help=__doc__)
@click.option("--model", "models", multiple=True, default=("base",), show_default=True)
@click.option("--level", "levels", multiple=True, type=click.Choice(LEVELS), default=("quiet", "10"), show_default=True)
@click.option("--notes", default=16, show_default=True, help="How many notes of the corpus; 0 for all 48.")
@click.option("--device", type=click.Choice(sorted(_COMPUTE)), default="cpu", show_default=True)
@click.option("--threads", default=1, show_default=True)
@click.option("--json", "as_json", is_flag=True)
def main(
    models: tuple[str, ...], levels: tuple[str, ...], notes: int, device: str, threads: int, as_json: bool
) -> None:
    found = [row for model in models for level in levels for row in measure(model, level, notes, device, threads)]
    if as_json:
        facts = {"machine": platform.machine(), "cores": os.cpu_count(), "device": device, "threads": threads}
        click.echo(json.dumps({**facts, "hearing": [asdict(row) for row in found], "left_out": left_out()}, indent=1))
        return
    click.echo(f"{os.cpu_count()} cores, {threads} thread(s), {device}; times real time per second of work")
    for row in found:
        click.echo(
            f"{row.model:8} {row.level:>5} {row.who:15} {row.times_real_time:6.2f} times real time, "
            f"readings F1 {row.readings_f1:.3f}, {row.beyond} beyond the gold ({row.notes} notes, {row.speech_s:.0f} s)"
        )
    for name, why in left_out().items():
        click.echo(f"{name} is left out: {why}")


if __name__ == "__main__":
    main()

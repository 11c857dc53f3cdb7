"""Speech is found while the sound is coming just as it is in the whole recording."""

from __future__ import annotations

import numpy as np
import pytest
from faster_whisper import vad
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.hear import windows
from assistant.hear.recording import read_recording
from assistant.hear.voice import CHUNK, RATE, Spans, Voice
from tests.hear.nonspeech import condenser, with_noise
from tests.hear.sounds import HERE

RECORDINGS = sorted((HERE / "audio").glob("*.ogg")) + sorted((HERE / "human").glob("*.*a*"))[:4]


def library_probabilities(samples: np.ndarray) -> np.ndarray:
    padded = np.pad(samples, (0, CHUNK - len(samples) % CHUNK))
    return vad.get_vad_model()(padded).reshape(-1)


@pytest.mark.parametrize("piece", [160, 1600, 5000, 100_000])
def test_pieces_of_any_size_give_the_probabilities_of_the_whole(piece):
    samples = read_recording(HERE / "audio" / "charge.ogg").samples
    voice = Voice()
    found = np.concatenate([voice.take(samples[at : at + piece]) for at in range(0, len(samples), piece)])
    assert found == pytest.approx(library_probabilities(samples)[: len(found)], abs=1e-4)
    assert len(found) == len(samples) // CHUNK


def spans_of(probabilities: np.ndarray, length: int, pause_s: float, longest_s: float) -> list[windows.Window]:
    spans = Spans(int(pause_s * RATE), int(longest_s * RATE - CHUNK - 2 * windows.PAD_S * RATE))
    for probability in probabilities:
        spans.take(float(probability))
    return windows.padded(spans.all(length), length)


def library_spans(probabilities: np.ndarray, length: int, pause_s: float, longest_s: float) -> list[windows.Window]:
    options = vad.VadOptions(
        max_speech_duration_s=longest_s,
        min_silence_duration_ms=int(pause_s * 1000),
        speech_pad_ms=int(windows.PAD_S * 1000),
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(vad, "get_vad_model", lambda: lambda _: probabilities)
        found = vad.get_speech_timestamps(np.zeros(length, np.float32), options)
    return [windows.Window(span["start"] / RATE, span["end"] / RATE) for span in found]


# Runs of chunks of one kind, so that spans and pauses come out of every length.
runs = st.lists(st.tuples(st.sampled_from([0.01, 0.3, 0.4, 0.7, 0.99]), st.integers(1, 40)), min_size=1, max_size=60)


@settings(max_examples=300)
@given(runs, st.integers(1, CHUNK), st.sampled_from([3.0, 6.0, 28.0]))
def test_spans_are_those_of_the_library_whatever_the_probabilities(runs, rest, longest_s):
    probabilities = np.concatenate([np.full(count, value, np.float32) for value, count in runs])
    length = len(probabilities) * CHUNK - rest
    ours = spans_of(probabilities, length, windows.PAUSE_S, longest_s)
    assert ours == library_spans(probabilities, length, windows.PAUSE_S, longest_s)


@pytest.mark.parametrize("file", RECORDINGS, ids=lambda file: file.stem)
@pytest.mark.parametrize("decibels", [None, 10])
def test_windows_are_those_of_the_whole_recording(file, decibels):
    samples = read_recording(file).samples
    if decibels is not None:
        noise = condenser(len(samples) / RATE + 1, np.random.default_rng(3))[: len(samples)]
        samples = with_noise(samples, noise, decibels)
    probabilities = library_probabilities(samples)
    ours = spans_of(probabilities, len(samples), windows.PAUSE_S, windows.LONGEST_S)
    assert windows.packed(ours) == windows.speech_windows(samples)

"""Where nobody speaks, nothing is written down. The long run: python -m tests.hear.nonspeech --minutes 30."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.hear.transcript import transcribe
from assistant.hear.windows import speech_windows
from tests.hear.nonspeech import NUMBER, RATE, SOUNDS, as_recording, level, readings_in


@pytest.mark.parametrize("name", SOUNDS)
def test_no_number_comes_out_of_non_speech(ears, name):
    rng = np.random.default_rng(21)
    transcript = transcribe(as_recording(level(SOUNDS[name](14.0, rng), peak=0.7)), ears)
    assert NUMBER.findall(transcript.text) == []
    assert readings_in(transcript.text) == 0
    assert len(transcript.words) <= 4  # now and then a stock phrase ("Thank you."); never a sentence


@pytest.mark.parametrize("name", SOUNDS)
def test_the_generator_gives_the_same_sound_for_the_same_seed(name):
    first, second = (SOUNDS[name](1.5, np.random.default_rng(5)) for _ in range(2))
    assert np.array_equal(first, second)
    assert first.dtype == np.float32
    assert len(first) == 1.5 * RATE
    assert np.isfinite(first).all()
    assert np.abs(first).max() <= 1


@pytest.mark.parametrize("name", ["silence", "hiss", "fan", "condenser", "hum", "music", "clatter", "wind"])
def test_steady_sounds_hold_hardly_any_window_of_speech(name):
    samples = SOUNDS[name](20.0, np.random.default_rng(22))
    assert sum(window.end_s - window.start_s for window in speech_windows(samples)) < 2.0


@pytest.mark.parametrize("samples", [np.zeros(0, np.float32), np.zeros(1, np.float32), np.zeros(700, np.float32)])
def test_hardly_any_sound_at_all_is_an_empty_transcript(ears, samples):
    recording = as_recording(samples)
    if not len(samples):
        recording = as_recording(np.zeros(1, np.float32))
    assert transcribe(recording, ears).text == ""


def test_what_is_cut_is_kept_with_its_times(ears):
    samples = SOUNDS["backwards"](12.0, np.random.default_rng(23))
    transcript = transcribe(as_recording(samples), ears)
    assert transcript.unclear
    for cut in transcript.unclear:
        assert 0 <= cut.start_s < cut.end_s <= transcript.duration_s
        assert cut.why in ("low_confidence", "loop", "no_speech")
        assert cut.text

"""Hours of sound are heard in memory that does not grow with them."""

from __future__ import annotations

import tracemalloc

import numpy as np

from assistant.hear import transcript, windows
from assistant.hear.decoding import Decoder
from assistant.hear.gates import Heard
from assistant.hear.recording import check_recording, read_recording, sound_of
from assistant.hear.transcript import Ears, transcribe
from assistant.records import Word
from tests.hear.sounds import HERE, RATE, encoded

EARS = Ears("stand-in", Decoder(None, None, None, 1, 1))


def test_a_long_recording_is_heard_in_the_memory_of_a_few_blocks(monkeypatch):
    """Twenty minutes, which as samples are 77 MB, in blocks of one."""
    speech = read_recording(HERE / "audio" / "charge.ogg").samples[: 10 * RATE]
    pause = np.zeros(50 * RATE, np.float32)
    file = check_recording(encoded(np.concatenate([speech, pause] * 20), "flac", "flac", RATE, 1))
    heard = []

    def hear(samples, group, ears):
        heard.extend(group)
        (window,) = group
        assert np.abs(samples[int(window.start_s * RATE) : int(window.end_s * RATE)]).max() > 0.05  # somebody speaks
        return [[Heard((Word("118", window.start_s, window.end_s, 0.9),), window.start_s, window.end_s, -0.2, 0.02, 1)]]

    monkeypatch.setattr(transcript, "hear", hear)
    monkeypatch.setattr(windows, "_BLOCK_S", 60.0)
    tracemalloc.start()
    try:
        told = transcribe(file, EARS)
        assert tracemalloc.get_traced_memory()[1] < 25_000_000
    finally:
        tracemalloc.stop()
    assert len(heard) >= 20
    assert [word.start_s for word in told.words] == [window.start_s for window in heard]
    assert heard[-1].end_s > 19 * 60


def test_decoding_as_it_is_heard_gives_the_same_samples():
    path = HERE / "human" / "cards_001.flac"
    whole = read_recording(path)
    assert np.array_equal(np.concatenate(list(sound_of(check_recording(path)))), whole.samples)
    assert next(sound_of(whole)) is whole.samples

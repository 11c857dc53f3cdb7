"""Speech is found, packed into windows the recogniser can take, and never parted inside a word."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.hear import windows
from assistant.hear.recording import read_recording
from assistant.hear.windows import RATE, Window, packed, speech_windows, stretches
from tests.hear.sounds import HERE

CHARGE = HERE / "audio" / "charge.ogg"


def silence(seconds: float) -> np.ndarray:
    return np.zeros(int(seconds * RATE), np.float32)


def test_speech_is_found_where_it_is():
    speech = read_recording(CHARGE).samples
    (window,) = speech_windows(np.concatenate([silence(20), speech, silence(20)]))
    assert window.start_s == pytest.approx(20, abs=0.5)
    assert window.end_s == pytest.approx(20 + len(speech) / RATE, abs=0.7)


def test_speech_far_apart_is_heard_in_windows_of_its_own():
    speech = read_recording(CHARGE).samples
    first, second = speech_windows(np.concatenate([speech, silence(5), speech]))
    assert second.start_s - first.end_s > 3


def test_a_long_stretch_is_parted_at_a_real_pause_and_a_short_one_is_not():
    def spans(*seconds: float) -> list[Window]:
        return [Window(a, b) for a, b in zip(seconds[::2], seconds[1::2], strict=True)]

    nearer, further = windows.PARTED_S - 0.1, windows.PARTED_S + 0.1
    long, short = windows.PARTED_FROM_S, windows.PARTED_FROM_S - 1
    assert packed(spans(0, long, long + further, long + 4)) == tuple(spans(0, long, long + further, long + 4))
    assert packed(spans(0, long, long + nearer, long + 4)) == tuple(spans(0, long + 4))
    assert packed(spans(0, short, short + further, short + 4)) == tuple(spans(0, short + 4))
    # Parted once the stretch is long, not before: three short ones make one window and the fourth begins another.
    assert len(packed(spans(0, 3, 3 + further, 6, 6 + further, 9, 9 + further, 12))) == 2


def test_no_window_is_longer_than_the_recogniser_takes_and_none_overlap():
    speech = read_recording(CHARGE).samples
    found = speech_windows(np.concatenate([speech] * 8))
    assert all(0 < window.end_s - window.start_s < 30 for window in found)
    assert all(a.end_s <= b.start_s for a, b in zip(found, found[1:], strict=False))
    assert sum(window.end_s - window.start_s for window in found) > 0.9 * 8 * len(speech) / RATE


def test_quiet_speech_is_found_as_well_as_loud():
    speech = read_recording(CHARGE).samples
    (loud,), (quiet,) = speech_windows(speech), speech_windows(speech * 0.02)
    assert (quiet.start_s, quiet.end_s) == pytest.approx((loud.start_s, loud.end_s), abs=0.3)


def test_working_in_blocks_changes_no_window(monkeypatch):
    speech = read_recording(CHARGE).samples
    whole = speech_windows(speech)
    monkeypatch.setattr(windows, "_BLOCK_S", 4.0)
    (parted,) = speech_windows(speech)
    assert (parted.start_s, parted.end_s) == pytest.approx((whole[0].start_s, whole[0].end_s), abs=0.5)


def test_blocks_are_parted_at_the_quietest_moment(monkeypatch):
    monkeypatch.setattr(windows, "_BLOCK_S", 10.0)
    sound = np.random.default_rng(1).standard_normal(25 * RATE).astype(np.float32)
    sound[int(8.0 * RATE) : int(8.3 * RATE)] = 0
    blocks = list(windows._blocks([sound]))
    assert 8.0 < len(blocks[0]) / RATE < 8.3
    assert np.array_equal(np.concatenate(blocks), sound)
    assert all(len(block) <= 10 * RATE for block in blocks)


@pytest.mark.parametrize("together", [1, 3])
def test_sound_that_comes_in_pieces_has_the_same_windows_with_their_own_sound(together, monkeypatch):
    monkeypatch.setattr(windows, "_BLOCK_S", 20.0)
    speech = read_recording(CHARGE).samples
    sound = np.concatenate([silence(3), speech, silence(5), speech, speech, silence(2.5), speech, silence(30), speech])
    found = list(stretches([sound], together))
    pieces = [sound[at : at + 1000] for at in range(0, len(sound), 1000)]
    in_pieces = list(stretches(iter(pieces), together))
    assert [group for _, group in in_pieces] == [group for _, group in found]
    assert [window for _, group in found for window in group] == list(speech_windows(sound))
    assert len(speech_windows(sound)) == 4
    assert all(len(group) == together for _, group in found[:-1])
    for stretch, group in in_pieces:
        assert len(stretch.samples) < len(sound) / (2 if together == 1 else 1)  # no more than it needs
        for window in group:
            first, last = int(window.start_s * RATE), int(window.end_s * RATE)
            assert np.array_equal(stretch[first:last], sound[first:last])

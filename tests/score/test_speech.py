"""Mixing noise into the corpus is honest: as loud as it says, and the same every time."""

import numpy as np
import pytest

from tests.score.speech import samples_at

SPEECH = (0.3 * np.sin(np.arange(32_000) / 7) * np.hanning(32_000)).astype(np.float32)


@pytest.mark.parametrize("level", ["10", "5", "0"])
def test_the_voice_is_so_many_decibels_over_the_noise(level):
    mixed = samples_at(SPEECH, "d001", level)
    gain = float(mixed @ SPEECH / (SPEECH @ SPEECH))  # mixing may turn the whole down to keep it below full scale
    noise = mixed - gain * SPEECH
    ratio = 10 * np.log10(np.mean((gain * SPEECH) ** 2) / np.mean(noise**2))
    assert ratio == pytest.approx(float(level), abs=0.5)


def test_the_same_note_is_heard_in_the_same_noise():
    assert np.array_equal(samples_at(SPEECH, "d001", "5"), samples_at(SPEECH, "d001", "5"))
    assert not np.array_equal(samples_at(SPEECH, "d001", "5"), samples_at(SPEECH, "d002", "5"))


def test_quiet_is_left_alone():
    assert samples_at(SPEECH, "d001", "quiet") is SPEECH

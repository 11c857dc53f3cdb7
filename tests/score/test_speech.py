"""Mixing noise into the corpus is honest: as loud as it says, and the same every time."""

import numpy as np
import pytest
from click.testing import CliRunner

from tests.score import cases
from tests.score.__main__ import main
from tests.score.speech import AUDIO, Hearing, samples_at

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


def test_every_note_of_the_corpus_was_recorded():
    recorded = {file.stem for file in AUDIO.glob("*.ogg")}
    assert recorded == {case.id for case in cases.load("corpus").cases}


def test_words_a_second_and_the_real_time_factor_are_over_all_recordings_together():
    hearing = Hearing("5")
    hearing.add(words=30, speech_s=10.0, took_s=1.0)
    hearing.add(words=60, speech_s=30.0, took_s=9.0)
    assert hearing.words_per_second() == pytest.approx(9.0)
    assert hearing.real_time_factor() == pytest.approx(0.25)
    assert "2 recordings, 5 dB over a condenser: 90 words of 40 s of speech in 10 s" in str(hearing)
    assert hearing.plain()["real_time_factor"] == pytest.approx(0.25)


@pytest.mark.parametrize(
    "asked", [["--speech", "5", "--set", "heldout"], ["--speech", "quiet", "--transcripts", "."], ["--keep", "heard"]]
)
def test_what_cannot_be_heard_is_refused_before_anything_is(asked):
    result = CliRunner().invoke(main, asked)
    assert result.exit_code == 2
    assert "--speech" in result.output

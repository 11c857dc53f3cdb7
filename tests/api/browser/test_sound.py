"""The parts of the page that handle sound, each in the browser that runs them."""

from __future__ import annotations

import io
import wave

import numpy as np
import pytest
from playwright.sync_api import Page


@pytest.fixture
def page(phone, demo_server) -> Page:
    page = phone()
    page.goto(f"{demo_server.url}/offline")
    return page


def resampled(page: Page, samples: np.ndarray, rate: int) -> np.ndarray:
    """What the audio thread makes of samples, in pieces of 128 as it gets them."""
    out = page.evaluate(
        """async ([samples, rate]) => {
          const { Resampler } = await import("/static/phone/resample.js");
          const resampler = new Resampler(rate, 16000);
          const out = [];
          for (let i = 0; i < samples.length; i += 128) {
            out.push(...resampler.take(Float32Array.from(samples.slice(i, i + 128))));
          }
          return out;
        }""",
        [samples.tolist(), rate],
    )
    return np.array(out)


def tone(hz: float, rate: int, seconds: float = 0.5) -> np.ndarray:
    return np.sin(2 * np.pi * hz * np.arange(int(rate * seconds)) / rate)


def loudness(samples: np.ndarray) -> float:
    return float(np.sqrt(np.mean(samples[800:-800] ** 2)))


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_a_voice_comes_through_at_its_own_pitch_and_level(page: Page, rate: int):
    for hz in (200, 1000, 3000, 6000):
        out = resampled(page, tone(hz, rate), rate)
        assert loudness(out) == pytest.approx(np.sqrt(0.5), rel=0.01)
        spectrum = np.abs(np.fft.rfft(out[800:-800] * np.hanning(len(out) - 1600)))
        found = np.argmax(spectrum) * 16000 / (len(out) - 1600)
        assert found == pytest.approx(hz, abs=5)


@pytest.mark.parametrize("rate", [44_100, 48_000])
def test_a_whine_above_half_the_rate_does_not_fold_into_the_voice(page: Page, rate: int):
    for hz in (9000, 11000, 15000):
        assert loudness(resampled(page, tone(hz, rate), rate)) < 0.001  # 57 dB down


def test_no_sound_is_made_or_lost_at_the_seams(page: Page):
    out = resampled(page, tone(440, 48_000, 2.0), 48_000)
    assert len(out) == pytest.approx(32_000, abs=60)  # the filter's reach is still to come
    assert np.max(np.abs(np.diff(out[100:-100]))) < 2 * np.pi * 440 / 16000 * 1.01  # no click


def ends(page: Page, loudnesses: list[float]) -> list[tuple[int, str]]:
    """What the phone itself notices, with the tenth of a second it noticed it at."""
    return [
        tuple(each)
        for each in page.evaluate(
            """async (all) => {
              const { Endpoint } = await import("/static/phone/endpoint.js");
              const endpoint = new Endpoint();
              return all.map((each, at) => [at, endpoint.take(each)]).filter(([, what]) => what);
            }""",
            loudnesses,
        )
    ]


def test_the_phone_notices_speech_and_its_end_in_quiet_and_beside_a_condenser(page: Page):
    quiet, word = 0.001, 0.05
    assert ends(page, [quiet] * 20 + [word] * 30 + [quiet] * 40) == [(22, "began"), (79, "ended")]
    fan, word_over_it = 0.03, 0.1
    assert ends(page, [fan] * 20 + [word_over_it] * 30 + [fan] * 40) == [(22, "began"), (79, "ended")]


def test_a_steady_condenser_is_no_speech_and_a_breath_between_words_no_end(page: Page):
    assert ends(page, [0.03, 0.035] * 100) == []
    assert ends(page, [0.001] * 20 + ([0.05] * 10 + [0.001] * 20) * 3) == [(22, "began")]


def test_a_recording_of_the_phone_is_a_wav_file_with_its_samples(page: Page):
    raw = page.evaluate(
        """async () => {
          const { wav, cut } = await import("/static/phone/sound.js");
          const pieces = [Int16Array.of(1, 2, 3).buffer, Int16Array.of(-4, 5).buffer];
          return [...new Uint8Array(await wav([cut(pieces, 1, 4)]).arrayBuffer())];
        }"""
    )

    with wave.open(io.BytesIO(bytes(raw))) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, 16000)
        assert np.frombuffer(file.readframes(9), "<i2").tolist() == [2, 3, -4]


def test_sound_can_be_had_again_from_any_sample_that_is_held(page: Page):
    found = page.evaluate(
        """async () => {
          const { Stream } = await import("/static/phone/stream.js");
          const stream = new Stream();
          for (const piece of [[0, 1, 2], [3, 4], [5, 6, 7, 8]]) stream.push(Int16Array.from(piece));
          const flat = (place) => stream.from(place).flatMap((piece) => [...piece]);
          const whole = [flat(0), flat(4), flat(9)];
          stream.forget(4);
          return [...whole, flat(0), [stream.first, stream.end]];
        }"""
    )
    assert found == [[*range(9)], [4, 5, 6, 7, 8], [], [3, 4, 5, 6, 7, 8], [3, 9]]

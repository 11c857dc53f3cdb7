"""What is said is heard, with times that point at it; the same recording always gives the same words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from assistant.errors import ModelError
from assistant.hear.recording import read_recording
from assistant.hear.transcript import hear, load_ears, transcribe
from assistant.hear.windows import speech_windows
from models import fetch
from tests.hear.nonspeech import as_recording, condenser, fan, with_noise
from tests.hear.sounds import HERE, RATE, encoded, says, with_words, word_errors

NOTES = with_words("audio")
CHARGE = HERE / "audio" / "charge.ogg"


@pytest.fixture(scope="module")
def charge(ears):
    return transcribe(read_recording(CHARGE), ears)


@pytest.fixture(scope="module")
def notes_heard(ears, charge) -> list[str]:
    return [charge.text if path == CHARGE else transcribe(read_recording(path), ears).text for path, _ in NOTES]


def test_spoken_notes_are_heard_word_for_word_but_for_a_few(notes_heard):
    # Measured: 3.6 %, "okay" and "OK" counted as different words.
    assert word_errors([words for _, words in NOTES], notes_heard) < 0.07


def test_a_note_loses_and_gains_no_number_that_matters(charge):
    for number in ("116", "338", "94.5", "51", "10", "90", "1200"):
        assert says(charge.text, number)
    assert charge.unclear == ()


def test_the_text_is_exactly_its_words_and_the_times_find_them(charge):
    assert charge.text == " ".join(word.text for word in charge.words)
    at = charge.text.index("338")
    start, end, least = charge.span_times(at, at + 3)
    # The voice says "head three thirty eight" between 2.6 s and 3.4 s of the recording.
    assert 2.4 < start < end < 3.6
    assert 0 < least <= 1


def test_words_come_in_order_within_the_recording_and_hold_no_space(charge):
    edges = [edge for word in charge.words for edge in (word.start_s, word.end_s)]
    assert all(word.start_s <= word.end_s for word in charge.words)
    assert [word.start_s for word in charge.words] == sorted(word.start_s for word in charge.words)
    assert min(edges) >= 0
    assert max(edges) <= charge.duration_s
    assert all(word.text and word.text.split() == [word.text] for word in charge.words)
    assert all(0 <= word.probability <= 1 for word in charge.words)
    assert charge.model == "base"


def test_the_same_recording_gives_the_same_transcript_twice(ears, charge):
    assert transcribe(read_recording(CHARGE), ears) == charge


def test_progress_climbs_to_one(ears):
    told: list[float] = []
    transcribe(read_recording(HERE / "human" / "cards_001.flac"), ears, told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0


@pytest.mark.parametrize(
    ("container", "codec", "rate", "channels"),
    [("mp3", "libmp3lame", 44100, 2), ("ipod", "aac", 48000, 1), ("wav", "pcm_s16le", 8000, 2),
     ("webm", "libopus", 48000, 1)],
)  # fmt: skip
def test_a_phrase_is_heard_the_same_in_every_format(ears, charge, container, codec, rate, channels):
    phrase = read_recording(CHARGE).samples[: int(5.9 * RATE)]  # up to "suction line fifty one"
    heard = transcribe(read_recording(encoded(phrase, container, codec, rate, channels)), ears)
    said = "okay she's been running twenty minutes suction one sixteen head three thirty eight " \
           "liquid line ninety four and a half suction line fifty one"  # fmt: skip
    assert word_errors([said], [heard.text]) < 0.15


def phrase(start_s: float, end_s: float) -> np.ndarray:
    """A stretch of the charge note with a little quiet around it, as a bare answer would be."""
    quiet = np.zeros(RATE // 2, np.float32)
    return np.concatenate([quiet, read_recording(CHARGE).samples[int(start_s * RATE) : int(end_s * RATE)], quiet])


@pytest.mark.parametrize(
    ("start_s", "end_s", "number"),
    [(1.55, 2.55, "116"), (2.5, 3.42, "338"), (3.4, 4.8, "94.5"), (4.75, 5.85, "51"), (7.9, 8.8, "90")],
)
def test_a_short_phrase_is_not_cut(ears, start_s, end_s, number):
    heard = transcribe(as_recording(phrase(start_s, end_s)), ears)
    assert says(heard.text, number)
    assert heard.unclear == ()


@pytest.mark.parametrize("decibels", [10, 5])
def test_a_note_beside_a_condenser_keeps_its_numbers(ears, decibels):
    speech = read_recording(CHARGE).samples
    noise = condenser(len(speech) / RATE, np.random.default_rng(11))[: len(speech)]
    heard = transcribe(as_recording(with_noise(speech, noise, decibels)), ears)
    assert heard.unclear == ()
    kept = [says(heard.text, number) for number in ("116", "338", "94.5", "51", "10", "90", "1200")]
    assert sum(kept) >= 6


def test_speech_between_long_stretches_of_fan_is_found_and_timed(ears):
    rng = np.random.default_rng(12)
    speech = read_recording(CHARGE).samples
    whole = 0.1 * fan(50 + len(speech) / RATE, rng)
    whole[30 * RATE : 30 * RATE + len(speech)] += speech
    heard = transcribe(as_recording(whole), ears)
    start, end, _ = heard.span_times(heard.text.index("338"), heard.text.index("338") + 3)
    assert 30 + 2.2 < start < end < 30 + 3.8
    assert word_errors([NOTES[0][1]], [heard.text]) < 0.15


def test_a_long_note_is_heard_once_and_in_order(ears, notes_heard):
    # Three notes in a row make 44 s, more than one window; nothing may be heard twice or lost at the seam.
    three = [read_recording(path).samples for path, _ in NOTES[:3]]
    heard = transcribe(as_recording(np.concatenate(three)), ears)
    assert heard.unclear == ()
    assert word_errors([" ".join(notes_heard[:3])], [heard.text]) < 0.06


def test_windows_heard_beside_each_other_are_heard_as_one_by_one(ears):
    phrases = [phrase(1.55, 3.42), phrase(3.4, 5.85), phrase(7.9, 8.8)]
    quiet = np.zeros(3 * RATE, np.float32)
    samples = np.concatenate([sound for each in phrases for sound in (each, quiet)])
    windows = speech_windows(samples)
    assert len(windows) == 3
    one, three = (replace(ears, decoder=replace(ears.decoder, beside=beside)) for beside in (1, 3))
    together = hear(samples, windows, three)
    assert together == [hear(samples, [window], one)[0] for window in windows]
    assert all(says(heard[0].text, number) for heard, number in zip(together, ("338", "94.5", "90"), strict=True))


def test_the_small_model_can_be_named(tmp_path):
    small = load_ears("tiny.en")
    heard = transcribe(as_recording(phrase(2.5, 3.42)), small)
    assert heard.model == "tiny.en"
    assert says(heard.text, "338")


def test_a_model_can_be_named_by_its_folder():
    folder = fetch.put_together("tiny.en")
    assert load_ears(str(folder)).name == str(folder)


def test_a_folder_without_a_whole_model_is_refused_by_file(tmp_path):
    (tmp_path / "config.json").write_text("{}")
    with pytest.raises(ModelError, match=r"model\.bin is missing"):
        load_ears(str(tmp_path))


def test_weights_that_do_not_load_are_refused_with_what_to_do(tmp_path):
    for name in ("config.json", "tokenizer.json", "model.bin"):
        (tmp_path / name).write_text("{}")
    with pytest.raises(ModelError, match="does not load"):
        load_ears(str(tmp_path))


def test_altered_weights_of_a_known_model_name_the_command_that_mends_them(tmp_path):
    folder = fetch.put_together("tiny.en", tmp_path)
    size = (folder / "model.bin").stat().st_size
    with (folder / "model.bin").open("r+b") as file:
        file.write(bytes(4096))
        file.truncate(size)
    with pytest.raises(ModelError, match="superheard check --mend"):
        load_ears("tiny.en", cache=tmp_path)


def test_a_name_that_is_no_model_is_refused_with_the_known_ones():
    with pytest.raises(ModelError, match=r"No model 'no-such-recogniser'.*There are: base, tiny\.en"):
        load_ears("no-such-recogniser")

"""Against something that is not ours: people speaking, with transcriptions made elsewhere (human/README.md)."""

from __future__ import annotations

import pytest

from assistant.hear.recording import read_recording
from assistant.hear.transcript import transcribe
from tests.hear.sounds import plain_words, with_words, word_errors

SPEECH = with_words("human")


@pytest.fixture(scope="module")
def heard(ears) -> dict[str, str]:
    return {path.stem: transcribe(read_recording(path), ears).text for path, _ in SPEECH}


def errors(heard: dict[str, str], beginning: str) -> float:
    pairs = [(words, heard[path.stem]) for path, words in SPEECH if path.stem.startswith(beginning)]
    assert len(pairs) == 5
    return word_errors([said for said, _ in pairs], [offered for _, offered in pairs])


def test_read_sentences_are_heard(heard):
    assert errors(heard, "reading") < 0.06  # measured 2.8 %, both errors "mister" for "Mr." and a slip in the text


def test_spoken_numbers_and_card_names_are_heard(heard):
    # Measured 13.6 %: three times "clubs", which the trade's words pull elsewhere; no number is wrong.
    assert errors(heard, "cards") < 0.2


def test_no_human_recording_is_cut_or_gains_a_number(heard):
    for path, words in SPEECH:
        said = {token for token in plain_words(words).split() if token.isdigit()}
        offered = {token for token in plain_words(heard[path.stem]).split() if token.isdigit()}
        assert heard[path.stem], path.stem
        assert offered <= said, path.stem

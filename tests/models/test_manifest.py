"""The manifest adds up, and the words that bias the recogniser hold no number."""

from __future__ import annotations

import re

import pytest

from models import fetch
from tests.hear.nonspeech import NUMBER


@pytest.mark.parametrize("name", fetch.known_models())
def test_the_manifest_adds_up(name):
    manifest = fetch._manifest(name)
    assert manifest.title
    assert manifest.licence
    assert {"model.bin", "config.json", "tokenizer.json"} <= {file.name for file in manifest.files}
    for file in manifest.files:
        assert file.size == sum(part.size for part in file.parts)
        for piece in (file, *file.parts):
            assert re.fullmatch("[0-9a-f]{64}", piece.sha256)
        assert {part.package for part in file.parts} <= manifest.packages.keys()
        if len(file.parts) == 1:
            assert file.sha256 == file.parts[0].sha256


def test_the_hotwords_hold_no_digit_and_no_number_word():
    assert NUMBER.findall(fetch.hotwords()) == []


def test_the_hotwords_leave_the_recogniser_room_for_its_own_text():
    # Hotwords share the recogniser's 448 tokens with what it writes; about 1.5 tokens to a word.
    assert 20 < len(fetch.hotwords().split()) < 130

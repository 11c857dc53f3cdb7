"""--speak and --speak-to: the answer as sound, and never at the cost of its words."""

import io
import json
import sys
import wave

import numpy as np
import pytest

from assistant.cli import speaking


@pytest.fixture
def voice(monkeypatch):
    """Stands for the voice, which is an extra: keeps what it was asked to say and answers with a tone."""
    said = []

    def say(text):
        said.append(text)
        return 0.2 * np.sin(np.arange(speaking.RATE // 4) / 20)

    monkeypatch.setattr(speaking, "_voice", lambda: say)
    return said


def test_the_answer_is_written_as_sound_in_the_trades_words(superheard, voice, tmp_path):
    told = superheard("tell", "410A, TXV, target ten. Head 342, liquid line 94.", "--speak-to", str(tmp_path / "a.wav"))
    assert "head 342" in told.stdout
    with wave.open(io.BytesIO((tmp_path / "a.wav").read_bytes())) as sound:
        assert (sound.getnchannels(), sound.getframerate(), sound.getnframes()) == (1, 24_000, 6_000)
    assert "three forty two" in voice[0]
    assert not any(char.isdigit() for char in voice[0])


def test_json_stays_json_when_spoken(superheard, voice, tmp_path):
    superheard("tell", "Head 342.", "--job", "bakery")
    asked = superheard("ask", "what was the head pressure?", "--json", "--speak-to", str(tmp_path / "a.wav"))
    assert json.loads(asked.stdout)["value"] == 342
    assert (tmp_path / "a.wav").exists()


def test_without_the_voice_the_words_are_printed_and_the_remedy_is_named(superheard, monkeypatch, tmp_path):
    monkeypatch.setitem(sys.modules, "hibari", None)
    told = superheard("tell", "Head 342.", "--speak-to", str(tmp_path / "a.wav"))
    assert told.exit_code == 0
    assert "Head 342" in told.stdout
    assert "superheard[voice]" in told.stderr


def test_without_a_player_the_words_are_printed(superheard, voice, monkeypatch):
    monkeypatch.setattr(speaking.shutil, "which", lambda _: None)
    told = superheard("tell", "Head 342.", "--speak")
    assert told.exit_code == 0 and "Head 342" in told.stdout
    assert "No sound player" in told.stderr

"""The demonstration goes through the same door as any note, and leaves nothing behind."""

from __future__ import annotations

import json
import shutil
import tempfile
from pathlib import Path

import pytest
from click.testing import CliRunner

from assistant.cli.demo import demo, scenario
from assistant.errors import NoteError

DEMO_AUDIO = Path(__file__).parents[2] / "demo_audio"
NITROGEN = '[[note]]\nname = "02_nitrogen"\ndate = 2025-08-19\n'


@pytest.fixture
def one_note(tmp_path):
    """A demonstration of a single recording."""
    folder = tmp_path / "demo"
    folder.mkdir()
    shutil.copy(DEMO_AUDIO / "02_nitrogen.ogg", folder)
    (folder / "scenario.toml").write_text(f'job = "pottery-studio"\n{NITROGEN}')
    return folder


def test_the_demonstration_we_ship_is_complete():
    job, notes = scenario(DEMO_AUDIO)
    assert job and len(notes) >= 8
    assert len({note.date for note in notes}) == 3


def test_each_reply_is_printed_and_then_the_page(one_note, tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    shown = CliRunner().invoke(demo, [str(one_note)])
    assert shown.exit_code == 0, shown.output
    assert shown.stdout.index("02_nitrogen.ogg") < shown.stdout.index("test pressure 375 psi")
    assert list(tmp_path.glob("superheard-demo-*")) == []


def test_json_is_the_whole_log_and_nothing_else(one_note):
    shown = CliRunner().invoke(demo, [str(one_note), "--json"])
    log = json.loads(shown.stdout)
    assert log["job"]["id"] == "pottery-studio"
    assert "listening: 02_nitrogen.ogg" in shown.stderr


def test_a_scenario_or_recording_that_is_missing_is_named(one_note, tmp_path):
    (one_note / "02_nitrogen.ogg").unlink()
    for folder, named in ((one_note, "02_nitrogen.ogg"), (tmp_path, "scenario.toml")):
        with pytest.raises(NoteError, match=named):
            scenario(folder)
        assert CliRunner().invoke(demo, [str(folder)]).exit_code == 1

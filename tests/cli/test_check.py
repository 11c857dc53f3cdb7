"""`superheard check` says whether the machine is ready and what to do if it is not."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from assistant.log.store import DATABASE, Store


@pytest.fixture
def model(tmp_path, monkeypatch):
    """A folder that stands for a recogniser, so that the test needs no weights."""
    folder = tmp_path / "model"
    folder.mkdir()
    (folder / "model.bin").write_bytes(b"weights")
    monkeypatch.setenv("SUPERHEARD_MODEL", str(folder))
    return folder


def findings(result) -> dict[str, list[dict]]:
    found: dict[str, list[dict]] = {}
    for each in json.loads(result.stdout)["findings"]:
        found.setdefault(each["what"], []).append(each)
    return found


def test_a_machine_that_is_ready_says_so(superheard, model):
    checked = superheard("check")
    assert checked.exit_code == 0, checked.stdout
    assert checked.stdout.rstrip().endswith("Ready.")
    assert "NOT READY" not in checked.stdout


def test_checking_makes_no_store(superheard, model, tmp_path):
    superheard("check")
    assert not (tmp_path / "home").exists()


def test_every_setting_is_listed_with_where_it_came_from(superheard, model):
    listed = json.loads(superheard("check", "--threads", "2", "--json").stdout)["settings"]
    assert listed["threads"] == {"value": 2, "from": "option --threads"}
    assert listed["model"]["from"] == "environment variable SUPERHEARD_MODEL"
    assert listed["device"] == {"value": "cpu", "from": "default"}


def test_a_model_folder_without_weights_is_not_ready(superheard, model):
    (model / "model.bin").unlink()
    checked = superheard("check", "--json")
    assert checked.exit_code == 1
    assert "model.bin" in findings(checked)["recogniser"][0]["says"]


def test_a_recogniser_not_put_together_names_the_command_that_does_it(superheard, tmp_path):
    checked = superheard("check", "--model", "base", "--cache", str(tmp_path / "cache"), "--json")
    assert checked.exit_code == 1
    says = findings(checked)["recogniser"][0]["says"]
    assert "model.bin" in says and "superheard check --mend" in says


def test_a_package_that_is_missing_or_too_old_names_the_command_that_installs_it(superheard, model, monkeypatch):
    from importlib import metadata

    monkeypatch.setattr(metadata, "requires", lambda _: ["no-such-thing>=1", "click>=999", "rich", "x; extra == 'y'"])
    checked = superheard("check", "--json")
    assert checked.exit_code == 1
    says = [each["says"] for each in findings(checked)["packages"]]
    assert any("no-such-thing is missing; run: pip install 'no-such-thing>=1'" in each for each in says)
    assert any(each.startswith("click") and "pip install 'click>=999'" in each for each in says)
    assert len(says) == 3


def test_a_misspelt_environment_variable_is_pointed_out(superheard, model, monkeypatch):
    monkeypatch.setenv("SUPERHEARD_MODLE", "base")
    checked = superheard("check", "--json")
    assert checked.exit_code == 1
    assert "SUPERHEARD_MODLE" in findings(checked)["settings"][0]["says"]


def test_a_damaged_store_is_found_and_mended(superheard, model, tmp_path):
    superheard("tell", "Head pressure is 345 psi.", "--job", "print-shop")
    database = tmp_path / "home" / DATABASE
    for ending in ("-wal", "-shm"):
        Path(f"{database}{ending}").unlink(missing_ok=True)
    database.write_bytes(b"\0" * database.stat().st_size)

    assert superheard("log").exit_code == 1
    checked = superheard("check", "--json")
    assert checked.exit_code == 1
    assert "superheard check --mend" in findings(checked)["store"][0]["says"]

    mended = superheard("check", "--mend", "--json")
    assert mended.exit_code == 0, mended.stdout
    assert "set the damaged store aside" in json.loads(mended.stdout)["mended"][0]
    assert superheard("jobs").exit_code == 0


def test_a_recording_that_waits_to_be_heard_is_pointed_out(superheard, model, tmp_path):
    store = Store(tmp_path / "home")
    store.keep_recording("ab" * 32, ".ogg", b"OggS", None)
    store.add_note(store.open_job("print-shop"), "2026-05-12", recording="ab" * 32)
    store.close()
    checked = superheard("check", "--json")
    assert "superheard reread" in findings(checked)["store"][0]["says"]

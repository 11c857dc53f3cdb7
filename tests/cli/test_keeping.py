"""Backing up, restoring and deleting from the command line; what check says of a store and mends."""

from __future__ import annotations

import json
from datetime import date

import pytest

HEAD = "Head pressure is 345 psi and the liquid line is 94 degrees."


@pytest.fixture
def home(superheard, tmp_path):
    assert superheard("tell", HEAD, "--job", "print-shop").exit_code == 0
    assert superheard("tell", "Suction is 118 psi.", "--job", "bakery").exit_code == 0
    return tmp_path / "home"


def test_a_backup_is_restored_and_says_what_it_holds(superheard, home, tmp_path):
    copy, new = str(tmp_path / "copy.tar"), str(tmp_path / "new")
    made = superheard("backup", copy)
    assert made.exit_code == 0 and "2 jobs, 2 notes" in made.stdout
    restored = superheard("restore", copy, "--home", new, "--json")
    assert restored.exit_code == 0
    assert json.loads(restored.stdout) | {"made_at": ""} == {
        "where": new, "made_at": "", "jobs": 2, "notes": 2, "files": 0, "missing": [],
    }  # fmt: skip
    logs = [json.loads(superheard("log", "bakery", "--json", *at).stdout) for at in ((), ("--home", new))]
    assert logs[0] == logs[1]


def test_a_backup_that_cannot_be_made_or_is_none_is_one_clear_line(superheard, home, tmp_path):
    (tmp_path / "bad.tar").write_bytes(b"no backup")
    for arguments, says in (
        (("backup", str(tmp_path / "bad.tar")), "never writes over another"),
        (("backup", str(tmp_path / "no" / "copy.tar")), "no"),
        (("restore", str(tmp_path / "bad.tar"), "--home", str(tmp_path / "new")), "no backup"),
        (("restore", str(tmp_path / "bad.tar")), "not empty"),
    ):
        failed = superheard(*arguments)
        assert failed.exit_code == 1 and says in failed.stderr and failed.stderr.count("\n") == 1
    assert not (tmp_path / "new").exists()


def test_a_job_is_deleted_only_when_it_is_meant(superheard, home):
    kept = superheard("forget", "bakery", "--by", "Ana", input="n\n")
    assert kept.exit_code == 1 and "1 notes for good?" in kept.stderr
    assert superheard("log", "bakery").exit_code == 0
    gone = superheard("forget", "Bakery", "--by", "Ana", input="y\n")
    assert gone.exit_code == 0 and "bakery is deleted: 1 notes" in gone.stdout
    asked = superheard("log", "bakery")
    assert asked.exit_code == 1 and f"deleted on {date.today().isoformat()} by Ana" in asked.stderr
    assert [job["id"] for job in json.loads(superheard("jobs", "--json").stdout)] == ["print-shop"]


def test_json_and_yes_delete_without_asking(superheard, home):
    gone = superheard("forget", "bakery", "--yes", "--json")
    assert json.loads(gone.stdout) == {"job": "bakery", "notes": 1, "files": 0, "copies": []}


def test_deleting_takes_a_job_or_the_old_recordings(superheard, home):
    for arguments in ((), ("bakery", "--expired"), ("--expired",)):
        assert superheard("forget", *arguments).exit_code == 2
    done = superheard("forget", "--expired", "--keep-recordings-days", "30")
    assert done.exit_code == 0 and "0 recordings older than 30 days" in done.stdout


def test_check_tells_of_deleted_jobs_and_of_files_nobody_speaks_of_and_mends(superheard, home):
    superheard("forget", "bakery", "--yes", "--by", "Ana")
    stray = home / "recordings" / "ab" / ("ab" * 32 + ".wav")
    stray.parent.mkdir(parents=True)
    stray.write_bytes(b"never acknowledged")
    found = json.loads(superheard("check", "--json").stdout)["findings"]
    says = " ".join(each["says"] for each in found if each["what"] == "store")
    assert "1 jobs were deleted" in says and "by Ana" in says and str(stray) in says
    mended = json.loads(superheard("check", "--mend", "--json").stdout)["mended"]
    assert any("moved 1 files" in each for each in mended)
    assert (home / "untold" / stray.name).exists() and not stray.exists()

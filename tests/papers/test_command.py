"""`superheard paper`: every paper as a file, as a person at a terminal gets it."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from icalendar import Calendar

from assistant.cli import main

NOTE = (
    "Three ton, R-410A with a TXV. Two 14 inch flex returns, return airflow 1230 cfm. Suction 118, head 345, liquid "
    "line 94. Nameplate calls for ten of subcooling. Quoted the owner 900 dollars for a bigger return. Added eight "
    "ounces. Gas inspection is scheduled for May 20."
)
BEGINS = {
    "record.pdf": b"%PDF-",
    "log.csv": b"\xef\xbb\xbfjob,date,system,quantity",
    "tasks.ics": b"BEGIN:VCALENDAR",
    "proposal.txt": b"Proposal for extra work",
    "refrigerant.csv": b"\xef\xbb\xbfjob,row,date",
    "invoice.csv": b"\xef\xbb\xbfjob,kind,date",
    "ducts.svg": b"<svg xmlns=",
    "trend.svg": b"<svg xmlns=",
}


def run(home: Path, *words: str) -> Result:
    return CliRunner().invoke(main, [words[0], "--home", str(home), *words[1:]])


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("home")
    assert run(folder, "tell", NOTE, "--job", "bakery", "--date", "2026-05-12").exit_code == 0
    return folder


def _paper(home: Path, kind: str, *more: str) -> Result:
    quantity = ["--quantity", "subcooling"] if kind == "trend.svg" else []
    return run(home, "paper", "bakery", "--as", kind, *quantity, *more)


@pytest.mark.parametrize("kind", BEGINS)
def test_each_paper_is_written_to_its_file(home: Path, tmp_path: Path, kind: str):
    done = _paper(home, kind, "--to", str(tmp_path / kind))
    assert done.exit_code == 0, done.output
    assert (tmp_path / kind).read_bytes().startswith(BEGINS[kind])


def test_without_a_file_the_paper_is_the_output_and_nothing_else(home: Path):
    done = _paper(home, "tasks.ics")
    assert done.exit_code == 0
    assert [str(e["summary"]) for e in Calendar.from_ical(done.stdout_bytes).walk("VEVENT")] == [
        "gas inspection (bakery)"
    ]


def test_a_trend_without_a_quantity_and_a_job_that_is_not_there_are_told_in_a_line(home: Path, tmp_path: Path):
    assert "needs --quantity" in run(home, "paper", "bakery", "--as", "trend.svg").output
    assert "No job called 'diner'" in run(home, "paper", "diner", "--as", "log.csv").output
    nowhere = _paper(home, "log.csv", "--to", str(tmp_path / "no" / "such" / "folder.csv"))
    assert nowhere.exit_code == 1 and "cannot be written" in nowhere.output

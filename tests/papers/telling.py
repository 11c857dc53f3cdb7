"""Jobs for the tests of this folder: the demonstration as typed words, and any notes told one after the other."""

from __future__ import annotations

import datetime
import functools
import os
import shutil
import subprocess
import tomllib
from pathlib import Path

import pytest

from assistant import Assistant
from assistant.converse import JobHistory

DEMO = Path(__file__).parents[2] / "demo_audio"


@functools.cache
def demo() -> JobHistory:
    """The demonstration job, told as the texts of its recordings."""
    scenario = tomllib.loads((DEMO / "scenario.toml").read_text("utf-8"))
    notes = [(note["date"], (DEMO / f"{note['name']}.txt").read_text("utf-8")) for note in scenario["note"]]
    return told(*((day, text) for day, text in notes if text.strip()), job=scenario["job"])


def told(*notes: tuple[datetime.date, str], job: str = "test job") -> JobHistory:
    with Assistant(home=None) as assistant:
        for day, text in notes:
            assistant.tell(text=text, job=job, date=day)
        return assistant.job_history(job)


def day(text: str) -> datetime.date:
    return datetime.date.fromisoformat(text)


def pdf_text(raw: bytes, tmp_path: Path) -> str:
    """What stands on the pages, read by poppler."""
    reader = shutil.which("pdftotext")
    if reader is None:
        if os.environ.get("CI") == "true":
            pytest.fail("pdftotext (poppler-utils) is not installed, and here it has to be.")
        pytest.skip("pdftotext (poppler-utils) is not installed")
    file = tmp_path / "record.pdf"
    file.write_bytes(raw)
    done = subprocess.run([reader, "-layout", file, "-"], capture_output=True, check=True)
    return done.stdout.decode("utf-8").replace("\u200b", "")

"""Jobs for the tests of the office's pages, told as typed notes through the one door."""

from __future__ import annotations

import tomllib
from datetime import date
from functools import cache
from pathlib import Path

from assistant import Assistant
from assistant.converse import JobHistory

DEMO = Path(__file__).parents[2] / "demo_audio" / "scenario.toml"
DEMO_JOB = "pottery-studio"


@cache
def demo_history(until: str = "9999") -> JobHistory:
    """The demonstration job as its recordings' texts tell it, up to a date (ISO, included)."""
    scenario = tomllib.loads(DEMO.read_text("utf-8"))
    with Assistant(home=None) as assistant:
        for note in scenario["note"]:
            if note["text"].strip() and note["date"].isoformat() <= until:
                assistant.tell(text=note["text"], job=DEMO_JOB, date=note["date"])
        return _held(assistant.job_history(DEMO_JOB))


@cache
def told(*notes: tuple[str, str], job: str = "print-shop") -> JobHistory:
    """A job told as (ISO date, words)."""
    with Assistant(home=None) as assistant:
        for day, words in notes:
            assistant.tell(text=words, job=job, date=date.fromisoformat(day))
        return _held(assistant.job_history(job))


def _held(history: JobHistory) -> JobHistory:
    """The history with its logs in memory, so that it outlives the store it came from."""
    return JobHistory(history.notes, tuple(history.logs[place] for place in range(len(history.logs))))

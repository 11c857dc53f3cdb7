"""An assistant that takes transcripts: the recogniser's words with their probabilities, heard once and kept."""

from __future__ import annotations

from datetime import date
from typing import Any

from assistant.pipeline import start_job, take_note
from assistant.records import JobLog, Transcript, plain

Row = dict[str, Any]


class Scribe:
    """One job, told transcript by transcript, by the same pipeline that the assistant uses."""

    def __init__(self) -> None:
        self._jobs: dict[str, JobLog] = {}
        self._notes = 0

    def tell_heard(self, heard: Transcript, job: str, day: date) -> tuple[Row, Row]:
        """The note, and the job's whole log after it, as JSON types."""
        self._notes += 1
        before = self._jobs.get(job) or start_job(job)
        note, after = take_note(heard, str(self._notes), day.isoformat(), before)
        self._jobs[job] = after
        return plain(note), plain(after)

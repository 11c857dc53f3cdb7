"""A job's readings as a table: one row each, whatever became of it."""

from __future__ import annotations

from assistant.papers.csv_text import csv_text
from assistant.papers.text import visit_days
from assistant.records import JobLog, Reading

_OF_THE_READING = (
    "system", "quantity", "qualifier", "role", "value", "unit", "low", "high", "status", "doubt", "confidence",
    "said", "note", "start_s", "end_s",
)  # fmt: skip
# What a person did about it, when, and what had been heard.
_OF_THE_CORRECTION = {
    "correction": "action",
    "corrected_by": "by",
    "corrected_at": "at",
    "corrected_from": "was",
    "corrected_from_unit": "was_unit",
}
COLUMNS = ("job", "date", *_OF_THE_READING, *_OF_THE_CORRECTION)


def log_csv(log: JobLog) -> str:
    """Every reading of `log` in the order it was said, in the contract's names and units; `date` is the visit's.

    Superseded, retracted and doubtful ones are there too and say so in `status`. `csv_text` tells how it is written.
    """
    order, days = log.note_order(), visit_days(log)
    told = sorted(log.readings, key=lambda r: (order.get(r.note, -1), r.position))
    return csv_text(COLUMNS, (_row(log.job.id, days.get(r.note), r) for r in told))


def _row(job: str, day: str | None, reading: Reading) -> list[object]:
    return [
        job,
        day,
        *(getattr(reading, name) for name in _OF_THE_READING),
        *(getattr(reading.correction, name, None) for name in _OF_THE_CORRECTION.values()),
    ]

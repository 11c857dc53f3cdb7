"""What an answer rests on, line by line, with the moment of the recording it was said at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from api.office_view import standing_of
from assistant import Assistant
from assistant.converse import report_words as words
from assistant.converse.vocabulary import title as finding_title
from assistant.errors import AssistantError
from assistant.records import Agreement, Answer, Calculation, Event, Reading, Remark, Task, Verdict

_WRITE: dict[type, Callable[[Any], str]] = {
    Reading: lambda each: words.reading(each, with_system=True),
    Calculation: lambda each: f"{_of(each)}{words.title(each.name, each.qualifier)} {words.amount(each)}, worked out",
    Verdict: lambda each: f"{_of(each)}{finding_title(each.about)} {standing_of(each)}: {each.because}",
    Remark: lambda each: "said",
    Event: words.event,
    Task: words.task,
    Agreement: words.agreement,
}


@dataclass(frozen=True, slots=True)
class Evidence:
    """One record behind an answer."""

    words: str
    said: str = ""  # the speaker's own words
    at: str = "typed"
    start_s: float | None = None
    end_s: float | None = None
    note: str = ""  # "" where no single note says it
    job: str = ""
    date: str = ""  # ISO


def evidence_lines(assistant: Assistant, answer: Answer) -> list[Evidence]:
    """A line for each record behind the answer, each note's job and date looked up at the door."""
    return [_line(assistant, record) for record in answer.evidence]


def _line(assistant: Assistant, record: Any) -> Evidence:
    note = getattr(record, "note", "")
    job = date = ""
    if note:
        try:
            told = assistant.note_told(note)
            job, date = told.job, told.date
        except AssistantError:
            note = ""  # of a note that is gone
    said = record.text if isinstance(record, Remark) else getattr(record, "said", "")
    start_s, end_s = getattr(record, "start_s", None), getattr(record, "end_s", None)
    at = words.moment(record) if isinstance(record, (Reading, Remark)) else "typed"
    return Evidence(_WRITE[type(record)](record), said, at, start_s, end_s, note, job, date)


def _of(record: Calculation | Verdict) -> str:
    return "" if record.system in ("main", "site") else f"{record.system}: "

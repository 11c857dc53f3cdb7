"""How the office's pages write dates, moments and addresses: the filters of their templates. Pure."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from urllib.parse import quote

from api.attention import KINDS
from assistant.converse.ear import for_the_ear
from assistant.converse.report_words import days
from assistant.converse.speech import clock as hour
from assistant.converse.speech import weekday
from assistant.log.store import job_key
from assistant.papers.text import full_day, sentence

V1 = "/api/v1"
# Heard before and after the words themselves, so that none is cut [s]; from listening.
_LEAD_S, _TAIL_S = 0.4, 0.5
_TONES = {"stop": "stop", "inspection": "attention", "recheck": "info", "agreement": "info", "overdue": "attention",
          "doubt": "attention", "finding": "attention"}  # fmt: skip
_SEVERITY_TONES = {"stop": "stop", "attention": "attention", "info": "info"}


def in_path(job: str) -> str:
    """A job's name as one part of an address: its key, which has no spaces, slashes or marks."""
    return quote(job_key(job), safe="")


def short_day(iso: str | None) -> str:
    """ "Aug 19, 2025"; "" for none."""
    if not iso:
        return ""
    that = date.fromisoformat(iso[:10])
    return f"{that:%b} {that.day}, {that.year}"


def moment(iso: str) -> str:
    """ "Nov 25, 2026 at 1:04 pm"."""
    return f"{short_day(iso)} at {hour(datetime.fromisoformat(iso))}"


def seconds(start_s: float | None) -> str:
    """ "1:04" into a recording; "typed" where there is none."""
    if start_s is None:
        return "typed"
    minutes, rest = divmod(int(start_s), 60)
    return f"{minutes}:{rest:02d}"


def span(dates: tuple[str, ...]) -> str:
    return days(dates[0], dates[-1])


def recording_stretch(note: str, start_s: float | None, end_s: float | None) -> str:
    """The address of a note's recording, and in it the stretch to play: "…#t=3.80,6.50"."""
    start = max(0.0, (start_s or 0.0) - _LEAD_S)
    stop = f",{end_s + _TAIL_S:.2f}" if end_s is not None else ""
    return f"{V1}/notes/{note}/recording#t={start:.2f}{stop}"


FILTERS: dict[str, Any] = {
    "in_path": in_path,
    "day": short_day,
    "full_day": full_day,
    "weekday": weekday,
    "moment": moment,
    "clock": seconds,
    "span": span,
    "sentence": sentence,
    "aloud": for_the_ear,
    "matter_tone": lambda kind: _TONES[kind],
    "matter_name": lambda kind: KINDS[kind][0],
    "severity_tone": lambda severity: _SEVERITY_TONES[severity],
}

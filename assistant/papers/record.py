"""The commissioning record as a PDF: two pages an inspector or an owner can read."""

from __future__ import annotations

import json
import re
from datetime import UTC, date, datetime, time
from importlib import resources
from typing import Any

from assistant.converse.history import JobHistory
from assistant.papers.sheet import record_sheet

_LONGEST = 24  # letters of a word that a column holds; a longer one may be broken
_BREAK_HERE = "\u200b"


def record_pdf(history: JobHistory) -> bytes:
    """The commissioning record of a job, US letter.

    What was said reaches the page as JSON and is set as it is: no word of it is ever read as markup. The same history
    gives the same bytes; the date of making is the last visit's. Needs no network.
    """
    import typst  # slow to load, and the other papers never need it

    sheet = json.dumps(_breakable(record_sheet(history)), ensure_ascii=False)
    template = resources.files("assistant.papers").joinpath("record.typ").read_bytes()
    log = history.latest
    made = date.fromisoformat(log.visits[-1].date) if log and log.visits else date(1970, 1, 1)
    moment = int(datetime.combine(made, time(), UTC).timestamp())

    def pdf(*standards: str) -> bytes:
        return typst.compile(
            template, format="pdf", sys_inputs={"sheet": sheet}, timestamp=moment, pdf_standards=list(standards)
        )

    try:
        return pdf("ua-1")  # for screen readers; it refuses a sign that no font here can show
    except typst.TypstError:
        return pdf()


def _breakable(value: Any) -> Any:
    """Long words get places to break at, so that none runs off the page."""
    if isinstance(value, str):
        return re.sub(rf"\S{{{_LONGEST},}}", lambda word: _BREAK_HERE.join(_pieces(word[0])), value)
    if isinstance(value, dict):
        return {name: _breakable(each) for name, each in value.items()}
    return [_breakable(each) for each in value] if isinstance(value, list) else value


def _pieces(word: str) -> list[str]:
    return [word[at : at + _LONGEST // 2] for at in range(0, len(word), _LONGEST // 2)]

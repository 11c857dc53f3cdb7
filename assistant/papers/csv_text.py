"""Tables for a spreadsheet. What was said stays text there: no cell can become a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from assistant.papers.text import clean

_STARTS_A_FORMULA = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20", "'")


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """The rows under a line of column names, as RFC 4180 has it (commas, CRLF). None is an empty cell.

    Text that a spreadsheet could take for a formula gets an apostrophe in front, and so does text that begins with
    one; taking one away gives the words back exactly. Numbers stay numbers.
    To a file it goes as "utf-8-sig": without that mark the commonest spreadsheet reads it as another encoding.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _cell(value: object) -> object:
    if value is None or isinstance(value, (int, float)):
        return value
    text = clean(value)
    return f"'{text}" if text.startswith(_STARTS_A_FORMULA) else text

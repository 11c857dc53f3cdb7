"""Which numbers of a text are founded in records: nothing may be stated that was neither said nor worked out."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass
from typing import Any

from assistant.records import Material

NUMBER = re.compile(r"(?<![\w.])\d[\d,]*(?:\.\d+)?")


def numbers_on(text: str) -> list[str]:
    """Every number as it stands on a paper, without the commas between thousands."""
    return [found.replace(",", "") for found in NUMBER.findall(text)]


def numbers_in(record: Any) -> Iterator[float]:
    """Every number of a record and the records in it, those inside its texts too."""
    if is_dataclass(record):
        for field in fields(record):
            yield from numbers_in(getattr(record, field.name))
        if getattr(record, "unit", None) in ("lb", "in"):
            names = ("quantity",) if isinstance(record, Material) else ("value", "low", "high")
            for number in (getattr(record, name, None) for name in names):
                yield from _other_writing(number, record.unit) if number is not None else ()
    elif isinstance(record, (Sequence, dict)) and not isinstance(record, str):
        for each in record.values() if isinstance(record, dict) else record:
            yield from numbers_in(each)
    elif isinstance(record, (int, float)) and not isinstance(record, bool):
        yield float(record)
    elif isinstance(record, str):
        yield from (float(digits) for digits in re.findall(r"\d+(?:\.\d+)?", record.replace(",", "")))
        yield from map(float, numbers_on(record))  # of "603x344,083" a paper shows 083


def _other_writing(number: float, unit: str) -> Iterator[float]:
    """The parts of "5 lb 2 oz" and of "1-3/8 inch"."""
    parts = 16 if unit == "lb" else next((n for n in (2, 4, 8, 16) if (abs(number) * n).is_integer()), 1)
    whole, rest = divmod(round(abs(number) * parts), parts)
    yield from (float(whole), float(rest), float(parts) if unit == "in" else 0.0)


def unfounded(text: str, record: Any, also: set[float] = frozenset()) -> list[str]:
    """Numbers of `text` that no number of `record` is, to the digits they are written with."""
    known = sorted({abs(number) for number in numbers_in(record)} | also)
    return [shown for shown in numbers_on(text) if not _is_one_of(shown, known)]


def _is_one_of(shown: str, known: list[float]) -> bool:
    value, decimals = float(shown), len(shown.partition(".")[2])
    slack = 0.5000001 * 10**-decimals
    return any(value == each or abs(value - each) <= slack + 1e-9 * each for each in known)

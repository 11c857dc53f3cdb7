"""The law of this project, for any note: no value is written down that was not said."""

from __future__ import annotations

import functools
import itertools
import math
import re
from collections.abc import Iterator

from assistant.records import Note, Reading
from assistant.understand.cardinals import ONE_WORD
from assistant.understand.passage import Passage, read_passage
from assistant.understand.tokens import load_table
from assistant.units import same_kind, to_contract, unit_of

# An amount of these may be said with an article alone: "held for an hour", "added a pound".
# Said without their thousand ("eighty in", "seventy six output") or their hundred ("three and a quarter" of pressure).
IN_THOUSANDS = frozenset({"heating_input", "heating_output"})
_OF_A_HUNDRED = re.compile(r"\band\s+a\s+(?:half|quarter)\b", re.IGNORECASE)
_DAY_AND_A_HALF = re.compile(r"\bday\s+and\s+a\s+half\b", re.IGNORECASE)
BY_AN_ARTICLE = frozenset(
    "test_duration refrigerant_added refrigerant_recovered factory_charge meter_time cooling_capacity".split()
)
_SMALL_WORDS = {
    "one": 1, "a": 1, "an": 1, "another": 1, "hour": 1, "couple": 2, "half": 0.5, "quarter": 0.25,
    "overnight": 12, "day": 24, "days": 24,
}  # fmt: skip
_SOUNDS_LIKE = {"for": 400, "fore": 400, "to": 200, "too": 200, "through": 300, "threw": 300}  # "head for 10"
_UNIT_ROWS = load_table("units.toml")["unit"]
_SPOKEN_UNITS = sorted({kind for row in _UNIT_ROWS for kind in (row["unit"], *row.get("also", ()))})


def unsaid(note: Note) -> list[str]:
    """How the note breaks the law, a line for each break; empty where it keeps it."""
    return [f"{why}: {reading}" for reading in note.readings for why in _breaks(reading, note.text)]


def _breaks(reading: Reading, text: str) -> Iterator[str]:
    if not reading.said or reading.said not in text:
        yield "its words do not stand in the note"
        return
    passage = read_passage(reading.said)
    by_an_article = reading.quantity in BY_AN_ARTICLE or reading.doubt == "unit_mismatch"  # "a pound of CO"
    if not passage.numbers and not ONE_WORD.keys() & _words(passage.text) and not by_an_article:
        yield "no number in its words"
    values = [value for value in (reading.value, reading.low, reading.high) if value is not None]
    if not all(map(math.isfinite, values)):
        yield "it is no number"
    elif not all(any(_follows(value, reading, part) for part in _ends_of(passage)) for value in values):
        yield "its value does not follow from its words"


def _words(text: str) -> set[str]:
    return set(re.findall(r"[a-z]+", text.lower()))


def _ends_of(passage: Passage) -> Iterator[Passage]:
    """The passage, and what is left of it from each word on: "unit four hundred" is unit four, and a hundred."""
    yield passage
    yield from (read_passage(passage.text[start:]) for start, _ in passage.offsets[1:])


def _follows(value: float, reading: Reading, passage: Passage) -> bool:
    """Whether a value is one of the numbers of its words, in some unit that is spoken of that quantity."""
    said = set(_numbers(passage))
    if reading.quantity == "capacitance":  # "455" is forty five and five
        said.update(float(part) for both in re.findall(r"\b\d{3}\b", passage.text) for part in (both[:2], both[2]))
    left_out = [1000] * (reading.quantity in IN_THOUSANDS) + [100] * bool(
        unit_of(reading.quantity) in ("psi", "micron") and _OF_A_HUNDRED.search(passage.text)
    )
    if any(math.isclose(value, scale * number) for scale in left_out for number in said):
        return True
    return any(
        math.isclose(value, abs(into(number)) if value >= 0 else into(number), rel_tol=1e-6, abs_tol=1e-6)
        for number in said
        for into in _conversions(reading.unit if reading.doubt == "unit_mismatch" else unit_of(reading.quantity))
    )


def _numbers(passage: Passage) -> Iterator[float]:
    """Every number that stands there, and every one that two beside each other may make: "five pounds two", "12-15"."""
    single = [value for number in passage.numbers for value, _ in number.values]
    single += [part for number in passage.numbers for part in number.parts]
    single += [float(digits) for digits in re.findall(r"\d+(?:\.\d+)?", passage.text.replace(",", ""))]
    hundreds = [_SOUNDS_LIKE[word] for word in passage.lower if word in _SOUNDS_LIKE]
    single += [hundred + two for hundred in hundreds for two in single if 10 <= two < 100]
    single += [_SMALL_WORDS[word] for word in passage.lower if word in _SMALL_WORDS]
    single += [ONE_WORD[word] for word in _words(passage.text) if word in ONE_WORD]  # the two of "CO two"
    single += [36] * bool(_DAY_AND_A_HALF.search(passage.text))
    yield from single
    for first, second in itertools.product(single, repeat=2):
        yield from ((first + second) / 2, first + second, first * second, first - second)
        yield from (first + second / 10, first * 10 + second, first * 100 + second)
        yield from (first + second / 16, first * 60 + second, first + second / 60)


@functools.cache
def _conversions(unit: str) -> tuple:
    """What each unit that can be spoken for `unit` makes of a number."""
    kinds = [kind for kind in _SPOKEN_UNITS if kind != unit and same_kind(kind, unit)]
    return (float, *(functools.partial(_converted, kind, unit) for kind in kinds))


def _converted(kind: str, unit: str, number: float) -> float:
    return to_contract(number, kind, unit)

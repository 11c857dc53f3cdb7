"""Values, dates and places in a note, in words short enough to be said aloud."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime

from assistant.converse.history import JobHistory
from assistant.converse.vocabulary import always_rated, full, short
from assistant.records import Calculation, Reading
from assistant.units import pounds_and_ounces

_UNIT = {
    "psi": "psi",
    "degF": "degrees",
    "delta_degF": "degrees",
    "micron": "microns",
    "inH2O": "inches of water",
    "in": "inch",
    "in2": "square inches",
    "ft": "feet",
    "min": "minutes",
    "s": "seconds",
    "ton": "ton",
    "A": "amps",
    "V": "volts",
    "microfarad": "microfarads",
    "microampere": "microamps",
    "Btu/h": "Btu an hour",
    "Btu/ft3": "Btu a cubic foot",
    "cfm/ton": "cfm a ton",
    "oz/ft": "ounces a foot",
    "percent": "percent",
    "inH2O per 100 ft": "inches per hundred feet",
    "inH2O/100 ft": "inches per hundred feet",
}
_DECIMALS = {
    "cfm": 0,
    "cfm/ton": 0,
    "Btu/h": 0,
    "degF": 1,
    "delta_degF": 1,
    "micron": 0,
    "psi": 1,
    "percent": 1,
    "ppm": 0,
}
_EIGHTHS = {0.25: "1/4", 0.3125: "5/16", 0.375: "3/8", 0.5: "1/2", 0.625: "5/8", 0.75: "3/4", 0.875: "7/8",
            1.125: "1-1/8", 1.375: "1-3/8", 1.625: "1-5/8"}  # fmt: skip


def number(value: float, unit: str | None = None, *, decimals: int | None = None) -> str:
    """`value` with the digits its unit deserves; whole numbers without a point."""
    places = decimals if decimals is not None else _DECIMALS.get(unit or "", 3)
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def amount(value: float, unit: str) -> str:
    """A value with its unit: "9.7 degrees", "5.125 lb (5 lb 2 oz)"."""
    if unit == "lb":
        return _pounds(value)
    if unit == "in" and value in _EIGHTHS:
        return f"{_EIGHTHS[value]} inch ({number(value)})"
    return f"{number(value, unit)} {_UNIT.get(unit, unit)}".strip()


def _pounds(value: float) -> str:
    exact, weighed = f"{number(value, 'lb', decimals=4)} lb", pounds_and_ounces(value)
    return f"{exact} ({weighed})" if weighed else exact


def span(record: Reading | Calculation) -> str:
    """A reading's or calculation's value as said: a range keeps both ends."""
    low, high = getattr(record, "low", None), getattr(record, "high", None)
    if low is not None and high is not None:
        return f"{number(low, record.unit)} to {amount(high, record.unit)}"
    return amount(record.value, record.unit)


def named(record: Reading | Calculation) -> str:
    """ "head 342 psi", "rated compressor amps 26.3 amps" for a sentence that names its evidence."""
    quantity = record.quantity if isinstance(record, Reading) else record.name
    role = getattr(record, "role", "measured")
    tells = role in ("target", "rated") and not always_rated(quantity) and not short(quantity).startswith(role)
    before = f"{role} " if tells else ""
    part = f"{record.qualifier} " if record.qualifier and quantity == "capacitance" else ""
    return f"{before}{part}{short(quantity)} {span(record)}"


def day(iso: str | None) -> str:
    """ "May 12", and the hour where one was said: "June 17 at 2 pm"."""
    if not iso:
        return ""
    try:
        moment = datetime.fromisoformat(iso)
    except ValueError:
        return iso
    text = f"{moment:%B} {moment.day}"
    return f"{text} at {clock(moment)}" if "T" in iso else text


def clock(moment: datetime) -> str:
    """ "7:50 am", "2 pm"."""
    minutes = f":{moment.minute:02d}" if moment.minute else ""
    return f"{(moment.hour - 1) % 12 + 1}{minutes} {'am' if moment.hour < 12 else 'pm'}"


def weekday(iso: str) -> str:
    """ "Friday" for a date; the empty text where it cannot be read."""
    try:
        return f"{date.fromisoformat(iso[:10]):%A}"
    except ValueError:
        return ""


def said_when(reading: Reading, history: JobHistory) -> str:
    """ "said on May 12, at 0:04": the note's date and the moment in its recording."""
    note = history.note(reading.note)
    on = f"said on {day(note.date)}" if note else "said"
    if reading.start_s is None:
        return on
    minutes, seconds = divmod(int(reading.start_s), 60)
    return f"{on}, at {minutes}:{seconds:02d}"


def evidence_text(readings: Iterable[Reading], history: JobHistory) -> str:
    """ "head 342 psi and liquid line 94 degrees, said on June 23": readings grouped by when they were said."""
    groups: dict[tuple[str, str], list[Reading]] = {}
    for reading in readings:
        when = said_when(reading, history)
        note = reading.note if reading.start_s is not None else ""
        groups.setdefault((note, when if not note else ""), []).append(reading)
    parts = [f"{listed(map(named, group))}, {said_when(group[0], history)}" for group in groups.values()]
    return "; ".join(parts)


def listed(items: Iterable[str], last: str = "and") -> str:
    """ "a", "a and b", "a, b and c"; repeats are left out."""
    kept = list(dict.fromkeys(item for item in items if item))
    if len(kept) < 2:
        return kept[0] if kept else ""
    return f"{', '.join(kept[:-1])} {last} {kept[-1]}"


def needed(quantities: Iterable[str]) -> str:
    """ "the liquid pressure and the liquid line temperature"."""
    return listed(quantity if " " in quantity else f"the {full(quantity)}" for quantity in quantities)


_SIGNS = (
    (re.compile(r"\s*°F"), " degrees"),
    (re.compile(r"\s*±\s*"), " plus or minus "),
    (re.compile(r"\binH2O\b"), "inches of water"),
    (re.compile(r"\bdegF\b"), "degrees"),
    (re.compile(r"(?<=\d) ?µA\b"), " microamps"),
    (re.compile(r"(?<=\d) ?µF\b"), " microfarads"),
    (re.compile(r"(?<=\d) ?V\b"), " volts"),
    (re.compile(r"(?<=\d) ?A\b"), " amps"),
    (re.compile(r"(?<=\d) ?%"), " percent"),
    (re.compile(r"\bmicron\b"), "microns"),
    (re.compile(r"\bmin\b"), "minutes"),
    (re.compile(r"\bper ton\b"), "a ton"),
    (re.compile(r"Btu/h\b"), "Btu an hour"),
    (re.compile(r"\b(\d{4}-\d{2}-\d{2})\b"), lambda m: day(m.group(1))),
)


def spoken(text: str) -> str:
    """`text` of another stage with its signs written out: "9.7 °F" is "9.7 degrees"."""
    for sign, words in _SIGNS:
        text = sign.sub(words, text)
    return " ".join(text.split())


_SMALL = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def without_digits(text: str) -> str:
    """Spells small numbers of a name ("unit 2"), for a sentence that must not hold a value it has not got."""
    return " ".join(_SMALL[int(w)] if w.isdecimal() and int(w) < len(_SMALL) else w for w in text.split())


def trimmed(text: str) -> str:
    """A record's words without the punctuation they were cut out with, to stand inside a sentence."""
    return text.strip(" .,;:!?")


def briefly(text: str) -> str:
    """A task's own words without the sentence it was said in, which is kept behind them in brackets."""
    return trimmed(re.sub(r"\s*\([^()]*\)\s*$", "", text)) or trimmed(text)


def sentence(text: str) -> str:
    """`text` with a capital and a full stop."""
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".?!" else ".")


def joined(*sentences: str) -> str:
    """The sentences that are not empty, one after the other."""
    return " ".join(sentence(each) for each in sentences if each.strip())

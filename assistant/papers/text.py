"""Words and dates as every paper writes them."""

from __future__ import annotations

from datetime import datetime
from unicodedata import category

from assistant.converse.report_words import value
from assistant.converse.speech import clock
from assistant.records import JobLog, Reading

ADVICE = "This advises; it certifies nothing. Local codes and the licensed person decide."


def clean(text: object) -> str:
    """`text` on one line, without control signs and signs that turn the direction of what follows; None is empty."""
    words = "".join(char if category(char)[0] != "C" else " " for char in str(text if text is not None else ""))
    return " ".join(words.split())


def full_day(iso: str | None) -> str:
    """ "August 19, 2025", and the hour where one was said; what is no date stays as it is."""
    if not iso:
        return ""
    try:
        moment = datetime.fromisoformat(iso)
    except ValueError:
        return clean(iso)
    text = f"{moment:%B} {moment.day}, {moment.year}"
    return f"{text} at {clock(moment)}" if "T" in iso else text


def visit_days(log: JobLog) -> dict[str, str]:
    """The ISO date of each note's visit, by note."""
    return {note: visit.date for visit in log.visits for note in visit.notes}


def sentence(text: str) -> str:
    """`text` clean and with a capital."""
    text = clean(text)
    return text[:1].upper() + text[1:]


def dollars(price: float) -> str:
    """ "$1,140" or "$1,140.50"."""
    return f"${price:,.2f}".removesuffix(".00")


def name_of(system: str) -> str:
    """A system's name before what is said of it; empty where the speaker told none apart."""
    return "" if system in ("main", "site") else clean(system)


def job_title(log: JobLog) -> str:
    """The job's name, and site and customer where they say more."""
    job = log.job
    named = [each for each in (job.site, job.customer) if each and each.casefold() != job.id.casefold()]
    return clean(", ".join([job.id, *named]))


def span(reading: Reading) -> str:
    """A reading's value as it is written down, with its unit: "96.5 °F", "8 to 9 °F", "3/8 inch (0.375)"."""
    if reading.low is not None and reading.high is not None:
        return f"{amount(reading.low, reading.unit).split(' ')[0]} to {amount(reading.high, reading.unit)}"
    return amount(reading.value, reading.unit)


def amount(number: float, unit: str) -> str:
    """A value with its unit and the digits the unit deserves; one of at most two decimals keeps them."""
    shown = value(number, unit)
    if unit in ("in", "lb") or round(number, 2) != number:
        return shown
    exact = f"{number:,.2f}".rstrip("0").rstrip(".")
    return " ".join([exact, *shown.split(" ")[1:]])

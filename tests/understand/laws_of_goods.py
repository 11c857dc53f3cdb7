"""The same law for all else that holds a number: prices, due days, ducts, goods, hours and sizes of equipment.

These records do not quote the words of each number, so it has to stand somewhere in the note: said by itself, spelled
in digits or words. A count of one needs no word; what an earlier note told of the same thing may be told on.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from itertools import pairwise

from dateutil.relativedelta import relativedelta

from assistant.records import DuctRun, JobLog, Labour, Material, Note
from assistant.understand.cardinals import ONE_WORD
from assistant.understand.clock import weekday_names
from assistant.understand.passage import Passage, read_passage
from tests.founded import numbers_on

_OF_TWO = frozenset("both pair couple".split())
_PARTS_OF_ONE = {"half": 0.5, "quarter": 0.25, "quarters": 0.75}
_SEVERAL = {
    "fours": 4, "fives": 5, "sixes": 6, "sevens": 7, "eights": 8, "nines": 9, "tens": 10, "twelves": 12,
    "fourteens": 14, "sixteens": 16, "eighteens": 18, "twenties": 20, "thirties": 30,
}  # fmt: skip
_WITH_ME = frozenset("me myself i".split())
_TODAY = re.compile(r"\b(today|tonight|this afternoon|this evening)\b")
_TOMORROW = re.compile(r"\b(tomorrow|morning|day after)\b")


def unfounded_records(note: Note, before: JobLog) -> list[str]:
    """How what a note says beyond its readings breaks the law, a line for each break."""
    if not (note.duct_runs or note.tasks or note.agreements or note.materials or note.labour or note.events):
        return []
    passage = read_passage(note.text)
    words = set(passage.lower)
    said = _singles(passage)
    return [
        *_bad_prices(note, before, said, words),
        *(f"duct: {run}" for run in note.duct_runs if not _duct_is_founded(run, note, before, said, words)),
        *(f"goods: {each}" for each in note.materials if not _goods_are_founded(each, note, said, words)),
        *(f"hours: {each}" for each in note.labour if not _hours_are_founded(each, passage, said, words)),
        *_bad_days(note, passage, said),
        *_bad_texts(note, before, said),
    ]


def _singles(passage: Passage) -> set[float]:
    """Every number said in one breath: as it is read, as it is written, and what it is put together from."""
    said: set[float] = set()
    for number in passage.numbers:
        said.update(abs(value) for value, _ in number.values)
        said.update(number.parts)
    said.update(ONE_WORD[word] for word in passage.lower if word in ONE_WORD)
    said.update(_SEVERAL[word] for word in passage.lower if word in _SEVERAL)
    said.update(float(digits) for digits in re.findall(r"\d+(?:\.\d+)?|\.\d+", passage.text.replace(",", "")))
    for number in passage.numbers:  # "unit two eleven forty" is two, and 1140
        for cut in range(number.start + 1, number.end):
            for text in (passage.said(number.start, cut), passage.said(cut, number.end)):
                said.update(value for part in read_passage(text).numbers for value, _ in part.values)
    return said


def _is_in(value: float, said: Iterable[float]) -> bool:
    return any(math.isclose(value, each, rel_tol=1e-6, abs_tol=1e-4) for each in said)


# ---------------------------------------------------------------- money


def _bad_prices(note: Note, before: JobLog, said: set[float], words: set[str]) -> Iterator[str]:
    known = said | {each.price for each in before.agreements if each.price is not None}
    known |= {0.01 * each for each in said} if "cents" in words else set()
    dropped = {each for each in said if each % 1}  # "a whole new system eleven five"
    known |= {1000 * each for each in (said if words & {"grand", "k"} else dropped)}
    for each in (*note.agreements, *note.materials):
        if each.price is not None and not _is_in(each.price, known):
            yield f"price: {each}"


# ---------------------------------------------------------------- ducts, goods, hours


def _duct_is_founded(run: DuctRun, note: Note, before: JobLog, said: set[float], words: set[str]) -> bool:
    own = read_passage(run.said)
    sizes = _singles(own) | {each + one for each in _singles(own) for one in (4, 6) if each in (20, 30)}
    sizes |= {float(digits[cut:]) for digits in re.findall(r"\d{2,4}", run.said) for cut in (1, 2) if digits[cut:]}
    counts = said | {float(d[:cut]) for d in re.findall(r"\d{2,4}", run.said) for cut in (1, 2)} | {1.0}
    counts |= {2.0} if words & _OF_TWO else set()
    counts |= {
        float(old.count) for old in (*before.duct_runs, *note.duct_runs) if old != run and old.size_in == run.size_in
    }
    airs = {reading.value for reading in note.readings if reading.quantity in ("return_airflow", "supply_airflow")}
    return (
        run.said in note.text
        and all(_is_in(side, sizes) for side in run.size_in)
        and _is_in(run.count, counts)
        and (run.length_ft is None or _is_in(run.length_ft, said))
        and (run.airflow_cfm is None or _is_in(run.airflow_cfm, airs))
    )


def _goods_are_founded(each: Material, note: Note, said: set[float], words: set[str]) -> bool:
    counts = _with_parts(said, words) | {1.0}
    counts |= {2.0, 2.5, 2.25} if words & _OF_TWO else set()
    counts |= {12.0, 6.0} if "dozen" in words else set()
    counts |= {12 * count for count in said} if "dozen" in words else set()
    ducts = {run.length_ft * run.count for run in note.duct_runs if run.length_ft}
    weighed = {reading.value for reading in note.readings if reading.quantity == "refrigerant_added"}
    return _is_in(each.quantity, counts | (ducts if each.unit == "ft" else weighed if each.unit == "lb" else set()))


def _with_parts(said: set[float], words: set[str]) -> set[float]:
    """Numbers, with a half or a quarter that was said as well."""
    parts = {value for word, value in _PARTS_OF_ONE.items() if word in words}
    return said | parts | {whole + part for part in parts for whole in (*said, 1.0)}


def _hours_are_founded(each: Labour, passage: Passage, said: set[float], words: set[str]) -> bool:
    amounts = _with_parts(said, words) | {1.0}
    amounts |= {2.0} if words & _OF_TWO else set()
    minutes = {number / 60 for number in said}
    minutes |= {number / 3600 for number in said} if words & {"second", "seconds", "sec", "secs"} else set()
    values = [number.value for number in passage.numbers]
    minutes |= {first + second / 60 for first, second in pairwise(values)} | {1 + number / 60 for number in said}
    people = said | {1.0, 2.0} | ({number + 1 for number in said} if words & _WITH_ME else set())
    return (
        (each.hours is None or _is_in(each.hours, amounts | minutes))
        and (each.days is None or _is_in(each.days, amounts))
        and (each.people is None or _is_in(each.people, people))
    )


# ---------------------------------------------------------------- days


def _bad_days(note: Note, passage: Passage, said: set[float]) -> Iterator[str]:
    today, text = date.fromisoformat(note.date), " ".join(passage.lower)
    numbers = said | ({1.0} if {"a", "one"} & set(passage.lower) else set())
    times = set(_times(passage, said))
    for task in note.tasks:
        if task.due and not _is_a_day_said(task.due, today, text, numbers, times):
            yield f"due: {task}"
    for event in note.events:
        if event.when and event.when != note.date and not _is_a_day_said(event.when, today, text, numbers, times):
            yield f"when: {event}"


def _is_a_day_said(when: str, today: date, text: str, numbers: set[float], times: set[tuple[int, int]]) -> bool:
    day, _, clock = when.partition("T")
    if clock:
        hour, minute = (int(part) for part in clock.split(":"))
        if not {(hour % 12, minute), (hour, minute)} & times:
            return False
    day, words = date.fromisoformat(day), set(text.split())
    apart = (day - today).days
    if apart == 0 and (clock or _TODAY.search(text)):
        return True
    if apart == 1 and _TOMORROW.search(text) or apart == 2 and "day after tomorrow" in text:
        return True
    if apart == -1 and "yesterday" in words or "week" in words and day.weekday() == 0 and 0 < apart <= 7:
        return True
    named = {name for name in weekday_names() if name in words and name[:3] == day.strftime("%a").lower()}
    if named and apart <= 14 or named and _is_in(apart // 7 + 1, numbers):
        return True
    counted = {2.0} | numbers if "couple" in words else numbers
    steps = [1] * bool(words & {"day", "days"}) + [7] * bool(words & {"week", "weeks"})
    if any(apart == step * int(count) for step in steps for count in counted if count <= 60):
        return True
    if words & {"month", "months"} and any(today + relativedelta(months=int(c)) == day for c in counted if c <= 60):
        return True
    if "the day after" in text:
        before = (day - timedelta(1)).isoformat()
        if _is_a_day_said(before, today, text.replace("the day after", ""), numbers, times):
            return True
    return _is_in(day.day, numbers)


def _times(passage: Passage, said: set[float]) -> Iterator[tuple[int, int]]:
    """(hour, minute) that the words may stand for, on a clock of twelve."""
    words = set(passage.lower)
    yield from ([(0, 0)] if words & {"noon", "midday", "midnight"} else [])
    minutes = {number for number in said if 0 < number < 60}
    minutes |= {30.0} if "half" in words else set()
    minutes |= {15.0, 45.0} if "quarter" in words else set()
    hours = {number for number in said if 0 < number <= 23} | ({1.0} if "one" in words else set())
    for hour in hours:
        yield int(hour) % 12, 0
        yield int(hour), 0
        for minute in minutes:
            yield int(hour) % 12, int(minute)
            yield int(hour), int(minute)
            yield (int(hour) - 1) % 12, int(60 - minute)
    for number in said:
        if number < 10_000 and number == int(number) and number % 100 < 60:
            yield int(number) // 100 % 12, int(number) % 100


# ---------------------------------------------------------------- words with numbers in them


def _bad_texts(note: Note, before: JobLog, said: set[float]) -> Iterator[str]:
    """What is offered, used or to be done is named in the speaker's words, its sizes too."""
    runs = {float(side) for run in note.duct_runs for side in run.size_in} | {
        float(run.count) for run in note.duct_runs
    }
    earlier = [each.scope for each in before.agreements] + [each.what for each in before.tasks]
    gases = [each.refrigerant or "" for each in (*before.equipment, *note.equipment)]
    written = " ".join([note.text, *earlier, *gases]).replace(",", "")
    texts = [(each, each.scope) for each in note.agreements]
    texts += [(each, each.item) for each in note.materials] + [(each, each.what) for each in note.tasks]
    for each, text in texts:
        if any(shown not in written and not _is_in(float(shown), said | runs) for shown in numbers_on(text)):
            yield f"words: {each}"

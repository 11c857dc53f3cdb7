"""Moments: times of day, days and dates, relative to the date of the note.

Dates are counted with dateutil. A time of day is only claimed where the words make it one ("at ten to
eight", "o'clock", "seven forty this morning"); a bare "at three forty" beside a gauge stays a number.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from datetime import date, timedelta

from dateutil.relativedelta import FR, MO, SA, SU, TH, TU, WE, relativedelta

from assistant.understand.number import Number
from assistant.understand.passage import Passage

_WEEKDAYS = {
    name: day
    for names, day in (
        (("monday", "mondays", "mon"), MO), (("tuesday", "tuesdays", "tues"), TU), (("wednesday", "wednesdays"), WE),
        (("thursday", "thursdays", "thurs"), TH), (("friday", "fridays", "fri"), FR),
        (("saturday", "saturdays"), SA), (("sunday", "sundays"), SU),
    )
    for name in names
}  # fmt: skip
_MONTHS = {
    name: number
    for number, name in enumerate(
        "january february march april may june july august september october november december".split(), 1
    )
}
# A day is told by one of these; what may stand before it opens nothing in a note that has none of them.
_DAYS = frozenset({*_WEEKDAYS, *_MONTHS, *"day days week weeks month months tomorrow morning thing".split()})
_BY_THEMSELVES = frozenset({"today", "tonight", "tomorrow", "yesterday", "noon", "midday", "midnight"})
_OPENERS = frozenset({*_DAYS, *_BY_THEMSELVES, *"the in on a this coming next not first couple".split()})
_BEFORE_A_DATE = tuple([word] for word in (*"on until till posted dated since due".split(), *_WEEKDAYS))
_BEFORE_A_TIME = frozenset(
    "at by around before after until till til since from about past of between came gone".split()
)
# What begins the words behind a time, where none of those stands before it: "ten to", "7:40", "eight sharp".
_BEHIND_A_TIME = (
    "to", "til", "past", "after", "of", "before", ":", "o", "am", "pm", "this", "in", "at", "sharp",
)  # fmt: skip
_PARTS_OF_THE_DAY = (
    "this morning",
    "this afternoon",
    "this evening",
    "in the morning",
    "in the afternoon",
    "in the evening",
    "at night",
    "tonight",
    "tomorrow morning",
    "sharp",
)
_BEHIND_AN_HOUR = frozenset([".", ",", ";", "for", "and", "so", "to", "sharp", "with", "when", "if", "but"])
_MORNING = frozenset({"am", "morning"})
_AFTERNOON = frozenset({"pm", "afternoon", "evening", "tonight", "night", "supper"})


@dataclass(frozen=True, slots=True)
class Moment:
    """A day, a time of day, or both, as said. `when` is ISO, filled from the note's date where no day was said."""

    start: int  # first token
    end: int
    day: date | None
    time: str | None  # "07:50"
    sure: bool  # the words alone make it a time or a day

    def when(self, note_date: date) -> str:
        day = (self.day or note_date).isoformat()
        return f"{day}T{self.time}" if self.time else day


def find_moments(passage: Passage, note_date: date) -> list[Moment]:
    """Every moment in the passage, in order; a day and a time said together are one."""
    found: list[Moment] = []
    numbers = {number.start: number for number in passage.numbers}
    of_days = not _DAYS.isdisjoint(passage.vocabulary) or "/" in passage.vocabulary
    dated = of_days or any(number.kind == "ordinal" for number in passage.numbers)
    openers = _OPENERS if dated else _BY_THEMSELVES
    after = 0
    for at in sorted({*numbers, *[at for at, word in enumerate(passage.lower) if word in openers]}):
        if at < after:
            continue
        day = dated or at not in numbers  # a number alone is at most a time
        moment = day and (_day_after(passage, at, found) or _day_at(passage, at, numbers, note_date))
        if moment := moment or _time_at(passage, at, numbers):
            found.append(moment)
            after = moment.end
    return _joined(found, passage) if found else []


# ---------------------------------------------------------------- days


def _day_after(passage: Passage, at: int, found: list[Moment]) -> Moment | None:
    """ "Monday the twelfth, … the day after"."""
    if passage.lower[at : at + 3] != ["the", "day", "after"] or passage.words(at + 3, at + 4) == ["tomorrow"]:
        return None
    last = next((moment.day for moment in reversed(found) if moment.day), None)
    return last and Moment(at, at + 3, last + timedelta(days=1), None, True)


def _day_at(passage: Passage, at: int, numbers: dict[int, Number], today: date) -> Moment | None:
    words = passage.lower[at : at + 8]
    word = words[0]
    if word in ("today", "tonight"):
        return Moment(at, at + 1, today, None, True)
    if word == "tomorrow" or words[:3] == ["first", "thing", "tomorrow"]:
        return Moment(at, at + (1 if word == "tomorrow" else 3), today + timedelta(days=1), None, True)
    if words[:3] == ["day", "after", "tomorrow"]:
        return Moment(at, at + 3, today + timedelta(days=2), None, True)
    if word == "yesterday":
        return Moment(at, at + 1, today - timedelta(days=1), None, True)
    if words[:3] == ["in", "the", "morning"] and not passage.number_ending(at):
        return Moment(at, at + 3, today + timedelta(days=1), None, False)
    if words[:3] == ["first", "thing", "in"] or words[:2] == ["next", "morning"]:
        return Moment(at, at + (5 if words[2:3] == ["in"] else 2), today + timedelta(days=1), None, True)
    if words[:2] == ["next", "week"]:
        return Moment(at, at + 2, today + relativedelta(days=+1, weekday=MO(+1)), None, True)
    if word == "not" and (negated := _not_this_but(passage, at, today)):
        return negated
    return (
        _weekday_at(words, at, today, passage.sentences[passage.sentence_of(at)][0] == at)
        or _counted_at(passage, at, numbers, today)
        or _calendar_at(passage, at, numbers, today)
    )


def _not_this_but(passage: Passage, at: int, today: date) -> Moment | None:
    """ "not this Thursday, next Thursday" and "not this Friday, the one after"."""
    words = passage.lower[at : at + 9]
    if words[1:2] not in (["this"], ["the"], ["next"], ["coming"]) or len(words) < 3 or words[2] not in _WEEKDAYS:
        return None
    first = _coming(today, words[2])
    rest = [word for word in words[3:] if word not in (",", "but")]
    skipped = len(words[3:]) - len(rest)
    if (
        rest[:1] == ["next"]
        or rest[:2] == ["the", "next"]
        or rest[:3] == ["the", "one", "after"]
        or rest[:2] == ["the", "following"]
    ):
        length = 3 if rest[:3] == ["the", "one", "after"] else 2
        return Moment(at, min(at + 3 + skipped + length, len(passage.lower)), first + timedelta(days=7), None, True)
    return Moment(at, at + 3, None, None, True)


def _weekday_at(words: list[str], at: int, today: date, opens: bool) -> Moment | None:
    lead = 1 if words[0] in ("next", "this", "on", "coming", "a") else 0
    if words[:2] in (["a", "week"], ["week", "from"]) and (named := [w for w in words[:5] if w in _WEEKDAYS]):
        return Moment(at, at + words.index(named[0]) + 1, _coming(today, named[0]) + timedelta(days=7), None, True)
    if len(words) <= lead or words[lead] not in _WEEKDAYS or words[0] == "a":
        return None
    name = words[lead]
    if lead == 0 and today.weekday() == _WEEKDAYS[name].weekday and opens:
        return Moment(at, at + 1, today, None, True)  # "Tuesday, got here at eight", said on a Tuesday
    if name in ("mon", "fri", "sat", "sun") and lead == 0:
        return None
    day = _coming(today, name)
    if words[lead + 1 : lead + 2] == ["week"]:
        return Moment(at, at + lead + 2, day + timedelta(days=7), None, True)
    if words[0] == "next" and (day - today).days < 5 and day.isocalendar().week == today.isocalendar().week:
        day += timedelta(days=7)  # "next Friday" said on a Wednesday: not the day after tomorrow
    return Moment(at, at + lead + 1, day, None, True)


def _counted_at(passage: Passage, at: int, numbers: dict[int, Number], today: date) -> Moment | None:
    """ "two Fridays from now", "in three days", "a week from Monday", "in two weeks"."""
    start = at + 1 if passage.lower[at] == "in" else at
    number = numbers.get(start)
    if number and number.value == int(number.value):
        count, after = int(number.value), number.end
    elif number is None and passage.words(start, start + 3) == ["a", "couple", "of"]:
        count, after = 2, start + 3
    elif number is None and passage.words(start, start + 1) in (["a"], ["couple"]):
        count, after = 1, start + 1
    else:
        return None
    if not count or count > 60 or after >= len(passage.lower):
        return None
    words = passage.lower[after : after + 4]
    from_now = words[1:3] == ["from", "now"] or words[1:3] == ["from", "today"]
    if words[0] in _WEEKDAYS and from_now:
        return Moment(at, after + 3, _coming(today, words[0]) + timedelta(days=7 * (count - 1)), None, True)
    unit = {"day": 1, "days": 1, "week": 7, "weeks": 7}.get(words[0])
    if unit and (start == at + 1 or from_now):
        return Moment(at, after + (3 if from_now else 1), today + timedelta(days=unit * count), None, True)
    if words[0] in ("month", "months") and (start == at + 1 or from_now):
        return Moment(at, after + (3 if from_now else 1), today + relativedelta(months=count), None, True)
    return None


def _calendar_at(passage: Passage, at: int, numbers: dict[int, Number], today: date) -> Moment | None:
    """ "the twenty fifth", "June 12th", "the third of July", "7/16"."""
    word = passage.lower[at]
    if (
        word in _MONTHS
        and (number := numbers.get(at + 1))
        and number.kind in ("ordinal", "cardinal")
        and 1 <= number.value <= 31
        and (word != "may" or passage.tokens[at][0].isupper())
    ):
        return Moment(at, number.end, _day_in(today, int(number.value), _MONTHS[word]), None, True)
    if passage.words(at + 1, at + 2) == ["/"] and word.isdigit() and passage.words(at - 1, at)[:1] in _BEFORE_A_DATE:
        day = (passage.words(at + 2, at + 3) or ["0"])[0]
        written = day.isdigit() and 1 <= int(word) <= 12 and 1 <= int(day) <= 31
        return Moment(at, at + 3, _day_in(today, int(day), int(word)), None, True) if written else None
    if word in ("the", "on") and (number := numbers.get(at + 1)) and number.kind == "ordinal" and number.value <= 31:
        follow = passage.lower[number.end : number.end + 2]
        if follow[:1] == ["of"] and follow[1:] and follow[1] in _MONTHS:
            return Moment(at, number.end + 2, _day_in(today, int(number.value), _MONTHS[follow[1]]), None, True)
        if (
            not follow
            or not follow[0][0].isalpha()
            or follow[0]
            in ("at", "when", "and", "for", "to", "in", "around", "by", "if", "so", "because", "after", "before")
        ):
            return Moment(at, number.end, _day_in(today, int(number.value)), None, True)
    return None


def _coming(today: date, weekday: str) -> date:
    """The next day of that name, never today itself."""
    return today + relativedelta(days=+1, weekday=_WEEKDAYS[weekday](+1))


def _day_in(today: date, day: int, month: int | None = None) -> date | None:
    """The nearest such day not long past: "the fifth" said on the 28th is next month's."""
    if month:
        try:
            found = date(today.year, month, day)
        except ValueError:
            return None
        return found if (today - found).days < 180 else found + relativedelta(years=1)
    for months in (0, 1, 2):
        first = today.replace(day=1) + relativedelta(months=months)
        try:
            found = first.replace(day=day)
        except ValueError:
            continue
        if found >= today:
            return found
    return None


# ---------------------------------------------------------------- times of day


def _time_at(passage: Passage, at: int, numbers: dict[int, Number]) -> Moment | None:
    lower = passage.lower
    word = lower[at]
    if word in ("noon", "midday"):
        return Moment(at, at + 1, None, "12:00", True)
    if word == "midnight":
        return Moment(at, at + 1, None, "00:00", True)
    number = numbers.get(at)
    if number is None or number.kind == "ordinal":
        return None
    before = lower[at - 1] if at else ""
    behind = lower[number.end] if number.end < len(lower) else ""
    running = passage.words(at - 3, at) == ["up", "and", "running"]
    if before not in _BEFORE_A_TIME and not running and not behind.startswith(_BEHIND_A_TIME):
        return None
    relative = _to_or_past(passage, number, numbers)
    if relative:
        end, hour, minute, sure = relative
        if sure or before in _BEFORE_A_TIME:
            return _moment(passage, at, end, hour, minute, True, numbers)
        return None
    clock = _clock_value(passage, number)
    if clock is None:
        return None
    hour, minute, end = clock
    words = lower[end : end + 4]
    said = " ".join(words)
    if said.startswith(("o ' clock", "oclock")):
        return _moment(passage, at, end + (3 if words[0] == "o" else 1), hour, minute, True, numbers)
    if words[:1] in (["am"], ["pm"]):
        return _moment(passage, at, end, hour, minute, True, numbers)
    if end == number.end + 2 and behind == ":":
        return _moment(passage, at, end, hour, minute, True, numbers)  # "back at the barn 8:15"
    if number.end in passage.units or not (running or before in _BEFORE_A_TIME or said.startswith(_PARTS_OF_THE_DAY)):
        return None
    return _moment(passage, at, end, hour, minute, said.startswith(_PARTS_OF_THE_DAY), numbers)


def _clock_value(passage: Passage, number: Number) -> tuple[int, int, int] | None:
    """(hour, minute, end) if the number can be read off a clock: 7, 740, "7:40"."""
    words = passage.lower[number.end : number.end + 2]
    minutes = words[1] if words[:1] == [":"] and len(words) > 1 and len(words[1]) == 2 else ""
    if minutes.isdigit() and number.value <= 23:
        return (int(number.value), int(minutes), number.end + 2) if int(minutes) < 60 else None
    value = number.value
    if value != int(value) or value < 1 or number.kind == "fraction":
        return None
    if value <= 12:
        return int(value), 0, number.end
    hour, minute = divmod(int(value), 100)
    digits = passage.words(number.start, number.end)
    if 1 <= hour <= 12 and minute < 60 and (len(number.parts) >= 2 or len(digits[0]) >= 3):
        return hour, minute, number.end
    return None


def _to_or_past(passage: Passage, number: Number, numbers: dict[int, Number]) -> tuple[int, int, int, bool] | None:
    """(end, hour, minute, sure) of "ten to eight", "quarter past nine", "half past two"."""
    words = passage.lower[number.end : number.end + 2]
    minutes = {0.5: 30.0, 0.25: 15.0}.get(number.value, number.value) if number.kind == "fraction" else number.value
    if words[:1] == ["to"] and passage.words(number.start - 1, number.start) == ["from"]:
        return None  # "came up from five to eleven"
    if words[:1] == ["-"] and number.start + 1 == number.end and passage.tokens[number.start].isdigit():
        return None
    if not words or words[0] not in ("to", "til", "till", "past", "after", "of", "before") or not 1 <= minutes <= 30:
        return None
    hour, end = _hour_at(passage, number.end + 1, numbers)
    if hour is None or number.end in passage.units:
        return None
    past = words[0] in ("past", "after")
    sure = (
        words[0] == "past"
        or number.value in (0.5, 0.25)
        or (minutes in (5, 10, 20) and words[0] in ("to", "til", "till", "after") and minutes > hour > 1)
    )
    return end, hour if past else hour - 1 or 12, int(minutes) if past else 60 - int(minutes), sure


def _hour_at(passage: Passage, at: int, numbers: dict[int, Number]) -> tuple[int | None, int]:
    """An hour and where it ends; "one" is no number by itself, because it mostly stands for a thing."""
    number = numbers.get(at)
    if number is None:
        return (1, at + 1) if passage.words(at, at + 1) == ["one"] else (None, at)
    whole = number.value == int(number.value) and 1 <= number.value <= 12 and number.kind != "ordinal"
    return (int(number.value), number.end) if whole and number.end not in passage.units else (None, at)


def _moment(passage: Passage, start: int, end: int, hour: int, minute: int, sure: bool, numbers) -> Moment:
    """Morning or afternoon from the words around it, else by the working day: a quarter to 7 to 11 before noon,
    12 to half past 6 after."""
    around = passage.words(max(0, start - 6), min(end + 6, len(passage.lower)))
    near = passage.lower[end : end + 4]
    if near[:1] and near[0] in ("am", "pm"):
        around, end = near[:1], end + 1
    elif near[:1] == ["this"] and near[1:2] in (["morning"], ["afternoon"], ["evening"]):
        around, end = near[:2], end + 2
    elif near[:2] == ["in", "the"] and near[2:3] and near[2] in ("morning", "afternoon", "evening"):
        around, end = near[:3], end + 3
    later = bool(_AFTERNOON.intersection(around)) and not _MORNING.intersection(near) and hour < 12
    working_afternoon = not _MORNING.intersection(around) and (1, 0) <= (hour, minute) < (6, 45)
    if later or working_afternoon:
        hour += 12
    elif _MORNING.intersection(around) and hour == 12:
        hour = 0
    return Moment(start, end, None, f"{hour:02d}:{minute:02d}", sure)


def _joined(found: list[Moment], passage: Passage) -> list[Moment]:
    """ "tomorrow at eight", "next Thursday, the sixteenth, nine in the morning" as one moment each."""
    joined: list[Moment] = []
    for moment in found:
        last = joined[-1] if joined else None
        between = passage.words(last.end, moment.start) if last else []
        near = last is not None and all(
            word
            in (
                ",",
                "at",
                "the",
                "on",
                "in",
                "around",
                "by",
                "about",
                "first",
                "thing",
                "morning",
                "afternoon",
                "evening",
                "before",
                "after",
                "like",
                "say",
            )
            for word in between
        )
        if near and (moment.time is None or last.time is None):
            # a day of the month outranks "next Friday", which people count differently
            day = moment.day or last.day
            joined[-1] = Moment(last.start, moment.end, day, moment.time or last.time, last.sure or moment.sure)
        else:
            joined.append(moment)
    return [_at_one(passage, moment) for moment in joined if moment.day or moment.time]


def _at_one(passage: Passage, moment: Moment) -> Moment:
    """ "Friday at one for the disconnect": behind a day the bare "one" is an hour, unless it counts a thing."""
    words = passage.words(moment.end, moment.end + 3)
    if moment.time or words[:2] != ["at", "one"] or words[2:] and words[2] not in _BEHIND_AN_HOUR:
        return moment
    return Moment(moment.start, moment.end + 2, moment.day, "13:00", moment.sure)


@functools.cache
def weekday_names() -> frozenset[str]:
    return frozenset(_WEEKDAYS)

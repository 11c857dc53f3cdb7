"""Which visit a question means: "the first day", "last time", "on the twelfth", "in June", "that day"."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date, timedelta

from assistant.converse.history import JobHistory
from assistant.understand.patterns import found

MONTHS = "january february march april may june july august september october november december".split()
_DAYS = "monday tuesday wednesday thursday friday saturday sunday".split()
_UNITS = "first second third fourth fifth sixth seventh eighth ninth".split()
_TEENS = (
    "tenth eleventh twelfth thirteenth fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth"
    " twentieth".split()
)
_ORDINAL = (
    {word: n for n, word in enumerate(_UNITS + _TEENS, 1)}
    | {f"twenty {word}": 20 + n for n, word in enumerate(_UNITS, 1)}
    | {"thirtieth": 30, "thirty first": 31}
)
_CARDINAL = {word: n for n, word in enumerate("one two three four five six seven eight nine ten".split(), 1)}
_COUNTED = "|".join(_UNITS)
_ORDINAL_WORD = "|".join(sorted(_ORDINAL, key=len, reverse=True)) + r"|\d{1,2}(?:st|nd|rd|th)"
# "on the second" is a day, "on the second pull" is not.
_ENDS = r"(?=$| (?:of|at|in|when|did|was|were|is|before|after|we|i|for|and|or)\b)"
_MONTH_WORD = "|".join(MONTHS)

_THAT_DAY = ("that day", "that time", "that visit", "same day", "back then", "that trip", "that same day", "then")
_NOW = ("today", "now", "right now", "currently", "this (morning|afternoon|evening|time|visit)", "at the moment")
_AT_FIRST = (
    "originally", "at first", "to (start|begin) with", "initially", "at the (start|beginning)", "day one", "day 1",
    "in the beginning", "when (i|we) started", "when (i|we) first …", "out of the gate",
)  # fmt: skip
_LAST_TIME = (
    "last (time|visit|trip)", "(the|my|our) previous (time|visit|trip|day)", "previously",
    "the (time|visit|day|trip) before", "previous visit", "the other day",
)  # fmt: skip
_FINAL = ("(last|final) day", "final visit", "in the end", "at the end")
_BEFORE_WORK = re.compile(r" before (?:the|i|we|he|that|adding|changing|fixing)\b.*$|^(?: and)? before$")
_AFTER_WORK = re.compile(
    r" (?:after|since|once|with) "
    r"(?:the (?:new|second|extra|added|return|duct|run|grille|cap|capacitor|repair|fix)|i|we|adding|changing"
    r"|fixing)\b.*$|^(?: and)? after(?: that| it)?$"
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a question says about time."""

    visit: int | None = None  # the visit meant, 0 is the first; None: the job as it stands now
    said: bool = False  # the question named a time
    now: bool = False  # it asks for today's
    look: int = 0  # where that visit has no answer, the one before (-1: "last time") or after (1: "after that") has it
    nothing_then: bool = False  # it named a time when nothing was told at this job
    rest: str = ""  # the question's words without those of the time


def visit_asked(words: str, history: JobHistory, today: str, spoken_of: int | None) -> Asked:
    """The visit `words` mean; `spoken_of` is the visit that "that day" stands for."""
    text = f" {words}"
    dates = [date.fromisoformat(visit.date) for visit in history.visits()]
    match = re.search(rf" (?:on |the )*\b(?:the )?({_COUNTED}|\d)(?:st|nd|rd|th)? (?:day|visit|time|trip|go)\b", text)
    match = match or re.search(r" (?:the )?(first) (?=(?:\w+ )?(?:readings?|checks?|numbers)\b)", text)
    match = match or re.search(r" (?:day|visit|trip) (one|two|three|four|five|six|\d)\b", text)
    if match:
        word = match.group(1)
        place = (_ORDINAL.get(word) or _CARDINAL.get(word) or int(word)) - 1
        return _at(place if place < len(dates) else None, _without(text, match))
    for wordings, visit in ((_THAT_DAY, spoken_of), (_AT_FIRST, 0 if dates else None)):
        match = found(wordings, words)
        if match and visit is not None:
            return _at(visit, _without(text, match))
    match = found(_LAST_TIME, words)
    if match:
        came_today = bool(dates) and dates[-1].isoformat() == today
        place = len(dates) - (2 if came_today else 1)
        return replace(_at(place if place >= 0 else None, _without(text, match)), look=-1)
    match = found(_FINAL, words)
    if match and dates:
        return _at(len(dates) - 1, _without(text, match))
    named = _named_date(text, dates, date.fromisoformat(today))
    if named:
        return named
    match = found(_NOW, words)
    if match:
        return Asked(now=True, said=True, rest=_without(text, match))
    return _around_the_work(text, history)


def _at(visit: int | None, rest: str) -> Asked:
    return Asked(visit, said=True, nothing_then=visit is None, rest=rest)


def _without(text: str, match: re.Match[str]) -> str:
    return " ".join((text[: match.start()] + " " + text[match.end() :]).split())


def _named_date(text: str, dates: list[date], today: date) -> Asked | None:
    """A calendar date, a month, a weekday or "yesterday"; None when the question names none."""
    patterns = [
        (rf" (?:on |in )?({_MONTH_WORD}) (?:the )?({_ORDINAL_WORD}|\d{{1,2}})\b", _month_and_day),
        (rf" (?:on )?the ({_ORDINAL_WORD}) of ({_MONTH_WORD})\b", lambda m: _month_and_day(m, turned=True)),
        (rf" on (?:the )?({_ORDINAL_WORD}){_ENDS}", lambda m: lambda d: d.day == _day_number(m.group(1))),
        (rf" (?:the|back on the) ({_ORDINAL_WORD})$", lambda m: lambda d: d.day == _day_number(m.group(1))),
        (rf" (?:back )?(?:in|during) ({_MONTH_WORD})\b", lambda m: lambda d: MONTHS[d.month - 1] == m.group(1)),
        (r" yesterday\b", lambda m: lambda d: d == today - timedelta(days=1)),
        (r" last week\b", lambda m: lambda d: _week(d) == _week(today - timedelta(days=7))),
        (r" last month\b", lambda m: lambda d: (d.year, d.month) == _month_before(today)),
        (rf" (?:on |last |this )({'|'.join(_DAYS)})\b", lambda m: lambda d: _DAYS[d.weekday()] == m.group(1)),
    ]
    for pattern, test_of in patterns:
        match = re.search(pattern, text)
        if match:
            fits = test_of(match)
            visits = [place for place, day in enumerate(dates) if fits(day)]
            return _at(visits[-1] if visits else None, _without(text, match))
    return None


def _month_and_day(match: re.Match[str], turned: bool = False):
    month, day = match.group(2, 1) if turned else match.group(1, 2)
    return lambda d: MONTHS[d.month - 1] == month and d.day == _day_number(day)


def _day_number(word: str) -> int:
    return _ORDINAL.get(word) or int(re.sub(r"\D", "", word))


def _week(day: date) -> tuple[int, int]:
    return day.isocalendar()[:2]


def _month_before(today: date) -> tuple[int, int]:
    last = today.replace(day=1) - timedelta(days=1)
    return last.year, last.month


def _around_the_work(text: str, history: JobHistory) -> Asked:
    """ "before the new return went in": the visits on either side of the one when the work was done."""
    before, after = _BEFORE_WORK.search(text), _AFTER_WORK.search(text)
    if not before and not after:
        return Asked(rest=text.strip())
    worked = [
        history.visit_on(note.date)
        for note in history.notes
        if any(run.status in ("added", "removed") for run in note.duct_runs)
        or any(event.kind == "part_replaced" for event in note.events)
    ]
    done = next((visit for visit in worked if visit), None)  # work of the first visit has no visit before it
    if done is None:
        return Asked(rest=text.strip())
    visit, look = (done - 1, -1) if before else (done, 1)
    return Asked(visit, said=True, look=look, rest=_without(text, before or after))

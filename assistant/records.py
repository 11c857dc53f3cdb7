"""Every record that travels between the stages, in the contract's names.

Records are frozen: a correction makes a new record, it never edits an old one. `plain` turns any of
them into the JSON the program emits. Dates are ISO 8601 strings ("2026-05-12", "2026-05-12T07:50") in
the local time of the site, because a note says "ten to eight", never a time zone.
"""

from __future__ import annotations

import functools
from bisect import bisect_left, bisect_right
from dataclasses import dataclass, field, fields, is_dataclass
from itertools import accumulate
from typing import Any

# ---------------------------------------------------------------- hearing


@dataclass(frozen=True, slots=True)
class Word:
    """One word as the recogniser heard it."""

    text: str  # with its punctuation, without spaces
    start_s: float  # seconds into the recording
    end_s: float
    probability: float  # the recogniser's own, 0 to 1


@dataclass(frozen=True, slots=True)
class Unclear:
    """A stretch that was cut because it could not be trusted. Kept so that nothing is lost."""

    start_s: float
    end_s: float
    text: str  # what the recogniser offered; never read for values
    why: str  # "low_confidence" | "loop" | "no_speech"


@dataclass(frozen=True)
class Transcript:
    """The words of one note, spoken or typed. Kept for ever; everything later is derived from it."""

    text: str  # the words joined with single spaces where they were spoken; typed text unchanged
    words: tuple[Word, ...] = ()  # empty for typed text
    unclear: tuple[Unclear, ...] = ()
    duration_s: float | None = None  # of the recording; None for typed text
    model: str | None = None  # which recogniser; None for typed text

    def span_times(self, start: int, end: int) -> tuple[float | None, float | None, float | None]:
        """Start, end [s] and lowest word probability of `text[start:end]`; all None for typed text."""
        if not self.words:
            return None, None, None
        begins, ends = self._word_spans
        words = self.words[bisect_right(ends, start) : bisect_left(begins, end)]
        if not words:
            return None, None, None
        return words[0].start_s, words[-1].end_s, min(1.0, *(word.probability for word in words))

    @functools.cached_property
    def _word_spans(self) -> tuple[list[int], list[int]]:
        """Where each word begins and ends in `text`."""
        ends = list(accumulate((len(word.text) for word in self.words), lambda end, length: end + 1 + length))
        return [end - len(word.text) for end, word in zip(ends, self.words, strict=True)], ends


# ---------------------------------------------------------------- what a note says


@dataclass(frozen=True, slots=True)
class Corrected:
    """What a person did about a reading; beside the reading as it stands now."""

    action: str  # correct | confirm | discard
    by: str  # who
    at: str  # ISO date-time with zone
    was: float  # as it was heard, in `was_unit`
    was_unit: str


@dataclass(frozen=True, slots=True)
class Correction:
    """A person corrects, confirms or discards a reading of a note. Kept for ever; the original stays."""

    note: str
    quantity: str
    said: str  # the reading's words: with note and quantity, which one is meant
    action: str  # correct | confirm | discard
    value: float | None = None  # typed by that person, in the contract's `unit`; None unless it corrects
    unit: str | None = None
    was: float = 0.0  # as it was heard, in `was_unit`
    was_unit: str = ""
    by: str = ""
    at: str = ""  # ISO date-time with zone
    found: bool = True  # False: the note as it is read now has no such reading, so it changes nothing


@dataclass(frozen=True, slots=True)
class Reading:
    """One value that was spoken."""

    quantity: str  # the contract's name, "liquid_pressure"
    value: float  # in `unit`, whatever unit was spoken
    unit: str  # the contract's unit for that quantity; the spoken one only where it cannot be converted
    role: str = "measured"  # measured | target | rated | estimated
    system: str = "main"
    said: str = ""  # the speaker's own words
    note: str = ""  # id of the note
    start_s: float | None = None  # seconds into the recording; None for typed text
    end_s: float | None = None
    confidence: float = 1.0  # 0 to 1: hearing and understanding together
    status: str = "current"  # current | superseded | retracted | doubtful
    qualifier: str | None = None
    low: float | None = None  # a range: `value` is its midpoint
    high: float | None = None
    doubt: str | None = None  # why it is doubtful: value_implausible | unit_mismatch | value_conflict | misheard
    position: int = 0  # where in the note's text it stands [characters]; not part of the JSON
    correction: Corrected | None = None  # a person changed or confirmed it: then `value` is theirs


# Amounts that add up: a later one is a further act, it does not supersede the earlier.
ADDING_UP = frozenset({"refrigerant_added", "refrigerant_recovered"})


@dataclass(frozen=True, slots=True)
class Equipment:
    """What is known of one system. None: not said."""

    system: str = "main"
    refrigerant: str | None = None  # ASHRAE number, "R-410A"
    metering_device: str | None = None  # txv | eev | fixed_orifice | capillary
    cooling_capacity: float | None = None  # ton
    kind: str | None = None  # "heat pump", "furnace", "air handler" …
    model: str | None = None
    serial: str | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class DuctRun:
    """One or several equal duct runs."""

    side: str  # supply | return
    count: int = 1
    shape: str = "round"  # round | rect | oval
    material: str | None = None  # flex | metal | board
    size_in: tuple[float, ...] = ()  # diameter, or the two sides [in]
    length_ft: float | None = None  # of each
    airflow_cfm: float | None = None  # of all of them together
    system: str = "main"
    status: str = "existing"  # existing | proposed | added | removed
    note: str = ""
    said: str = ""


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened, or is set to happen, at a moment."""

    kind: str
    trade: str | None = None
    outcome: str | None = None
    when: str | None = None  # ISO date or date-time
    said: str = ""
    system: str = "main"
    what: str | None = None  # for part_replaced and failure_found
    note: str = ""


@dataclass(frozen=True, slots=True)
class Task:
    """Something still to be done, or done since."""

    what: str
    due: str | None = None
    waits_on: str | None = None
    status: str = "open"  # open | done | dropped
    who: str | None = None
    origin: str = "said"  # said | inferred
    system: str = "main"
    note: str = ""


@dataclass(frozen=True, slots=True)
class Agreement:
    """Work beyond the job, offered to or agreed with somebody."""

    scope: str
    by: str = "owner"
    status: str = "quoted"  # quoted | pending | approved | declined
    price: float | None = None
    when: str | None = None
    system: str = "main"
    note: str = ""


@dataclass(frozen=True, slots=True)
class Material:
    item: str
    quantity: float
    unit: str = "ea"
    status: str = "used"  # used | needed | ordered
    price: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Labour:
    hours: float | None = None
    days: float | None = None
    people: int | None = None
    what: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Remark:
    """What was heard and not understood, in the speaker's words."""

    text: str
    note: str = ""
    start_s: float | None = None
    end_s: float | None = None


@dataclass(frozen=True, slots=True)
class Retraction:
    """The speaker took back a reading of an earlier note: which one, by note and place in that note."""

    note: str
    position: int
    quantity: str


@dataclass(frozen=True, slots=True)
class Note:
    """Everything one note says, by itself."""

    id: str
    date: str
    text: str
    readings: tuple[Reading, ...] = ()
    equipment: tuple[Equipment, ...] = ()
    duct_runs: tuple[DuctRun, ...] = ()
    events: tuple[Event, ...] = ()
    tasks: tuple[Task, ...] = ()
    agreements: tuple[Agreement, ...] = ()
    materials: tuple[Material, ...] = ()
    labour: tuple[Labour, ...] = ()
    remarks: tuple[Remark, ...] = ()
    retractions: tuple[Retraction, ...] = ()  # of readings in earlier notes
    questions: tuple[str, ...] = ()  # sentences that ask something, in the speaker's words
    site: str | None = None  # named by "new job at …"
    system: str | None = None  # the system last spoken of


# ---------------------------------------------------------------- what follows from it


@dataclass(frozen=True, slots=True)
class Calculation:
    """A value worked out from readings. `plus_minus` is the expanded uncertainty in `unit`."""

    name: str
    system: str
    value: float
    unit: str
    plus_minus: float
    inputs: tuple[Reading, ...]
    method: str
    source: str
    qualifier: str | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    about: str
    system: str
    status: str  # in_range | low | high | pass | fail | provisional | unknown
    because: str
    value: float | None = None
    target: float | None = None
    tolerance: float | None = None
    needs: tuple[str, ...] = ()  # quantities still missing
    finding: str | None = None  # what a provisional verdict would say by itself


@dataclass(frozen=True, slots=True)
class Concern:
    code: str
    system: str
    severity: str  # info | attention | stop
    text: str
    because: tuple[str, ...] = ()
    caution: str | None = None


@dataclass(frozen=True, slots=True)
class Ask:
    quantity: str
    text: str
    system: str = "main"
    role: str = "measured"  # what a bare answer to it would be: measured, or the target or rating of a plate


# ---------------------------------------------------------------- the whole log


@dataclass(frozen=True, slots=True)
class Job:
    id: str
    site: str | None = None
    customer: str | None = None


@dataclass(frozen=True, slots=True)
class Visit:
    date: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class JobLog:
    """One job as it stands: a fold over its notes, then calculations, verdicts, concerns and asks."""

    job: Job
    visits: tuple[Visit, ...] = ()
    equipment: tuple[Equipment, ...] = ()
    readings: tuple[Reading, ...] = ()
    duct_runs: tuple[DuctRun, ...] = ()
    events: tuple[Event, ...] = ()
    tasks: tuple[Task, ...] = ()
    agreements: tuple[Agreement, ...] = ()
    materials: tuple[Material, ...] = ()
    labour: tuple[Labour, ...] = ()
    calculations: tuple[Calculation, ...] = ()
    verdicts: tuple[Verdict, ...] = ()
    concerns: tuple[Concern, ...] = ()
    asks: tuple[Ask, ...] = ()
    remarks: tuple[Remark, ...] = ()
    system: str = "main"  # last spoken of: what is told without a system's name belongs to it
    corrections: tuple[Correction, ...] = ()  # what persons set right, by note

    def visit_of(self, note: str) -> int:
        """Which visit (0 is the first) a note belongs to. Raises KeyError for a note of another job."""
        for number, visit in enumerate(self.visits):
            if note in visit.notes:
                return number
        raise KeyError(note)

    def note_order(self) -> dict[str, int]:
        """Each note's place in the job, oldest first."""
        return {note: place for place, note in enumerate(n for v in self.visits for n in v.notes)}

    def systems(self) -> tuple[str, ...]:
        """The systems that were told apart, in the order they came up; ("main",) when none were."""
        named = [e.system for e in self.equipment] + [r.system for r in self.readings]
        kept = dict.fromkeys(name for name in named if name != "site")
        return tuple(kept) or ("main",)

    def systems_described(self) -> tuple[str, ...]:
        """The systems of which more is known than a name; ("main",) when there are none."""
        named_only = {e for e in self.equipment if e == Equipment(system=e.system, note=e.note)}
        described = {e.system for e in self.equipment if e not in named_only} | {r.system for r in self.readings}
        described |= {run.system for run in self.duct_runs}
        return tuple(name for name in self.systems() if name in described) or ("main",)


_NOT_IN_JSON = {"position"}
_NOT_IN_JSON_OF = {"JobLog": {"system"}}  # where the talk stands, no part of the record
_ABSENT_WHEN_NONE = {"low", "high", "doubt", "finding", "tolerance", "correction"}
_ABSENT_WHEN_EMPTY = {"corrections"}


def json_names(kind: type) -> dict[str, bool]:
    """The names that `plain` gives a record's fields, each with whether it is always there."""
    hidden = _NOT_IN_JSON | _NOT_IN_JSON_OF.get(kind.__name__, set())
    absent = _ABSENT_WHEN_NONE | _ABSENT_WHEN_EMPTY
    return {f.name: f.name not in absent for f in fields(kind) if f.name not in hidden}


def plain(record: Any) -> Any:
    """`record` as JSON types, in the contract's names."""
    if is_dataclass(record):
        hidden = _NOT_IN_JSON | _NOT_IN_JSON_OF.get(type(record).__name__, set())
        pairs = ((f.name, getattr(record, f.name)) for f in fields(record) if f.name not in hidden)
        return {name: plain(value) for name, value in pairs if not _left_out(name, value)}
    if isinstance(record, (list, tuple)):
        return [plain(item) for item in record]
    if isinstance(record, dict):
        return {key: plain(value) for key, value in record.items()}
    return record


def _left_out(name: str, value: Any) -> bool:
    return (value is None and name in _ABSENT_WHEN_NONE) or (value == () and name in _ABSENT_WHEN_EMPTY)


@dataclass(frozen=True, slots=True)
class Answer:
    """What the assistant says to a question, and what it rests on."""

    say: str
    value: float | None = None
    unit: str | None = None
    evidence: tuple[Reading | Calculation | Verdict | Remark | Event | Task | Agreement, ...] = field(default=())

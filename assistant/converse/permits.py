"""Permits and inspections: what is open, what passed, when the inspector comes and what he said."""

from __future__ import annotations

import re
from dataclasses import dataclass

from assistant.converse.asking import Asking, Told
from assistant.converse.history import JobHistory
from assistant.converse.speech import day, joined, listed, trimmed
from assistant.records import Answer, Event, JobLog, Note, Task

TRADES = {
    "gas": ("gas", "gas piping", "piping"),
    "sheet_metal": ("sheet metal", "duct", "ducts", "ductwork"),
    "electrical": ("electrical", "electric", "wiring"),
    "mechanical": ("mechanical",),
    "building": ("building",),
    "plumbing": ("plumbing",),
    "fire": ("fire",),
}
_SENTENCE = re.compile(r"[^.!?]+[.!?]?")
_FAILED_WORDS = re.compile(
    r"\b(?:fail\w*|flunk\w*|turned (?:us|it|me) down|wrote (?:us|it|me) up|red[- ]tag\w*|flagged|ding\w*)\b",
    re.IGNORECASE,
)
_OUTCOME = {
    "posted": "is posted",
    "applied": "is applied for, not posted yet",
    "passed": "passed",
    "failed": "failed",
    "partial": "passed in part",
    "started": "has started",
    "finished": "is finished",
}


@dataclass(frozen=True, slots=True)
class InspectionState:
    """Where the inspections of a job stand, one event for each trade."""

    open: tuple[Event, ...]  # scheduled, or failed and not set again
    scheduled: tuple[Event, ...]
    latest: tuple[Event, ...]  # the last word on each trade


def inspection_state(log: JobLog) -> InspectionState:
    """The last event of each trade's inspection decides."""
    last: dict[str | None, Event] = {}
    for event in log.events:
        if event.kind == "inspection":
            last[event.trade] = event
    latest = tuple(last.values())
    still_open = tuple(e for e in latest if e.outcome in ("scheduled", "failed", "partial", None))
    return InspectionState(still_open, tuple(e for e in latest if e.outcome == "scheduled"), latest)


def trade_named(words: str) -> str | None:
    """The trade a question names, as the contract calls it."""
    names = [(name, trade) for trade, said in TRADES.items() for name in said]
    for name, trade in sorted(names, key=lambda pair: -len(pair[0])):
        if re.search(rf"\b{name}\b", words):
            return trade
    return None


def trade_text(event: Event) -> str:
    return f"{event.trade.replace('_', ' ')} {event.kind}" if event.trade else event.kind


def permit_answer(asking: Asking) -> Told:
    """The state of one trade's permit, or of all."""
    return _states(asking, "permit")


def inspection_answer(asking: Asking) -> Told:
    """The state of one trade's inspection, or of all."""
    return _states(asking, "inspection")


def _states(asking: Asking, kind: str) -> Told:
    trade = trade_named(asking.words)
    events = [e for e in asking.log.events if e.kind == kind and (trade is None or e.trade in (trade, None))]
    if trade and any(event.trade == trade for event in events):
        events = [event for event in events if event.trade == trade]
    if not events:
        name = f"{trade.replace('_', ' ')} {kind}" if trade else kind
        article = "an" if name[0] in "aeiou" else "a"
        return Told(Answer(joined(f"Nothing was said about {article} {name} at this job")), about=kind)
    telling = [event for each in dict.fromkeys(e.trade for e in events) for event in _telling(events, each)]
    say = joined(*[_state_text(event, asking.history) for event in telling])
    return Told(Answer(say, evidence=tuple(telling)), about=kind, topic=trade_text(telling[-1]))


def _telling(events: list[Event], trade: str | None) -> list[Event]:
    """The last word on a trade, and before it the failure that it is set again for."""
    mine = [event for event in events if event.trade == trade]
    before = [event for event in mine[:-1] if event.outcome in ("failed", "partial")]
    return [before[-1], mine[-1]] if before and mine[-1].outcome == "scheduled" else mine[-1:]


def _state_text(event: Event, history: JobHistory) -> str:
    note = history.note(event.note)
    if event.outcome == "scheduled":
        return (
            f"The {trade_text(event)} is set for {day(event.when)}"
            if event.when
            else f"The {trade_text(event)} is still to come"
        )
    outcome = _OUTCOME.get(event.outcome or "", "was mentioned, with no result said")
    told = f", on {day(event.when)}" if event.when else f", told on {day(note.date)}" if note else ""
    text = f"The {trade_text(event)} {outcome}{told}"
    reason = _reason(event, note) if event.outcome == "failed" else ""
    return joined(text, f'You said: "{reason}"' if reason else "")


def failed_on_answer(asking: Asking) -> Told:
    """What an inspection failed on, in the speaker's own words, and which of it is done."""
    failed = [
        event for event in asking.log.events if event.kind == "inspection" and event.outcome in ("failed", "partial")
    ]
    trade = trade_named(asking.words)
    failed = [event for event in failed if trade is None or event.trade == trade] or failed
    if not failed:
        return Told(Answer(joined("No inspection has failed here that I know of")), about="inspection")
    event = failed[-1]
    note = asking.history.note(event.note)
    tasks = [task for task in asking.log.tasks if task.note == event.note and note] if event.note else []
    reason = _reason(event, note)
    done, still = _split(tasks)
    say = joined(
        f"{trade_text(event)}, {day(event.when or (note.date if note else None))}",
        f'You said: "{reason}"' if reason else "",
        f"Done since: {listed(done)}" if done else "",
        f"Still open: {listed(still)}" if still else "",
    )
    return Told(Answer(say, evidence=(event, *tasks)), about="inspection")


def _split(tasks: list[Task]) -> tuple[list[str], list[str]]:
    done = [trimmed(task.what) for task in tasks if task.status == "done"]
    return done, [trimmed(task.what) for task in tasks if task.status == "open"]


_SHORT = 8  # words: "and he failed it" holds no reason
_DEMANDS = re.compile(
    r"(?:(?:he|she|they|inspector|the inspector|said|says) )*(?:wants?|needs?|missing|no|not enough|has to|have to"
    r"|because|on account|something about)\b",
    re.IGNORECASE,
)


def _reason(event: Event, note: Note | None) -> str:
    """The speaker's sentences about the failure: the one it stands in, and the next when that holds no reason."""
    if note is None:
        return event.said
    sentences = [sentence.strip() for sentence in _SENTENCE.findall(note.text) if sentence.strip()]
    said = event.said.strip().rstrip(".!?").lower()
    at = next(
        (place for place, each in enumerate(sentences) if said and said in each.lower() and _FAILED_WORDS.search(each)),
        None,
    )
    if at is None:
        at = next((place for place, each in enumerate(sentences) if _FAILED_WORDS.search(each)), None)
    if at is None:
        return event.said
    behind = sentences[at + 1].rstrip(".") if at + 1 < len(sentences) else ""
    goes_on = len(sentences[at].split()) < _SHORT or _DEMANDS.match(behind)
    return sentences[at].rstrip(".") + (f". {behind}" if behind and goes_on else "")

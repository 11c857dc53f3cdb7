"""When something was, or is to be: arrivals, inspections, deliveries, tasks with a day, answers that are due."""

from __future__ import annotations

import re

from assistant.converse.asking import Asking, Told
from assistant.converse.history import says_something
from assistant.converse.likeness import content_asked, content_words, likeness
from assistant.converse.permits import inspection_state, trade_named, trade_text
from assistant.converse.speech import day, joined, listed, trimmed, weekday
from assistant.records import Answer, Event, JobLog, Task

_EVENT_WORDS = {
    "startup": re.compile(
        r"\b(?:fir(?:e|ed)(?: it| that| her| them)? up|start(?:ed)?(?: it| that| her)? up|startup"
        r"|turn(?:ed)? (?:it|her) on|running|start(?:ed)? (?:it|her))\b"
    ),
    "first_fire": re.compile(r"\b(?:lit|light|fire|fired|first fire)\b"),
    "arrival": re.compile(
        r"\b(?:get (?:here|there|to)|got (?:here|there)|(?:roll|pull|walk|show)(?:ed)? (?:in|up)|arrive\w*|show up)\b"
    ),
    "departure": re.compile(r"\b(?:leave|left|get out|out of (?:here|there))\b"),
    "delivery": re.compile(r"\b(?:deliver\w*|arriv\w*|get here|come in|coming|ship\w*|show up)\b"),
    "evacuation": re.compile(r"\b(?:evacuat\w*|vacuum|pump)\b"),
    "pressure_test": re.compile(r"\b(?:pressure test|nitrogen)\b"),
    "recovery": re.compile(r"\brecover\w*\b"),
    "charging": re.compile(r"\b(?:charge|charged|weigh\w*)\b"),
    "part_replaced": re.compile(r"\b(?:replace\w*|swap\w*|change\w*|put in)\b"),
    "shutdown": re.compile(r"\b(?:shut\w*|turn(?:ed)? (?:it|her) off|red tag\w*)\b"),
    "permit": re.compile(r"\bpermits?\b"),
    "failure_found": re.compile(r"\b(?:find|found|fail\w*)\b"),
}
_INSPECTOR = re.compile(
    r"\b(?:he|she|inspector|inspectors|inspection|inspections|reinspection|they|inspect|inspected|inspecting)\b"
)
_ANSWERING = re.compile(
    r"\b(?:let(?:ting)? (?:me|us) know|decid\w*|answer\w*|hear(?:ing)? (?:back|from)|get(?:ting)? back to"
    r"|call(?:ing)? (?:me|us)? ?back)\b"
)
_TO_COME = re.compile(r"\b(?:back|coming|come|next|due|return)\b")
_BACK = re.compile(r"\bback\b")
_A_DAY = re.compile(
    r"\b(?:(?:mon|tues|wednes|thurs|fri|satur|sun)day|tomorrow|tonight|next week|noon|morning"
    r"|the \w+(?:st|nd|rd|th))\b",
    re.IGNORECASE,
)
_SENTENCE = re.compile(r"[^.!?]+[.!?]?")
_ARRIVES = re.compile(r"\b(?:here|coming|deliver\w*|ship\w*|arriv\w*|gets? in|show\w* up|order\w*)\b", re.IGNORECASE)
_SOMEBODY = re.compile(r"\b(?:he|she|they|owner|inspector|customer|manager|landlord|tenant)\b", re.IGNORECASE)
_ME = re.compile(r"\b(?:am i|are we|i|we)\b")
_RETURNING = re.compile(r"\b(?:back|return|visit|going|come|coming)\b")


def when_answer(asking: Asking) -> Told:
    """When something was, or is to be: the event, task or agreement the question's words fit best."""
    log, words = asking.log, asking.words
    content = content_asked(asking)
    scheduled = inspection_state(log).scheduled
    trade = trade_named(words)
    if _INSPECTOR.search(words) and not (
        asking.question.past and not re.search(r"\b(?:coming|back|next|set for)\b", words)
    ):
        events = [event for event in scheduled if trade is None or event.trade == trade] or list(scheduled)
        if events:
            return _dated([(trade_text(event), event.when, event) for event in events])
    if _ANSWERING.search(words):
        found = _answers_due(log)
        if found:
            return _dated(found)
    candidates = _events_asked(asking, content, trade) + _tasks_asked(log.tasks, words, content)
    if _TO_COME.search(words) and not asking.question.past:  # what is over is no answer to "when's he back"
        candidates = [each for each in candidates if getattr(each[3], "outcome", None) not in ("passed", "failed")]
    candidates += [(likeness(content, a.scope), a.scope, a.when, a) for a in log.agreements if a.when]
    best = max((score for score, *_ in candidates), default=0.0)
    if not best > 0 or not any(when for score, _, when, _ in candidates if score == best):
        ahead = _next_up(asking) if re.search(r"\bnext\b", words) else []
        if ahead:
            return _dated(ahead)
        quoted = _in_his_words(asking, content)
        if quoted:
            return quoted
    if best > 0:
        chosen = [(text, when, record) for score, text, when, record in candidates if score == best]
        dated = [each for each in chosen if each[1]]
        if dated:
            future = [each for each in dated if (each[1] or "")[:10] >= asking.today]
            return _dated((dated if asking.question.past else future or dated)[-2:])
        return Told(
            Answer(
                joined(f"No day was said for {listed(text for text, _, _ in chosen[:2])}"),
                evidence=tuple(r for _, _, r in chosen),
            )
        )
    return Told(Answer(joined("Nobody said when")), about=None)


def _next_up(asking: Asking) -> list[tuple[str, str | None, object]]:
    """What is set for the soonest day from today on."""
    log = asking.log
    dated = [(trade_text(event), event.when, event) for event in inspection_state(log).scheduled]
    dated += [(task.what, task.due, task) for task in log.tasks if task.status == "open"]
    ahead = sorted((each for each in dated if (each[1] or "")[:10] >= asking.today), key=lambda each: each[1] or "")
    return [each for each in ahead if (each[1] or "")[:10] == (ahead[0][1] or "")[:10]]


def _in_his_words(asking: Asking, content: set[str]) -> Told | None:
    """The speaker's own last sentence that names a day and fits the question, where no record holds the day."""
    about_him = bool(_INSPECTOR.search(asking.words) or _ANSWERING.search(asking.words))
    arriving = _EVENT_WORDS["delivery"].search(asking.words)
    for note in reversed(asking.history.notes):
        for sentence in _SENTENCE.findall(note.text):
            fits = likeness(content, sentence) > 0 or about_him and _SOMEBODY.search(sentence)
            fits = fits or arriving and _ARRIVES.search(sentence)
            if says_something(note) and fits and _A_DAY.search(sentence):
                return Told(Answer(joined(f'You said on {day(note.date)}: "{trimmed(sentence)}"')))
    return None


def _answers_due(log: JobLog) -> list[tuple[str, str | None, object]]:
    """When somebody is to answer: the open task that speaks of him and of what was offered to him."""
    pending = [offer for offer in log.agreements if offer.status in ("pending", "quoted")]
    about = content_words(" ".join(f"{offer.by} {offer.scope}" for offer in pending).lower())
    tasks = [task for task in log.tasks if task.status == "open" and task.due and likeness(about, task.what) > 0]
    return [(task.what, task.due, task) for task in tasks]


def _events_asked(asking: Asking, content: set[str], trade: str | None) -> list[tuple[float, str, str | None, Event]]:
    found = []
    for event in asking.log.events:
        pattern = _EVENT_WORDS.get(event.kind)
        score = likeness(
            content,
            f"{event.kind.replace('_', ' ')} {event.what or ''} {(event.trade or '').replace('_', ' ')} {event.said}",
        )
        if pattern and pattern.search(asking.words):
            score += 1.0
        if event.kind == "inspection" and _INSPECTOR.search(asking.words):
            score += 1.0
        if trade and event.trade == trade:
            score += 0.5
        note = asking.history.note(event.note)
        when = event.when or (note.date if note and event.outcome not in ("scheduled", "applied") else None)
        found.append((score, _event_text(event), when, event))
    return found


def _event_text(event: Event) -> str:
    if event.kind in ("inspection", "permit"):
        return trade_text(event)
    names = {"first_fire": "first fire", "part_replaced": "replacement", "failure_found": "fault"}
    text = names.get(event.kind, event.kind.replace("_", " "))
    return f"{text} of {event.what}" if event.what and event.kind in ("delivery", "part_replaced") else text


def _tasks_asked(tasks: tuple[Task, ...], words: str, content: set[str]) -> list[tuple[float, str, str | None, Task]]:
    found = []
    for task in tasks:
        if task.status == "dropped":
            continue
        score = likeness(content, task.what)
        if _ME.search(words) and _RETURNING.search(words) and task.status == "open" and task.due:
            score += 0.9 if _RETURNING.search(task.what) else 0 if task.what.startswith("hear back") else 0.4
        elif _INSPECTOR.search(words) and task.due and all(_BACK.search(text) for text in (words, task.what)):
            score += 0.6
        found.append((score, task.what, task.due, task))
    return found


def _dated(found: list[tuple[str, str | None, object]]) -> Told:
    texts = [
        f"{text}, {weekday(when or '')} {day(when)}" if when else f"{text}, no day said" for text, when, _ in found
    ]
    return Told(
        Answer(joined("; ".join(dict.fromkeys(texts))), evidence=tuple(record for *_, record in found)),
        about=_about_of(found),
        topic=found[0][0],
    )


def _about_of(found: list[tuple[str, str | None, object]]) -> str | None:
    kinds = {getattr(record, "kind", None) for *_, record in found}
    return "inspection" if kinds == {"inspection"} else None

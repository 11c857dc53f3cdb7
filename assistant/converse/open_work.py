"""What is open: left to do, waited on, forgotten, and where the talk had got to."""

from __future__ import annotations

import re

from assistant.converse.asking import Asking, Told, system_name
from assistant.converse.history import JobHistory, says_something
from assistant.converse.permits import inspection_state
from assistant.converse.speech import briefly, day, joined, listed, named, needed, spoken, trimmed, weekday
from assistant.converse.vocabulary import title
from assistant.records import Answer, Event, JobLog, Note, Reading, Task

_SENTENCE = re.compile(r"[^.!?]+[.!?]?")
_PRONOUN = re.compile(r"(?:it|they|he|she|that|those)\b", re.IGNORECASE)
_UNTIL = re.compile(r"\b(?:till|until|'til|waiting (?:on|for)|as soon as|once|depends on|holding off)\b", re.IGNORECASE)
_MOST = 6  # as many items as an ear keeps; the rest are counted


def left_answer(asking: Asking) -> Told:
    """Open tasks, inspections still to pass, answers still out, findings still open."""
    log = asking.log
    tasks = [task for task in log.tasks if task.status == "open" and _wanted(asking, task.system)]
    items = [_task_text(task, asking.today) for task in tasks]
    open_inspections = inspection_state(log).open
    items += [_inspection_text(event) for event in open_inspections]
    pending = [a for a in log.agreements if a.status in ("pending", "quoted") and _wanted(asking, a.system)]
    items += [f"the {agreement.by}'s answer on {agreement.scope}" for agreement in pending]
    items += _unsettled(asking, tasks)
    evidence = (*tasks, *open_inspections, *pending)
    if not items:
        ask = f"I'd still like to know: {log.asks[0].text}" if log.asks else ""
        return Told(Answer(joined("Nothing left that I know of", ask)))
    return Told(Answer(joined(f"Left to do: {_cut(items)}"), evidence=evidence))


def _wanted(asking: Asking, system: str) -> bool:
    return not asking.single or system in (*asking.systems, "main", "site")


def _task_text(task: Task, today: str) -> str:
    due = f", due {_due(task.due, today)}" if task.due else ""
    waits = f", waiting on {task.waits_on}" if task.waits_on else ""
    who = f" ({task.who})" if task.who else ""
    return f"{trimmed(task.what)}{who}{due}{waits}"


def _due(iso: str, today: str) -> str:
    if iso[:10] == today:
        return "today"
    return f"{weekday(iso)} {day(iso)}" + (", overdue" if iso[:10] < today else "")


def _inspection_text(event: Event) -> str:
    trade = f"{event.trade.replace('_', ' ')} " if event.trade else ""
    when = f" on {day(event.when)}" if event.when and event.outcome == "scheduled" else ""
    if event.outcome == "failed":
        return f"{trade}inspection again, it failed"
    return f"{trade}inspection{when}"


def _unsettled(asking: Asking, tasks: list[Task]) -> list[str]:
    """Findings that are still open and that no task speaks of."""
    words = " ".join(task.what.lower() for task in tasks)
    items = []
    for verdict in asking.log.verdicts:
        if not _wanted(asking, verdict.system) or verdict.about in words:
            continue
        where = f" {verdict.system}" if system_name(verdict.system) else ""
        if verdict.status == "fail":
            items.append(f"the {title(verdict.about)}{where}, it failed")
        elif verdict.status == "unknown" and verdict.needs:
            items.append(f"the {title(verdict.about)}{where}, it needs {needed(verdict.needs)}")
    return items


def _cut(items: list[str]) -> str:
    kept = list(dict.fromkeys(items))
    more = len(kept) - _MOST
    return "; ".join(kept[:_MOST]) + (f"; and {more} more" if more > 0 else "")


_NARROWED = {
    "answers": re.compile(r"\b(?:approvals?|owner|customer|answers?|okay|go ahead|signature)\b"),
    "inspections": re.compile(r"\b(?:inspections?|inspectors?|permits?)\b"),
    "parts": re.compile(r"\b(?:parts?|deliver\w*|order|materials?)\b"),
}


def waiting_answer(asking: Asking) -> Told:
    """What holds the job up: what tasks wait on, answers that are out, parts and inspections to come."""
    log = asking.log
    tasks = [task for task in log.tasks if task.status == "open" and task.waits_on]
    pending = [agreement for agreement in log.agreements if agreement.status in ("pending", "quoted")]
    coming = [e for e in log.events if e.kind == "delivery" and e.outcome == "scheduled" and _ahead(e, asking.today)]
    ordered = [material for material in log.materials if material.status == "ordered"]
    inspections = inspection_state(log).scheduled
    waited_on = {
        "tasks": [(_waits_text(task, asking.history), task) for task in tasks],
        "answers": [(f"the {offer.by}'s answer on {offer.scope}", offer) for offer in pending],
        "parts": [(f"{event.what or 'the delivery'}, {day(event.when)}", event) for event in coming]
        or [(f"{material.item}, on order", None) for material in ordered],
        "inspections": [(_inspection_text(event), event) for event in inspections],
    }
    narrowed = next((name for name, words in _NARROWED.items() if words.search(asking.words)), None)
    found = [each for name, items in waited_on.items() if narrowed in (None, name) for each in items]
    if found:
        evidence = tuple(record for _, record in found if record)
        return Told(Answer(joined(f"Waiting on {_cut([text for text, _ in found])}"), evidence=evidence))
    own_words = None if narrowed else _words_of_waiting(asking.history)
    return Told(Answer(joined(f"You said: {own_words}" if own_words else "Nothing that I know of")))


def _ahead(event: Event, today: str) -> bool:
    return (event.when or "")[:10] >= today


def _waits_text(task: Task, history: JobHistory) -> str:
    """What a task waits on; the speaker's own sentences where that is only "it" or "they"."""
    text = f"{task.waits_on}, then: {briefly(task.what)}"
    note = history.note(task.note)
    if note is None or not _PRONOUN.match(task.waits_on or ""):
        return text
    sentences = [sentence.strip() for sentence in _SENTENCE.findall(note.text)]
    at = next((place for place, each in enumerate(sentences) if trimmed(task.waits_on or "") in each), None)
    if at is None:
        return text
    return f'{text} (you said: "{" ".join(sentences[max(0, at - 1) : at + 1])}")'


def _words_of_waiting(history: JobHistory) -> str | None:
    """The speaker's own last sentence about waiting, for what no task has caught."""
    for note in reversed(history.notes):
        if not says_something(note):
            continue
        for sentence in _SENTENCE.findall(note.text):
            if _UNTIL.search(sentence):
                return sentence.strip()
    return None


def forgot_answer(asking: Asking) -> Told:
    """What was not measured or not settled: the assistant's own questions, doubtful values, tasks past due."""
    log = asking.log
    doubtful = [r for r in log.readings if r.status == "doubtful" and _wanted(asking, r.system)]
    overdue = [t for t in log.tasks if t.status == "open" and t.due and t.due[:10] <= asking.today]
    asks = [ask.text for ask in log.asks if _wanted(asking, ask.system)]
    items = [f"I doubt {named(reading)}, say it again" for reading in doubtful]
    items += [_task_text(task, asking.today) for task in overdue]
    if not items and not asks:
        return Told(Answer(joined("Nothing that I can see")))
    say = joined(_cut(items), *asks[:3])
    return Told(Answer(say, evidence=(*doubtful, *overdue)))


# ---------------------------------------------------------------- the thread of the talk


def where_answer(asking: Asking) -> Told:
    """The last thing that was told, and what comes next."""
    note = asking.history.last_telling()
    if note is None:
        return Told(Answer(joined("At the start: nothing has been told about this job yet")))
    log: JobLog = asking.history.logs[-1]
    values = listed(_echoed(note))
    last = values or _first_words(note)
    tasks = [task for task in log.tasks if task.status == "open"]
    next_up = (
        f"Next: {log.asks[0].text}"
        if log.asks
        else f"Still open: {_task_text(tasks[0], asking.today)}"
        if tasks
        else ""
    )
    say = joined(f"At {asking.job.replace('-', ' ')}, {day(note.date)}: the last thing you told me was {last}", next_up)
    return Told(Answer(say, evidence=tuple(r for r in note.readings if r.status == "current")))


def readback_answer(asking: Asking) -> Told:
    """The last note's values as they were heard; its words where it had none."""
    # A note that only takes something back has nothing of its own to read.
    told = (n for n in reversed(asking.history.notes) if n.readings or n.events or n.tasks or n.agreements)
    note = next(told, None) or asking.history.last_telling()
    if note is None:
        return Told(Answer(joined("There is nothing to read back yet")))
    values = _echoed(note)
    doubtful = [named(r) for r in note.readings if r.status == "doubtful"]
    doubt = f"In doubt: {listed(doubtful)}" if doubtful else ""
    other = [e.what or e.kind.replace("_", " ") + (f" {e.outcome}" if e.outcome else "") for e in note.events]
    tasks = [task.what for task in note.tasks]
    say = joined(
        listed(values) if values else "" if doubtful else f"I have: {note.text}",
        doubt,
        f"Also {listed([*other, *tasks])}" if values and (other or tasks) else "",
    )
    return Told(Answer(say, evidence=tuple(r for r in note.readings if r.status in ("current", "doubtful"))))


def _echoed(note: Note) -> list[str]:
    many = len({r.system for r in note.readings}) > 1

    def where(reading: Reading) -> str:
        return f"{reading.system} " if many and system_name(reading.system) else ""

    return [f"{where(r)}{named(r)}" for r in note.readings if r.status == "current"]


def _first_words(note: Note) -> str:
    sentence = next(iter(_SENTENCE.findall(note.text)), note.text).strip().rstrip(".!?")
    return f'"{spoken(sentence)}"'

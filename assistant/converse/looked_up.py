"""What was said of things that are no values: is it done, what was found, the speaker's own words."""

from __future__ import annotations

import re

from assistant.converse.asking import Asking, Told
from assistant.converse.history import says_something
from assistant.converse.judged import concerns_answer
from assistant.converse.likeness import content_asked, content_words, likeness
from assistant.converse.speech import day, joined, trimmed, weekday
from assistant.converse.vocabulary import generic_words
from assistant.records import Answer, Event, Task
from assistant.understand.questions import is_question

_SENTENCE = re.compile(r"[^.!?]+[.!?]?")
_ENOUGH = 0.5  # share of a question's words that a record must hold to be what it asks about; from judgement
_DONE = re.compile(
    r"\b(?:done|finished|taken|care|handled|completed|fixed|yet|already|sealed|wrapped|registered|called)\b"
)


def done_answer(asking: Asking) -> Told:
    """Whether a task is done, by the task its words fit best; the speaker's words where no task fits."""
    content = {word for word in content_asked(asking) if not _DONE.fullmatch(word)} or content_asked(asking)
    task = _best(list(asking.log.tasks), content)
    if task is None:
        return said_about(asking) or Told(Answer(joined("I know of no such task")))
    if task.status == "open":
        due = f", due {weekday(task.due)} {day(task.due)}" if task.due else ""
        waits = f", waiting on {task.waits_on}" if task.waits_on else ""
        return Told(
            Answer(joined(f"No, still open: {trimmed(task.what)}{due}{waits}"), evidence=(task,)), topic=task.what
        )
    word = "Yes, done" if task.status == "done" else "Dropped"
    return Told(Answer(joined(f"{word}: {trimmed(task.what)}"), evidence=(task,)), topic=task.what)


def fits_a_task(asking: Asking) -> bool:
    """Whether a question's words are those of a task."""
    return _best(list(asking.log.tasks), content_asked(asking)) is not None


def _best(tasks: list[Task], content: set[str]) -> Task | None:
    scored = [(likeness(content, task.what), task.status == "done", place) for place, task in enumerate(tasks)]
    best = max(scored, default=(0.0, False, 0))
    return tasks[best[2]] if best[0] >= _ENOUGH else None


def found_answer(asking: Asking) -> Told:
    """The fault that was found, in the speaker's words; else what speaks against the job."""
    found = [event for event in asking.log.events if event.kind == "failure_found"]
    if not found:
        told = concerns_answer(asking)
        return Told(Answer(joined("No fault was told as found", told.answer.say), evidence=told.answer.evidence))
    event = found[-1]
    note = asking.history.note(event.note)
    on = f", {day(event.when or (note.date if note else None))}"
    return Told(
        Answer(joined(f"Found{on}: {event.what or event.said or _first_sentence(asking, event)}"), evidence=(event,))
    )


def _first_sentence(asking: Asking, event: Event) -> str:
    note = asking.history.note(event.note)
    return " ".join(sentence.strip() for sentence in _SENTENCE.findall(note.text)[:2]) if note else "a fault"


def said_about(asking: Asking) -> Told | None:
    """The speaker's own sentence that holds most of the question's words, the newest of equals; None when none does."""
    content = content_words(asking.words) - generic_words()
    best: tuple[float, int, str] = (0.0, -1, "")
    for place, note in enumerate(asking.history.notes):
        if not says_something(note):
            continue
        for sentence in _SENTENCE.findall(note.text):
            if is_question(sentence):
                continue
            score = likeness(content, sentence)
            if score >= best[0]:
                best = (score, place, sentence.strip())
    if best[0] < _ENOUGH or not content:
        return None
    return Told(Answer(joined(f'You said on {day(asking.history.notes[best[1]].date)}: "{best[2].rstrip(".")}"')))

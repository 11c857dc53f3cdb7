"""Open tasks meet what was said since: told again, finished, dropped, or closed by what happened."""

from __future__ import annotations

import re
from dataclasses import replace

from assistant.records import Note, Task

_PLAIN = frozenset(
    "the and that this with have been from will what when then they them just going need needs back done said over"
    " about into onto here there still already now too before after today tomorrow morning tonight some more all"
    " owe him her his its it's i'll i'm we'll we're remind make sure monday tuesday wednesday thursday friday saturday"
    " sunday get got take put come coming call first thing last next next".split()
)
# What happened, and which open tasks that finishes.
_CLOSES = {"first_fire": ("fire", "furnace"), "delivery": ("deliver",)}


def settle_tasks(tasks: tuple[Task, ...], note: Note) -> tuple[Task, ...]:
    """The job's tasks after a note."""
    settled = list(tasks)
    for new in note.tasks:
        if new.status == "open":
            _merge(settled, new)
    for new in note.tasks:
        if new.status != "open":
            _close(settled, new)
    for event in note.events:
        words = _CLOSES.get(event.kind)
        if words and event.outcome != "scheduled":
            _close_where(settled, note, lambda what, w=words: all(word in what for word in w))
        if event.kind == "part_replaced" and event.what:
            part = event.what.lower().split()[0]
            _close_where(settled, note, lambda what, p=part: p in what and "fix" in what)
    for answered in note.agreements:
        if answered.status in ("approved", "declined"):
            _close_heard_back(settled, note, _stems(answered.scope))
    return tuple(settled)


def closes_something(done: Task, tasks: tuple[Task, ...]) -> bool:
    """Whether something told as finished was open, or is a remedy worth keeping; most such talk is only talk."""
    return "already" in done.what.lower() or bool(_closed_by(list(tasks), done))


def _merge(tasks: list[Task], new: Task) -> None:
    """The same thing told again only sharpens what is known of it."""
    place = _match(tasks, new, least=2)
    if place is None:
        tasks.append(new)
    else:
        old = tasks[place]
        tasks[place] = replace(old, due=new.due or old.due, waits_on=new.waits_on or old.waits_on)


def _close(tasks: list[Task], new: Task) -> None:
    places = _closed_by(tasks, new)
    for place in places:
        tasks[place] = replace(tasks[place], status=new.status, due=None)  # nothing is due any more
    if not places and "already" in new.what.lower():  # a remedy done before anyone listed it
        tasks.append(new)


def _closed_by(tasks: list[Task], new: Task) -> list[int]:
    """Open tasks of earlier notes that share a word with what is finished."""
    stems = _stems(new.what)
    return [
        place
        for place, task in enumerate(tasks)
        if task.status == "open" and task.note != new.note and _stems(task.what) & stems and not _is_recheck(task)
    ]


def _close_heard_back(tasks: list[Task], note: Note, scope: set[str]) -> None:
    """An answer ends the waiting for it; where its words tell of no one wait, that of an earlier note."""
    waits = [
        place
        for place, task in enumerate(tasks)
        if task.status == "open" and task.note != note.id and _is_waiting(task)
    ]
    about = [place for place in waits if _stems(tasks[place].what) & scope]
    for place in about or waits:
        tasks[place] = replace(tasks[place], status="done", due=None)


def _close_where(tasks: list[Task], note: Note, fits) -> None:
    for place, task in enumerate(tasks):
        if task.status == "open" and fits(task.what.lower()) and not _is_recheck(task):
            tasks[place] = replace(task, status="done", due=None)


def _is_recheck(task: Task) -> bool:
    """Whether the charge was checked again is judged from readings, not from words."""
    return "recheck" in task.what.lower() and "charge" in task.what.lower()


def _is_waiting(task: Task) -> bool:
    return task.what.startswith("hear back")


def _match(tasks: list[Task], new: Task, least: int) -> int | None:
    stems = _stems(new.what)
    shared = [
        (len(stems & _stems(task.what)), place)
        for place, task in enumerate(tasks)
        if task.status == "open"
        and task.note != new.note
        and (not _is_recheck(task) or "charge" in new.what.lower())
        and _is_waiting(task) == _is_waiting(new)
    ]
    best = max(shared, default=(0, 0))
    return best[1] if best[0] >= least else None


def _stems(text: str) -> set[str]:
    """Content words, cut to what their forms share: "wrapped" and "wrap", "sealed" and "seal"."""
    words = set(re.findall(r"[a-z]{3,}", text.lower().replace("'s", ""))) - _PLAIN
    return {_stem(word) for word in words}


def _stem(word: str) -> str:
    for ending in ("ping", "ped", "ing", "ed", "es", "s"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return word[: -len(ending)]
    return word

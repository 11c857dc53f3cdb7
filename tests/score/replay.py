"""Telling an assistant the notes of a set, job by job and in order, and comparing after each."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

from tests.score import findings, lists, readings, talk
from tests.score.cases import Case, Dialogue, Set
from tests.score.tally import Outcome, Score

MakeAssistant = Callable[[], Any]  # a fresh assistant that keeps nothing on disk
Row = dict[str, Any]


def score(cases: Set, make_assistant: MakeAssistant) -> Score:
    """Every note and dialogue of `cases`. A note that raises is listed as crashed, with its gold as missed."""
    total = Score()
    for job in cases.jobs().values():
        assistant = make_assistant()
        for case in job:
            total.notes += 1
            try:
                note, log = _tell(assistant, case)
            except Exception as error:  # whatever it is, the other notes are still to be scored
                total.crashed.append(f"{case.id}: {type(error).__name__}: {error}")
                total.add(case.id, case.text, compare_note({}, {}, case.gold))
            else:
                total.add(case.id, case.text, compare_note(note, log, case.gold))
    notes = {case.id: case for case in cases.cases}
    for dialogue in cases.dialogues:
        wrong = tuple(_faults(dialogue, notes, make_assistant()))
        total.add(
            dialogue.id,
            dialogue.job,
            [
                Outcome("dialogues", 0 if wrong else 1, wrong[:1]),
                Outcome("turns", len(dialogue.turns) - len(wrong), wrong),
            ],
        )
    return total


def _tell(assistant: Any, case: Case) -> tuple[Row, Row]:
    """The note and the job's log after it. What was heard keeps its words' probabilities, which typed text has not."""
    day = date.fromisoformat(case.date)
    if case.heard:
        return assistant.tell_heard(case.heard, case.job, day)
    reply = assistant.tell(text=case.text, job=case.job, date=day)
    return reply.note, reply.log


def compare_note(note: Row, log: Row, gold: Row) -> list[Outcome]:
    """All parts of one note that its gold speaks of: `note` is what it said, `log` the job after it."""
    outcomes = readings.compare(said_in(note, log), gold["readings"])
    for part, keys in lists.LISTS.items():
        if part in gold:
            outcomes.append(lists.compare(part, note.get(part, []), gold[part], keys))
    if "equipment" in gold:
        outcomes.append(lists.compare_equipment(note.get("equipment", []), gold["equipment"]))
    if "tasks" in gold:
        outcomes += lists.compare_tasks(log.get("tasks", []), gold["tasks"])
    if "calculations" in gold:
        outcomes.append(findings.compare_calculations(log.get("calculations", []), gold["calculations"]))
    if "verdicts" in gold:
        outcomes.append(findings.compare_verdicts(log.get("verdicts", []), gold["verdicts"]))
    return outcomes + findings.compare_concerns(log.get("concerns", []), gold)


def said_in(note: Row, log: Row) -> list[Row]:
    """The note's readings as the log has them: a reading's status may follow from what the log knew before."""
    said = note.get("readings", [])
    ids = {note.get("id"), *(row.get("note") for row in said)} - {None, ""}
    return [row for row in log.get("readings", []) if row.get("note") in ids] or said


def _faults(dialogue: Dialogue, notes: dict[str, Case], assistant: Any) -> Iterator[str]:
    """One line for each turn that fails; a turn that was never reached has failed."""
    reached = 0
    try:
        for earlier in dialogue.after:
            case = notes[earlier]
            assistant.tell(text=case.text, job=dialogue.job, date=date.fromisoformat(case.date))
        for turn in dialogue.turns:
            reply = assistant.tell(text=turn.say, job=dialogue.job, date=date.fromisoformat(dialogue.date))
            wrong = talk.faults(turn.expect, reply.say, reply.log)
            reached += 1
            if wrong:
                yield f"{turn.say!r}: {'; '.join(wrong)}"
    except Exception as error:  # as for notes: one broken dialogue must not hide the others
        for turn in dialogue.turns[reached:]:
            yield f"{turn.say!r}: {type(error).__name__}: {error}"

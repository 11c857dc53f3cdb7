"""The corpus's dialogues turn by turn: what a turn says is taken from its own expectations."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.converse import Focus, JobHistory, ask, is_question, reply
from assistant.records import Event, Job, JobLog, Note, Reading, Remark, Retraction, Task
from tests.converse.histories import DIALOGUES, after, corpus_job, says_number, states_number
from tests.converse.histories import history as told_history

# What the turns say besides the readings they expect: equipment, tasks, and what a task waits on.
_BESIDES = {
    "Four ten A, TXV, sticker says ten of subcool. Head's three forty two.": {
        "refrigerant": "R-410A",
        "metering_device": "txv",
    },
    "R twenty two, fixed orifice. Suction sixty nine. Suction line fifty six.": {
        "refrigerant": "R-22",
        "metering_device": "fixed_orifice",
    },
    "Three and a half ton. Return's two twelve inch flex, hood says nine hundred for the both of them.": {
        "cooling_capacity": 3.5
    },
}


def spoken(turn: dict, number: int, date: str, before: JobHistory) -> Note:
    """The note a turn makes, by what is expected to be in the log after it and was not there before."""
    name, expect = f"t{number}", turn["expect"]
    known = before.latest.readings if before.latest else ()
    rows = [
        {k: v for k, v in row.items() if k != "status"}
        for row in expect.get("readings_after", ())
        if row["status"] == "current"
    ]
    fresh = [row for row in rows if not any(_is(r, row) and r.status == "current" for r in known)]
    gone = [row for row in expect.get("readings_after", ()) if row["status"] == "retracted"]
    taken = [next(r for r in known if _is(r, row)) for row in gone]
    from assistant.records import Equipment

    return Note(
        name,
        date,
        turn["say"],
        readings=tuple(
            Reading(**{"system": _site(row), "note": name, "position": place, **row}) for place, row in enumerate(fresh)
        ),
        equipment=tuple(Equipment(**row, note=name) for row in [_BESIDES[turn["say"]]] if row)
        if turn["say"] in _BESIDES
        else (),
        retractions=tuple(Retraction(r.note, r.position, r.quantity) for r in taken),
        tasks=_tasks(turn["say"], name),
        events=(Event("first_fire", None, None, f"{date}T20:20", note=name),) if "Lit it" in turn["say"] else (),
        remarks=(Remark(turn["say"], name),) if "piped" in turn["say"] else (),
    )


def _site(row: dict) -> str:
    return "site" if row["quantity"] == "outdoor_temp" else "main"


def _is(reading: Reading, row: dict) -> bool:
    return (reading.quantity, reading.value, reading.role) == (row["quantity"], row["value"], row["role"])


def _tasks(say: str, note: str) -> tuple[Task, ...]:
    if say == "Strap's on now.":
        return (Task("strap", status="done", note=note),)
    if "choir" in say:
        return (Task("first fire", waits_on="the choir going home", note=note),)
    return (Task("first fire", status="done", note=note),) if "Lit it" in say else ()


def start(dialogue: dict) -> JobHistory:
    if "after" in dialogue:
        return corpus_job(dialogue["job"], dialogue["after"][-1])
    return told_history(dialogue["job"], [])


@pytest.mark.parametrize("dialogue", DIALOGUES, ids=lambda dialogue: dialogue["id"])
def test_every_turn_of_the_dialogue_is_met(dialogue: dict):
    job, date = dialogue["job"], dialogue["date"]
    history, focus = start(dialogue), None
    for number, turn in enumerate(dialogue["turns"]):
        if is_question(turn["say"]):
            answer, focus = ask(turn["say"], {job: history}, job, focus, date)
            assert isinstance(focus, Focus)
            said = answer.say
        else:
            note = spoken(turn, number, date, history)
            before = history.latest or JobLog(Job(job))
            now = after(before, note)
            said = reply(note, before, now)
            history = JobHistory((*history.notes, note), (*history.logs, now))
        check(turn["expect"], said, history.latest)


def check(expect: dict, said: str, log: JobLog) -> None:
    for entry in expect.get("reply_contains", ()):
        assert any(choice.lower() in said.lower() for choice in entry.split("|")), said
    if expect.get("reply_number"):
        assert says_number(said, expect["reply_number"]["value"], expect["reply_number"]["plus_minus"]), said
    elif "reply_number" in expect:
        assert not states_number(said), said
    verdict = expect.get("verdict_after")
    if verdict:
        system = verdict.get("system", "main")
        assert any((v.about, v.status, v.system) == (verdict["about"], verdict["status"], system) for v in log.verdicts)


def test_a_question_told_as_a_note_changes_nothing_in_the_history():
    history = corpus_job("print-shop")
    asked = Note("q1", "2026-05-20", "was the charge in range?", questions=("was the charge in range?",))
    later = JobHistory((*history.notes, asked), (*history.logs, replace(history.latest)))
    assert later.visits() == history.visits()
    assert later.last_telling() == history.last_telling()

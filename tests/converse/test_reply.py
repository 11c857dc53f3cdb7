"""The spoken answer after a note: everything heard, what matters most, one question, and no number out of nothing."""

from __future__ import annotations

import re

import pytest

from assistant.converse import reply
from assistant.records import Event, Job, JobLog, Note, Reading, Remark, Retraction, Task
from tests.converse.histories import NOTES, after, corpus_job, numbers_in

EMPTY = JobLog(Job("test"))


def reply_to(row: dict) -> tuple[str, JobLog]:
    told = corpus_job(row["job"], row["id"])
    before = told.logs[-2] if len(told.logs) > 1 else JobLog(Job(row["job"]))
    return reply(told.notes[-1], before, told.latest), told.latest


@pytest.mark.parametrize("row", NOTES, ids=lambda row: row["id"])
def test_every_value_of_the_note_is_audible(row: dict):
    said, _ = reply_to(row)
    spoken = said.replace("-1/8", ".125").replace("7/8", "0.875").replace("3/8", "0.375").replace("3/4", "0.75")
    heard = numbers_in(spoken)
    for reading in corpus_job(row["job"], row["id"]).notes[-1].readings:
        if reading.status == "retracted" or (reading.unit == "lb" and reading.value % 1):
            continue  # a slip is not read back, and a weight is read back in pounds and ounces
        wanted = [reading.low, reading.high] if reading.low is not None else [reading.value]
        assert all(any(abs(number - value) < 0.005 for number in heard) for value in wanted), (reading, said)


@pytest.mark.parametrize("row", NOTES, ids=lambda row: row["id"])
def test_no_number_is_spoken_that_was_neither_said_nor_worked_out(row: dict):
    said, log = reply_to(row)
    known = [v for r in log.readings for v in (r.value, r.low, r.high) if v is not None]
    known += [c.value for c in log.calculations]
    known += [v for x in log.verdicts for v in (x.value, x.target, x.tolerance) if v is not None]
    known += [
        n for run in log.duct_runs for n in (run.count, run.length_ft, run.airflow_cfm, *run.size_in) if n is not None
    ]
    known += [float(n) for r in log.readings for n in re.findall(r"^\d+", r.qualifier or "")]
    known += [float(n) for a in log.agreements for n in re.findall(r"\d+", a.scope)]
    known += [a.price for a in log.agreements if a.price is not None]
    known += [w for work in log.labour for w in (work.hours, work.days) if w is not None]
    reasons = " ".join(
        [*(v.because for v in log.verdicts), *(c.text for c in log.concerns), *(a.text for a in log.asks)]
    )
    dates = " ".join([*(e.when or "" for e in log.events), *(t.due or "" for t in log.tasks)])
    worded = numbers_in(reasons.replace("°F", "").replace("%", "")) + [float(n) for n in re.findall(r"\d+", dates)]
    pounds = [
        n
        for r in log.readings
        if r.unit == "lb"
        for n in (r.value // 1, round(r.value % 1 * 16, 2), round(r.value * 16, 2))
    ]
    for number in numbers_in(re.sub(r"\b\d-?1?/\d+\b", "", said)):
        assert any(abs(number - each) < 0.06 for each in [*known, *worded, *pounds]), (number, said)


@pytest.mark.parametrize("row", NOTES, ids=lambda row: row["id"])
def test_the_answer_is_short(row: dict):
    said, _ = reply_to(row)
    assert len(re.findall(r"[.?!](?:\s|$)", said)) <= 5
    assert len(said.split()) <= 75


def note(text: str = "", **said) -> Note:
    return Note("n1", "2026-05-12", text, **said)


def test_a_stop_stands_before_everything():
    said, _ = reply_to(next(row for row in NOTES if row["id"] == "d043"))
    assert said.startswith("Stop. Carbon monoxide in the flue is high: 520 ppm")


def test_a_changed_finding_is_told_with_its_target():
    said, _ = reply_to(next(row for row in NOTES if row["id"] == "d015"))
    assert "subcool 11.6, calls for 12, in range" in said


def test_a_charge_on_short_air_is_called_provisional():
    said, _ = reply_to(next(row for row in NOTES if row["id"] == "d003"))
    assert "provisional because the airflow is short" in said


def test_what_is_taken_back_is_named_with_its_value():
    first = note(readings=(Reading("suction_line_temp", 56, "degF", note="n1", position=4),))
    before = after(EMPTY, first)
    undo = Note("n2", "2026-05-12", "scratch that", retractions=(Retraction("n1", 4, "suction_line_temp"),))
    assert reply(undo, before, after(before, undo)).startswith("Scratched the suction line, 56.") or (
        "Scratched the suction line 56" in reply(undo, before, after(before, undo))
    )


def test_a_value_that_cannot_be_is_asked_about():
    odd = Reading("return_air_temp", 704, "degF", note="n1", status="doubtful", doubt="value_implausible")
    said = reply(note(readings=(odd,)), EMPTY, EMPTY)
    assert "704" in said
    assert said.endswith("What is it?")


def test_a_unit_that_cannot_be_is_asked_about_with_the_unit():
    odd = Reading("suction_line_temp", 55, "psi", note="n1", status="doubtful", doubt="unit_mismatch")
    said = reply(note(readings=(odd,)), EMPTY, EMPTY)
    assert "55 psi" in said
    assert "suction line" in said


def test_a_note_without_values_says_what_was_kept():
    done = note(events=(Event("inspection", "gas", "passed"),), tasks=(Task("take the bag off", "2026-05-12"),))
    said = reply(done, EMPTY, after(EMPTY, done))
    assert "gas inspection passed" in said
    assert "take the bag off, Tuesday May 12" in said


def test_a_remark_is_kept_and_said_so():
    said = reply(note("lunch was fine", remarks=(Remark("lunch was fine", "n1"),)), EMPTY, EMPTY)
    assert "wrote that down" in said


def test_silence_is_answered_too():
    assert reply(note(""), EMPTY, EMPTY)

"""The lists of all jobs: right after every change, and not read anew for what did not change."""

from datetime import date

import pytest

from api.all_jobs import AllJobs
from assistant import Assistant

TODAY = "2026-06-15"


@pytest.fixture
def assistant():
    with Assistant(home=None) as assistant:
        for job in ("bakery", "print shop"):
            assistant.tell("Head pressure is 345. Order a filter by tomorrow.", job=job, date=date(2026, 5, 12))
        yield assistant


def counted(assistant, monkeypatch):
    read = []
    log = assistant.job_log
    monkeypatch.setattr(assistant, "job_log", lambda job: read.append(job) or log(job))
    return read


def test_a_job_is_read_again_only_when_its_log_changed(assistant, monkeypatch):
    every, read = AllJobs(assistant), counted(assistant, monkeypatch)
    every.standings(TODAY)
    assert sorted(read) == ["bakery", "print shop"]
    every.standings(TODAY)
    every.tasks(TODAY)
    assert len(read) == 2
    assistant.tell("The gas inspection failed.", job="bakery", date=date(2026, 5, 12))
    found = {each.job: [m.kind for m in each.matters] for each in every.standings(TODAY)}
    assert read[2:] == ["bakery"]
    assert "inspection" in found["bakery"] and "inspection" not in found["print shop"]


def test_a_correction_is_seen_at_once(assistant):
    every = AllJobs(assistant)
    note = assistant.tell("Liquid line is 704.", job="bakery", date=date(2026, 5, 13)).note["id"]

    def doubts():
        return [m for each in every.standings(TODAY) for m in each.matters if m.kind == "doubt"]

    assert len(doubts()) == 1
    assistant.correct(note, quantity="liquid_line_temp", said="Liquid line is 704", action="discard", by="Ana")
    assert doubts() == []


def test_what_was_not_due_yesterday_is_overdue_today(assistant):
    every = AllJobs(assistant)
    assert {row.group for row in every.tasks("2026-05-12")} == {"to come"}
    assert {row.group for row in every.tasks(TODAY)} == {"overdue"}


def test_tasks_of_one_job_are_its_own(assistant):
    assert {row.job for row in AllJobs(assistant).tasks(TODAY, "bakery")} == {"bakery"}
    assert AllJobs(assistant).tasks(TODAY, "nowhere") == []

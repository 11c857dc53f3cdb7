"""A job's version changes with its log, and with nothing else."""

from datetime import date

import pytest

from assistant import Assistant


@pytest.fixture
def assistant():
    with Assistant(home=None) as assistant:
        yield assistant


def told(assistant, words="Head pressure is 345.", job="print shop"):
    return assistant.tell(words, job=job, date=date(2026, 5, 12)).note["id"]


def test_a_note_changes_its_own_job_alone(assistant):
    told(assistant)
    told(assistant, job="bakery")
    before = assistant.versions()
    told(assistant, "Suction is 118.")
    after = assistant.versions()
    assert after["print shop"] != before["print shop"] and after["bakery"] == before["bakery"]


def test_the_same_note_again_changes_nothing(assistant):
    told(assistant)
    before = assistant.versions()
    told(assistant)
    assert assistant.versions() == before


def test_a_correction_changes_it(assistant):
    note = told(assistant)
    before = assistant.versions()
    assistant.correct(note, quantity="liquid_pressure", said="Head pressure is 345", action="confirm", by="Ana")
    assert assistant.versions() != before


def test_the_job_told_last_comes_first_and_one_without_a_note_is_there(assistant):
    told(assistant)
    told(assistant, job="bakery")
    assistant.open_job("new place")
    assert list(assistant.versions()) == ["bakery", "print shop", "new place"]
    assert assistant.versions()["new place"] == ""


def test_a_note_of_an_earlier_day_changes_it_too(assistant):
    told(assistant)
    before = assistant.versions()
    assistant.tell("Suction is 118.", job="print shop", date=date(2026, 5, 1))
    assert assistant.versions() != before

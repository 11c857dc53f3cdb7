"""The proposal: what, why by the readings, and no price that nobody said."""

from __future__ import annotations

from assistant.converse import JobHistory
from assistant.papers import proposal_text
from tests.founded import unfounded
from tests.papers.telling import day, demo, told


def test_the_demo_proposal_gives_scope_price_answer_and_reasons_then_and_now():
    text = proposal_text(demo())
    assert "1. One more 16 inch flex return (studio)" in text
    assert "Approved by the owner on August 27, 2025." in text
    assert "Price: $1,140, as it was told." in text
    why, since = text.split("Since then:")
    assert "1230 cfm on 4 ton is 307.5 cfm per ton, below 350" in why and "370 cfm short" in why
    assert "1610 cfm" not in why and "1610 cfm at the return" in since
    assert "upstairs" not in text.lower()


def test_no_number_of_the_demo_proposal_is_in_no_record():
    assert unfounded(proposal_text(demo()), demo(), also={1.0}) == []  # 1: the number of the item


def test_without_a_price_said_there_is_none():
    text = proposal_text(
        told(
            (day("2026-05-12"), "Three ton, R-410A. Return airflow is 900 cfm. I quoted the owner for a bigger return.")
        )
    )
    assert "Price: not quoted yet." in text and "$" not in text
    assert "Offered to the owner on May 12, 2026; not answered yet." in text


def test_declined_work_is_not_proposed_again():
    text = proposal_text(
        told(
            (day("2026-05-12"), "Quoted the owner eight hundred dollars for a bigger return."),
            (day("2026-05-13"), "Owner said no to the bigger return."),
        )
    )
    assert "800" not in text and "No extra work was offered, or it was declined." in text


def test_work_that_no_reading_speaks_for_says_so():
    text = proposal_text(told((day("2026-05-12"), "Quoted the owner 300 dollars for a surge protector.")))
    assert "Why: no reading that was told says so." in text


def test_a_job_of_nothing_has_no_proposal():
    assert proposal_text(JobHistory((), ())) == "Nothing has been told of this job yet.\n"


def test_lines_are_short_enough_for_a_letter():
    assert max(map(len, proposal_text(demo()).splitlines())) <= 92

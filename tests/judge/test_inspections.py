"""Inspections and agreements: the last word of each trade, and of each piece of work, counts."""

import pytest

from assistant.records import Agreement, Event
from tests.judge.jobs import r, told


def inspection(trade, outcome, when=None):
    return Event("inspection", trade, outcome, when)


def test_failed_stays_failed_until_the_same_trade_passes():
    job = told(inspection("electrical", "failed"))
    assert "inspection_failed" in job.tell(inspection("gas", "passed"), date="2026-06-01").codes()
    assert "inspection_failed" not in job.tell(inspection("electrical", "passed"), date="2026-06-02").codes()


def test_set_for_a_day_to_come_is_open_and_names_the_day():
    job = told(inspection("sheet_metal", "scheduled", "2026-05-20T10:00"))
    assert job.concern("inspection_open").text == ("The sheet metal inspection is still open, set for 20 May at 10:00.")


def test_past_its_day_it_is_still_open_and_says_that_no_result_was_heard():
    job = told(inspection("gas", "scheduled", "2026-05-20")).tell(r("control_voltage", 25), date="2026-05-25")
    assert "no result was heard" in job.concern("inspection_open").text


def test_a_partial_pass_leaves_it_open():
    assert "in part" in told(inspection("mechanical", "partial")).concern("inspection_open").text


def test_a_day_without_a_result_is_a_day_that_was_set():
    assert "inspection_open" in told(inspection("gas", None, "2026-06-01")).codes()


def test_failed_and_set_again_in_one_note_is_both():
    job = told(inspection("gas", "failed"), inspection("gas", "scheduled", "2026-06-01"))
    assert {"inspection_failed", "inspection_open"} <= job.codes()


def test_a_pass_that_names_no_trade_closes_the_only_open_one():
    assert told(inspection("gas", "failed")).tell(inspection(None, "passed")).codes() == set()
    two = told(inspection("gas", "failed"), inspection("electrical", "failed")).tell(inspection(None, "passed"))
    assert "inspection_failed" in two.codes()


def test_a_permit_is_not_an_inspection():
    assert told(Event("permit", "gas", "applied"), Event("permit", "electrical", "posted")).codes() == set()


@pytest.mark.parametrize(
    ("status", "open_"), [("quoted", True), ("pending", True), ("approved", False), ("declined", False)]
)
def test_work_offered_is_open_until_it_is_answered(status, open_):
    job = told(Agreement("second return", by="owner", status=status, price=900))
    assert ("approval_pending" in job.codes()) == open_


def test_a_later_answer_closes_the_earlier_offer():
    job = told(Agreement("Second return", status="pending"), Agreement("second return", status="approved"))
    assert "approval_pending" not in job.codes()
    both = told(Agreement("second return", status="approved"), Agreement("humidifier", status="pending"))
    assert "humidifier" in both.concern("approval_pending").text

"""Total external static above 0.5 inH2O, or above the rating where one was spoken, is high (contract)."""

import pytest

from assistant.records import Event, Remark
from tests.judge.jobs import r, rated, told


@pytest.mark.parametrize(
    ("total", "rating", "status"),
    [(0.5, None, "in_range"), (0.51, None, "high"), (0.8, 0.8, "in_range"), (0.81, 0.8, "high"), (0.4, 0.3, "high")],
)
def test_total_static(total, rating, status):
    job = told(r("total_static_pressure", total), *([rated("total_static_pressure", rating)] if rating else []))
    assert job.verdict("static").status == status
    assert ("static_pressure_high" in job.codes()) == (status == "high")


def test_the_two_sides_are_added():
    job = told(r("supply_static_pressure", 0.2), r("return_static_pressure", 0.3))
    assert job.verdict("static").status == "in_range"
    assert told(r("supply_static_pressure", 0.25), r("return_static_pressure", 0.3)).verdict("static").status == "high"


def test_before_and_after_is_said():
    job = told(r("total_static_pressure", 0.82)).tell(r("total_static_pressure", 0.47), date="2026-06-06")
    assert job.verdict("static").because.endswith("it was 0.82 on 12 May")


def test_a_total_that_does_not_add_up_is_a_conflict():
    parts = (r("supply_static_pressure", 0.2), r("return_static_pressure", 0.3))
    assert "value_conflict" not in told(*parts, r("total_static_pressure", 0.52)).codes()
    assert "value_conflict" in told(*parts, r("total_static_pressure", 0.7)).codes()


def test_a_tight_filter_is_named_until_it_is_changed():
    job = told(r("filter_pressure_drop", 0.3))
    assert "filter_dirty" in job.codes()
    assert "filter_dirty" not in job.tell(Event("part_replaced", what="filter")).codes()


def test_a_filter_is_let_be_once_static_came_back_in_range():
    job = told(r("filter_pressure_drop", 0.3), r("total_static_pressure", 0.8))
    assert "filter_dirty" not in job.tell(r("total_static_pressure", 0.45), date="2026-06-01").codes()


def test_changing_the_drier_is_not_changing_the_filter():
    job = told(r("filter_pressure_drop", 0.3)).tell(Event("part_replaced", what="filter drier"))
    assert "filter_dirty" in job.codes()


def test_a_filter_that_was_seen_to_be_dirty():
    assert "filter_dirty" in told(Event("failure_found", what="plugged filter")).codes()
    assert "filter_dirty" in told(Remark("that filter was caked, nobody has touched it in years")).codes()
    assert "filter_dirty" not in told(Remark("the filter is not dirty")).codes()
    assert "filter_dirty" not in told(Remark("the filter drier is plugged")).codes()

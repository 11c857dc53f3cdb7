"""Return and supply against the tonnage, at 400 cfm per ton wanted and 350 the least (common practice; contract)."""

import pytest

from assistant.records import DuctRun, Equipment, Event, Remark, Task
from tests.judge.jobs import r, target, told

UNIT = Equipment(cooling_capacity=3.5)


@pytest.mark.parametrize(("side", "code"), [("return", "return_undersized"), ("supply", "supply_undersized")])
@pytest.mark.parametrize(("cfm", "status"), [(900, "low"), (1224, "low"), (1225, "in_range"), (1500, "in_range")])
def test_a_side_is_judged_by_what_it_carries(side, code, cfm, status):
    job = told(UNIT, r(f"{side}_airflow", cfm))
    assert job.verdict(f"{side}_duct").status == status
    assert (code in job.codes()) == (status == "low")


def test_the_shortfall_is_counted_to_400_a_ton():
    # three and a half tons want 1400; 950 is 450 short
    assert "450 cfm short" in told(UNIT, r("return_airflow", 950)).verdict("return_duct").because


def test_the_shortfall_is_counted_to_what_was_asked_for():
    job = told(UNIT, r("return_airflow", 950), target("target_airflow_per_ton", 350))
    assert "275 cfm short" in job.verdict("return_duct").because


def test_one_register_is_not_the_supply():
    assert "supply_duct" not in told(UNIT, r("supply_airflow", 85)).abouts()


def test_without_tons_the_return_is_unknown():
    assert told(r("return_airflow", 900)).verdict("return_duct").needs == ("cooling_capacity",)


def test_an_added_run_has_to_be_measured_before_the_return_is_called_good_or_bad():
    job = told(UNIT, r("return_airflow", 900)).tell(DuctRun("return", size_in=(14.0,), status="added"))
    assert job.verdict("return_duct").status == "unknown"
    assert "return_undersized" not in job.codes()
    assert job.tell(r("return_airflow", 1390)).verdict("return_duct").status == "in_range"


def test_the_runs_that_were_named_stand_as_evidence():
    job = told(UNIT, DuctRun("return", 2, size_in=(12.0,), material="flex"), r("return_airflow", 900))
    assert "two 12 in flex return" in job.concern("return_undersized").because


@pytest.mark.parametrize(
    "sign",
    [
        Task("get duct wrap on the trunk"),
        Event("failure_found", what="trunk is sweating"),
        Remark("the supply boot is sweating in the crawl"),
    ],
)
def test_a_duct_that_sweats_is_kept_in_view_until_it_is_wrapped(sign):
    job = told(UNIT, sign)
    assert "duct_sweating_risk" in job.codes()
    job.tell(Task("get duct wrap on the trunk", status="done"))
    assert "duct_sweating_risk" not in job.codes()


def test_a_duct_that_does_not_sweat_is_no_concern():
    assert "duct_sweating_risk" not in told(UNIT, Remark("nothing is sweating, not a drop")).codes()

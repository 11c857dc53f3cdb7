"""Air before charge. Below 350 cfm per ton is low; it carries over until it is measured or mended (contract)."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.records import DuctRun, Equipment, Event, Task
from tests.judge.jobs import Told, r, target, told

UNIT = Equipment(refrigerant="R-410A", metering_device="eev", cooling_capacity=4.0)
CHARGE = (r("liquid_pressure", 365), r("liquid_line_temp", 100), target("subcooling", 10))  # 9.7 °F, in range
RUN = DuctRun("return", size_in=(14.0,), material="flex", status="added")


def visit(job: Told, number: int, *items):
    return job.tell(*items, date=f"2026-06-{number:02}")


@pytest.mark.parametrize(
    ("cfm", "status"), [(1399, "low"), (1400, "in_range"), (1600, "in_range"), (1800, "in_range"), (1801, "high")]
)
def test_350_to_450_per_ton_is_in_range(cfm, status):
    assert told(UNIT, r("system_airflow", cfm)).verdict("airflow").status == status


def test_more_air_was_asked_for_so_it_is_not_high():
    job = told(UNIT, r("system_airflow", 1990), target("target_airflow_per_ton", 500))
    assert job.verdict("airflow").status == "in_range"


def test_airflow_without_a_tonnage_asks_for_it():
    job = told(Equipment(refrigerant="R-32"), r("system_airflow", 900))
    assert job.verdict("airflow").needs == ("cooling_capacity",)


def test_airflow_never_measured_does_not_make_the_charge_provisional_but_is_asked_for():
    job = told(UNIT, *CHARGE)
    assert job.verdict("charge").status == "in_range"
    assert job.asks() == ["system_airflow"]
    assert "the air was not measured" in job.verdict("charge").because


def test_airflow_is_not_asked_for_where_no_charge_is_checked():
    assert told(UNIT, r("control_voltage", 25)).asks() == []


@pytest.mark.parametrize("where", ["system_airflow", "return_airflow"])
def test_short_air_makes_the_charge_provisional_and_keeps_the_finding(where):
    job = told(UNIT, *CHARGE, r(where, 1200))
    assert (job.verdict("charge").status, job.verdict("charge").finding) == ("provisional", "in_range")
    assert {"airflow_low", "charge_provisional"} <= job.codes()
    assert not {"charge_low", "charge_high", "charge_unverified"} & job.codes()


def test_a_sum_of_supply_registers_is_no_measure_of_the_systems_air():
    job = told(UNIT, *CHARGE, r("supply_airflow", 1100))
    assert job.verdict("charge").status == "in_range"
    assert job.verdict("airflow").status == "unknown"


def test_a_guess_at_the_airflow_decides_nothing():
    job = told(UNIT, *CHARGE, r("system_airflow", 1100, "estimated"))
    assert job.verdict("charge").status == "in_range"


def test_short_air_carries_to_a_later_visit():
    job = visit(told(UNIT, r("system_airflow", 1200)), 1, *CHARGE)
    assert job.verdict("charge").status == "provisional"
    assert job.verdict("airflow").status == "low"


def test_short_on_an_earlier_visit_is_asked_for_again_once_the_charge_is_read():
    assert told(UNIT, r("system_airflow", 1200), *CHARGE).asks() == []
    assert visit(told(UNIT, r("system_airflow", 1200)), 1, *CHARGE).asks() == ["system_airflow"]


def test_once_mended_and_measured_the_old_check_still_waits_to_be_done_again():
    job = visit(told(UNIT, r("system_airflow", 1200), *CHARGE), 1, RUN, r("system_airflow", 1600))
    assert job.verdict("airflow").status == "in_range"
    assert (job.verdict("charge").status, job.verdict("charge").finding) == ("provisional", "in_range")
    assert "14 in flex return was added" in job.verdict("charge").because
    assert job.verdict("airflow").because.endswith("so +400 cfm")
    assert visit(job, 2, *CHARGE).verdict("charge").status == "in_range"


def test_checked_again_in_the_note_that_mends_it_counts_in_whatever_order_it_is_told():
    job = visit(told(UNIT, r("system_airflow", 1200), *CHARGE), 1, *CHARGE, r("system_airflow", 1600), RUN)
    assert job.verdict("charge").status == "in_range"


def test_mended_and_checked_again_counts_but_the_air_is_asked_for():
    job = visit(told(UNIT, r("system_airflow", 1200), *CHARGE), 1, RUN, *CHARGE)
    assert job.verdict("charge").status == "in_range"
    assert job.verdict("airflow").status == "unknown"
    assert "system_airflow" in job.asks()


def test_mended_but_still_short_is_still_short():
    job = visit(told(UNIT, r("system_airflow", 1200), *CHARGE), 1, RUN, r("system_airflow", 1300), *CHARGE)
    assert job.verdict("charge").status == "provisional"
    assert job.verdict("airflow").value == 325.0


def test_a_later_good_measurement_covers_the_readings_of_its_visit():
    job = visit(told(UNIT, r("system_airflow", 1200), *CHARGE), 1, *CHARGE)
    assert job.verdict("charge").status == "provisional"
    assert visit(job, 1, r("system_airflow", 1650)).verdict("charge").status == "in_range"


def test_on_one_visit_readings_from_before_the_air_came_back_do_not_count():
    job = told(UNIT, r("system_airflow", 1200), *CHARGE).tell(r("system_airflow", 1600))
    assert job.verdict("charge").status == "provisional"
    assert job.tell(*CHARGE).verdict("charge").status == "in_range"


def test_a_pressure_from_before_and_a_line_from_after_do_not_count_together():
    job = told(UNIT, r("system_airflow", 1200), *CHARGE).tell(r("system_airflow", 1600), r("liquid_line_temp", 100))
    assert job.verdict("charge").status == "provisional"


def test_in_one_note_the_order_of_telling_decides():
    before = told(UNIT, r("system_airflow", 1200), *CHARGE, r("system_airflow", 1600))
    after = told(UNIT, r("system_airflow", 1200), r("system_airflow", 1600), *CHARGE)
    assert before.verdict("charge").status == "provisional"
    assert after.verdict("charge").status == "in_range"


@pytest.mark.parametrize(
    "mend",
    [
        Event("part_replaced", what="return filter"),
        Event("part_replaced", what="blower wheel"),
        RUN,
        DuctRun("supply", size_in=(10.0,), status="added"),
    ],
)
def test_a_new_filter_blower_or_run_mends_the_air(mend):
    job = visit(told(UNIT, r("system_airflow", 1200), *CHARGE), 1, mend, *CHARGE)
    assert job.verdict("charge").status == "in_range"


@pytest.mark.parametrize(
    "other",
    [
        Event("part_replaced", what="filter drier"),
        Task("open up the return grille", status="done"),
        DuctRun("return", size_in=(14.0,), status="proposed"),
    ],
)
def test_a_drier_a_plan_or_a_task_without_a_day_does_not_mend_the_air(other):
    job = visit(told(UNIT, r("system_airflow", 1200), *CHARGE), 1, other, *CHARGE)
    assert job.verdict("charge").status == "provisional"


def test_static_brought_back_in_range_mends_the_air():
    job = visit(told(UNIT, r("total_static_pressure", 0.9), r("system_airflow", 1200)), 1,
                r("total_static_pressure", 0.45), *CHARGE)  # fmt: skip
    assert job.verdict("charge").status == "in_range"
    assert job.verdict("airflow").status == "unknown"


def test_where_system_and_return_were_both_measured_the_system_decides():
    job = told(UNIT, r("system_airflow", 1600), r("return_airflow", 1300), *CHARGE)
    assert job.verdict("airflow").status == "in_range"
    assert job.verdict("charge").status == "in_range"
    assert "return_undersized" in job.codes()


def test_short_air_on_one_system_says_nothing_of_the_other():
    front = Equipment("front", "R-410A", "txv", 4.0)
    back = Equipment("back", "R-410A", "txv", 4.0)
    job = told(
        front,
        back,
        r("system_airflow", 1100, system="front"),
        *(r(x.quantity, x.value, x.role, system=s) for x in CHARGE for s in ("front", "back")),
    )
    assert job.verdict("charge", "front").status == "provisional"
    assert job.verdict("charge", "back").status == "in_range"
    assert "airflow_low" not in job.codes("back")


@given(st.floats(200, 1399), st.floats(60, 140))
def test_on_short_air_the_charge_is_provisional_or_unknown_and_nobody_is_told_to_add(cfm, line):
    job = told(UNIT, r("system_airflow", cfm), r("liquid_pressure", 365), r("liquid_line_temp", line),
               r("suction_pressure", 110), r("suction_line_temp", 60), target("subcooling", 10))  # fmt: skip
    assert job.verdict("charge").status in ("provisional", "unknown")
    assert not {"charge_low", "charge_high"} & job.codes()
    words = " ".join(f"{c.text} {c.caution}" for c in job.log.concerns).lower()
    assert "add " not in words and "adding" not in words

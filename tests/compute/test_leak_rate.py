"""Leak rates, the rule of the day, and the facts of flammable refrigerants."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.compute import leak_rate
from assistant.compute.refrigerant import REFRIGERANTS
from assistant.errors import OutOfRange
from tests.compute.replay import job, reading


@pytest.mark.parametrize(("added", "charge", "days", "expected"), [(10, 100, 180, 20.3), (5, 60, 90, 33.8)])
def test_the_annualised_rate_is_the_worked_example(added, charge, days, expected):
    # evacuation_pressure_records.csv, 40 CFR 82.152 annualising method.
    assert leak_rate.annual_leak_rate(added, charge, days) == pytest.approx(expected, abs=0.05)


def test_no_more_than_a_year_is_counted():
    assert leak_rate.annual_leak_rate(10, 100, 800) == pytest.approx(10.0)
    assert leak_rate.rolling_leak_rate((4, 6), 100) == pytest.approx(10.0)


SUMMER = date(2026, 7, 1)
RULES = [
    # refrigerant, charge [lb], use, day, rule, threshold
    ("R-22", 60, "comfort_cooling", SUMMER, "ozone", 10),
    ("R-22", 60, "commercial_refrigeration", SUMMER, "ozone", 20),
    ("R-22", 60, "industrial_process", SUMMER, "ozone", 30),
    ("R-22", 49, "comfort_cooling", SUMMER, None, None),
    ("R-22", 60, "comfort_cooling", date(2020, 4, 9), None, None),
    ("R-410A", 60, "comfort_cooling", date(2025, 12, 31), None, None),
    ("R-410A", 60, "comfort_cooling", date(2026, 1, 1), "hfc", 10),
    ("R-404A", 15, "commercial_refrigeration", SUMMER, "hfc", 20),
    ("R-404A", 14.9, "commercial_refrigeration", SUMMER, None, None),
    ("R-410A", 30, "light_commercial", SUMMER, None, None),
    ("R-290", 20, "commercial_refrigeration", SUMMER, None, None),
]


@pytest.mark.parametrize(("refrigerant", "charge", "use", "day", "name", "threshold"), RULES)
def test_the_rule_is_the_one_in_force_on_the_jobs_date(refrigerant, charge, use, day, name, threshold):
    # 40 CFR 82.157 (50 lb, ozone-depleting only, from 10 April 2020); 89 FR 82682, 40 CFR 84.106 (15 lb, 2026).
    rule = leak_rate.leak_rule(refrigerant, charge, use, day)
    assert (rule and rule.name, rule and rule.threshold) == (name, threshold)


@given(st.sampled_from(REFRIGERANTS), st.floats(0.5, 49.9), st.dates(date(2020, 1, 1), date(2040, 1, 1)))
def test_a_house_is_never_told_it_must_repair(refrigerant, charge, day):
    assert leak_rate.leak_rule(refrigerant, charge, "residential", day) is None


@given(st.sampled_from([r for r in REFRIGERANTS if r != "R-22"]), st.floats(0.5, 5000))
def test_nor_is_any_house_under_the_hfc_rule(refrigerant, charge):
    assert leak_rate.leak_rule(refrigerant, charge, "residential", SUMMER) is None


def test_flammable_refrigerants_and_their_free_charge():
    # evacuation_pressure_records.csv: 6 x LFL, R-32 1.842 kg (4.06 lb), R-454B 1.776 kg (3.92 lb).
    assert leak_rate.free_charge("R-32") == pytest.approx(4.06, abs=0.005)
    assert leak_rate.free_charge("R-454B") == pytest.approx(3.92, abs=0.005)
    assert leak_rate.free_charge("R-410A") is None
    burns = [name for name in REFRIGERANTS if leak_rate.refrigerant_facts(name).flammable]
    assert burns == ["R-32", "R-290", "R-452B", "R-454B"]


@pytest.mark.parametrize(("kilograms", "expected"), [(1.843, 28.81), (2.0, 34.04), (3.0, 76.6)])
def test_the_smallest_room_for_r32(kilograms, expected):
    # Heat-pump installation manual citing IEC 60335-2-40:2018, released at 0.6 m. 1.84 kg is the free charge itself.
    area = leak_rate.minimum_room_area(kilograms * 2.20462, "R-32")
    assert area == pytest.approx(expected, rel=0.006)


def test_below_the_free_charge_any_room_will_do():
    assert leak_rate.minimum_room_area(3.5, "R-32") == 0


def test_the_ledger_adds_up_what_stands_for_each_system():
    log = job(
        reading("refrigerant_added", 1.375),
        reading("refrigerant_added", 0.5, note="n2"),
        reading("refrigerant_added", 9.0, status="retracted"),
        reading("refrigerant_recovered", 5.125, system="upstairs"),
        equipment={"refrigerant": "R-22"},
    )
    main, upstairs = leak_rate.refrigerant_ledger(log)
    assert (main.refrigerant, main.added, main.recovered, main.net) == ("R-22", 1.875, 0, 1.875)
    assert (upstairs.refrigerant, upstairs.net) == (None, -5.125)


def test_nonsense_is_refused():
    for wrong in (
        lambda: leak_rate.annual_leak_rate(5, 0, 90),
        lambda: leak_rate.annual_leak_rate(-5, 60, 90),
        lambda: leak_rate.annual_leak_rate(5, 60, 0),
        lambda: leak_rate.rolling_leak_rate((-1,), 60),
        lambda: leak_rate.leak_rule("R-22", 60, "boat", SUMMER),
        lambda: leak_rate.minimum_room_area(5, "R-410A"),
        lambda: leak_rate.free_charge("R-290"),
        lambda: leak_rate.minimum_room_area(5, "R-32", height=10),
    ):
        with pytest.raises(OutOfRange):
            wrong()

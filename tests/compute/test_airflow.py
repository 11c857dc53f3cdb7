"""Airflow, splits and the heat a rise carries, against printed values."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.compute import airflow
from assistant.compute.altitude import air_density_ratio
from assistant.errors import OutOfRange
from tests.compute.reference import row, rows

RISES = [r for r in rows("heat_gas_electrical.csv") if r["item"] == "temperature-rise airflow example"]


@pytest.mark.parametrize("example", RISES, ids=[r["inputs"] for r in RISES])
def test_airflow_from_the_rise_is_the_worked_example(example):
    heat, efficiency, rise = (float(part) for part in re.findall(r"[\d.]+", example["inputs"]))
    assert airflow.airflow_from_rise(heat * efficiency, rise) == pytest.approx(float(example["value"]), abs=1)


def test_example_10_input_80000_at_80_percent_and_50_of_rise():
    assert airflow.airflow_from_rise(64000, 50) == pytest.approx(1185, abs=1)
    assert air_density_ratio(5000) == pytest.approx(0.832, abs=0.001)


def test_airflow_from_the_rise_at_altitude():
    # heat_gas_electrical.csv: 80000 derated 4 %/1000 ft is 64000, at 0.80 and 50 F: 1139 cfm at 5000 ft.
    expected = float(row("heat_gas_electrical.csv", "temperature-rise airflow at 5000 ft")["value"])
    assert airflow.airflow_from_rise(64000 * 0.8, 50, altitude=5000) == pytest.approx(expected, abs=1.5)


def test_airflow_from_electric_heat_is_the_same_balance():
    # 240 V, 40 A is 9600 W or 32755 Btu/h; 30 F of rise by 1.08: 1011 cfm. Arithmetic.
    assert airflow.airflow_from_electric_heat(240, 40, 30) == pytest.approx(240 * 40 * 3.412 / (1.08 * 30))


def test_airflow_per_ton_target_and_shortfall():
    assert airflow.airflow_per_ton(1200, 4) == 300
    assert airflow.airflow_target(4) == 1600
    assert airflow.airflow_target(4, 350) == 1400
    assert airflow.airflow_shortfall(1200, 1600) == 400
    assert airflow.airflow_shortfall(1700, 1600) == 0


def test_face_velocity_of_the_prescriptive_return_grille():
    # California Residential Compliance Manual Table 4-10: 2.0 ton, 600 in2, 350 cfm/ton: 168 fpm.
    assert airflow.velocity(700, 600) == pytest.approx(168, abs=0.5)


def test_velocity_in_a_20_inch_duct_is_the_worked_example():
    # Friction chart example: 20 in, 4000 cfm, 1850 fpm read, 1833 by arithmetic.
    assert airflow.velocity(4000, math.pi / 4 * 20**2) == pytest.approx(1833, abs=1)


def test_velocity_pressure_at_4005_fpm_is_one_inch():
    assert airflow.velocity_pressure(4005) == pytest.approx(1.0)
    assert airflow.velocity_pressure(2002.5, altitude=5000) == pytest.approx(0.25 * 0.832, abs=0.001)


SPLITS = [
    (float(dry), float(wet), float(r["value"]))
    for r in rows("charge_rules.csv")
    for dry, wet in re.findall(r"target temperature split at return (\d+) F DB / (\d+) F WB", r["rule"])
]


@pytest.mark.parametrize(("dry", "wet", "expected"), SPLITS)
def test_the_target_split_is_the_recalled_cell(dry, wet, expected):
    # Both from memory of Table RA3.2-3, recalled apart: agreement is some evidence, not proof.
    assert airflow.target_temperature_split(dry, wet) == expected


def test_the_target_split_falls_smoothly_with_humidity():
    values = [airflow.target_temperature_split(75, wet) for wet in range(50, 75)]
    steps = [a - b for a, b in zip(values, values[1:], strict=False)]
    assert all(step > 0 for step in steps)
    assert all(b - a >= -0.15 for a, b in zip(steps, steps[1:], strict=False))


@pytest.mark.parametrize(("dry", "wet"), [(69, 60), (77, 60), (72, 49), (70, 74)])
def test_the_target_split_is_refused_outside_its_table(dry, wet):
    with pytest.raises(OutOfRange):
        airflow.target_temperature_split(dry, wet)


def test_nonsense_is_refused():
    for wrong in (
        lambda: airflow.airflow_per_ton(1200, 0),
        lambda: airflow.airflow_per_ton(-1, 3),
        lambda: airflow.airflow_from_rise(64000, 0),
        lambda: airflow.airflow_target(3, 0),
        lambda: airflow.velocity(100, 0),
        lambda: airflow.airflow_from_electric_heat(-240, 40, 30),
        lambda: airflow.velocity_pressure(-1),
    ):
        with pytest.raises(OutOfRange):
            wrong()


@given(st.floats(1, 5000), st.floats(0.5, 20), st.floats(100, 600))
def test_what_there_is_and_what_is_missing_make_the_target(moved, tons, per_ton):
    target = airflow.airflow_target(tons, per_ton)
    assert moved + airflow.airflow_shortfall(moved, target) == pytest.approx(max(moved, target))


@given(st.floats(1000, 200000), st.floats(1, 100), st.floats(0, 10000))
def test_airflow_by_rise_gives_its_heat_back(heat, rise, height):
    moved = airflow.airflow_from_rise(heat, rise, altitude=height)
    assert 1.08 * air_density_ratio(height) * moved * rise == pytest.approx(heat)


@given(st.floats(30, 150), st.floats(30, 150))
def test_a_rise_is_a_split_the_other_way(back, out):
    assert airflow.temperature_rise(back, out) == -airflow.temperature_split(back, out)

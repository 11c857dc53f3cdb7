"""Moist air against ASHRAE's examples and tables, by two libraries."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.compute import moist_air, sweating
from assistant.compute.altitude import atmosphere
from assistant.errors import OutOfRange
from tests.compute.reference import row, rows

_KELVIN = 255.3722222  # at 0 degF
PA = 6894.757


def test_example_14_air_at_100_and_65():
    # ASHRAE Handbook Fundamentals 2017 ch. 1 example 1, read from a chart: 1 percent.
    assert moist_air.humidity_ratio(100, 65) == pytest.approx(0.00523, rel=0.01)
    assert moist_air.enthalpy(100, 65) == pytest.approx(29.80, rel=0.01)
    assert moist_air.dew_point_from_wet_bulb(100, 65) == pytest.approx(40, abs=0.4)
    assert moist_air.relative_humidity(100, 65) == pytest.approx(13, abs=0.3)
    assert moist_air.specific_volume(100, 65) == pytest.approx(14.22, rel=0.01)


def test_humidity_ratio_of_the_spreadsheet_check():
    # psychrolib test suite: 86 F, 77 F wet bulb, 14.175 psia.
    assert moist_air.humidity_ratio(86, 77, atmosphere=14.175) == pytest.approx(0.018719, rel=0.001)


@pytest.mark.parametrize(("temp", "expected"), [(77, 40.576), (41, 15.699)])
def test_enthalpy_of_saturated_air_is_ashraes_table(temp, expected):
    # ASHRAE Handbook Fundamentals 2017 ch. 1 table 2.
    assert moist_air.enthalpy(temp, temp) == pytest.approx(expected, rel=0.003)


AIR = [r for r in rows("heat_gas_electrical.csv") if r["item"].startswith("moist air at")]


@pytest.mark.parametrize("computed", AIR, ids=[f"{r['item']} {r['inputs']}" for r in AIR])
def test_enthalpy_humidity_and_volume_are_the_computed_ones(computed):
    local = 12.228 if "5000" in computed["item"] else 14.696
    dry, wet = (float(part) for part in re.findall(r"(\d+) F", computed["inputs"]))
    enthalpy, ratio, volume = (float(part) for part in re.findall(r"[hWv] ([\d.]+)", computed["value"]))
    assert moist_air.enthalpy(dry, wet, atmosphere=local) == pytest.approx(enthalpy, abs=0.01)
    assert moist_air.humidity_ratio(dry, wet, atmosphere=local) == pytest.approx(ratio, abs=0.00001)
    assert moist_air.specific_volume(dry, wet, atmosphere=local) == pytest.approx(volume, abs=0.002)


@pytest.mark.parametrize("dry", [60.0, 75.0, 95.0])
@pytest.mark.parametrize("humidity", [20.0, 50.0, 80.0])
def test_dew_point_is_the_same_by_a_second_library(dry, humidity):
    # CoolProp's humid air (ASHRAE RP-1485 real-gas model) against psychrolib (ASHRAE ideal-gas correlations).
    from CoolProp.HumidAirProp import HAPropsSI

    second = HAPropsSI("D", "T", dry / 1.8 + _KELVIN, "P", 14.696 * PA, "R", humidity / 100)
    assert moist_air.dew_point(dry, humidity) == pytest.approx((second - _KELVIN) * 1.8, abs=0.1)


@pytest.mark.parametrize(("dry", "wet"), [(80.0, 67.0), (75.0, 63.0), (60.0, 58.0), (95.0, 75.0)])
@pytest.mark.parametrize("height", [0.0, 5000.0])
def test_wet_bulb_readings_are_the_same_by_a_second_library(dry, wet, height):
    from CoolProp.HumidAirProp import HAPropsSI

    local = atmosphere(height)
    state = ("T", dry / 1.8 + _KELVIN, "P", local * PA, "B", wet / 1.8 + _KELVIN)
    assert moist_air.humidity_ratio(dry, wet, atmosphere=local) == pytest.approx(HAPropsSI("W", *state), rel=0.01)
    second = (HAPropsSI("D", *state) - _KELVIN) * 1.8
    assert moist_air.dew_point_from_wet_bulb(dry, wet, atmosphere=local) == pytest.approx(second, abs=0.2)
    volume = HAPropsSI("V", *state) * 16.018463
    assert moist_air.specific_volume(dry, wet, atmosphere=local) == pytest.approx(volume, rel=0.002)


def test_total_capacity_at_sea_level_is_the_worked_one():
    # heat_gas_electrical.csv: 1200 cfm, 75/63 in, 57/55.5 out: 26736 by 4.5.
    assert moist_air.total_capacity(1200, 75, 63, 57, 55.5) == pytest.approx(26736, rel=0.005)


def test_total_capacity_at_altitude_is_not_overstated():
    # The same readings at 5000 ft: 24546 by true entering mass flow; a plain 4.5 gives a wrong 30401.
    ours = moist_air.total_capacity(1200, 75, 63, 57, 55.5, altitude=5000)
    assert ours == pytest.approx(24546, rel=0.035)
    assert row("heat_gas_electrical.csv", "total capacity, same readings at 5000 ft")["value"].startswith("30401")
    assert ours < 0.84 * 30401


def test_the_enthalpy_of_a_house_at_altitude():
    # heat_gas_electrical.csv: 75/63 air at 5000 ft has 31.20, not 28.43 Btu/lb.
    assert moist_air.enthalpy(75, 63, atmosphere=12.228) == pytest.approx(31.20, abs=0.02)
    assert moist_air.enthalpy(75, 63) == pytest.approx(28.43, abs=0.02)


def test_sensible_and_latent_make_the_total():
    total = moist_air.total_capacity(1200, 75, 63, 57, 55.5)
    sensible = moist_air.sensible_capacity(1200, 75, 57)
    assert sensible == pytest.approx(1.08 * 1200 * 18)
    assert sensible + moist_air.latent_capacity(1200, 75, 63, 57, 55.5) == pytest.approx(total)


def test_air_that_cannot_be_is_refused():
    for wrong in (
        lambda: moist_air.humidity_ratio(70, 75),
        lambda: moist_air.humidity_ratio(100, 40),
        lambda: moist_air.humidity_ratio(704, 60),
        lambda: moist_air.dew_point(75, 0),
        lambda: moist_air.dew_point(75, 101),
        lambda: moist_air.total_capacity(-5, 75, 63, 57, 55),
    ):
        with pytest.raises(OutOfRange):
            wrong()


@given(st.floats(40, 110), st.floats(1, 100))
def test_the_dew_point_is_never_above_the_air_and_meets_it_when_saturated(dry, humidity):
    assert moist_air.dew_point(dry, humidity) <= dry + 0.01
    assert moist_air.dew_point(dry, 100) == pytest.approx(dry, abs=0.01)


@given(st.floats(50, 100), st.floats(0, 20))
def test_dew_point_by_wet_bulb_and_by_humidity_are_the_same(dry, below):
    wet = dry - below * 0.5
    humidity = moist_air.relative_humidity(dry, wet)
    assert moist_air.dew_point(dry, min(humidity, 100)) == pytest.approx(
        moist_air.dew_point_from_wet_bulb(dry, wet), abs=0.05
    )


# ------------------------------------------------------------------ sweating


def test_a_bare_duct_in_a_hot_damp_attic_sweats_and_a_wrapped_one_does_not():
    # 55 F air, attic 95 F at 60 percent: dew point 79 F by psychrolib. R-8 leaves the surface within 4 F of the attic.
    assert moist_air.dew_point(95, 60) == pytest.approx(79, abs=0.5)
    assert sweating.sweat_margin(55, 95, 60) < 0
    assert sweating.sweat_margin(55, 95, 60, 8) > 0


def test_the_surface_divides_the_difference_like_the_resistances():
    # 0.68 outside, 0.2 inside, R-6 wrap: 40 F of difference leaves 40 x 0.68 / 6.88 = 3.95 F at the surface.
    assert sweating.surface_temp(55, 95, 6) == pytest.approx(95 - 40 * 0.68 / 6.88)


@given(st.floats(45, 65), st.floats(75, 130), st.floats(20, 95))
def test_the_wrap_needed_is_just_enough(supply, around, humidity):
    needed = sweating.wrap_needed(supply, around, humidity)
    if 0 < needed <= 20:
        assert sweating.sweat_margin(supply, around, humidity, needed) == pytest.approx(0, abs=1e-6)
    elif needed == 0:
        assert sweating.sweat_margin(supply, around, humidity) >= 0


def test_no_wrap_helps_in_saturated_air():
    with pytest.raises(OutOfRange, match="aturated"):
        sweating.wrap_needed(55, 80, 100)

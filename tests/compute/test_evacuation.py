"""Evacuation and the pressure test against makers' instructions and the ideal gas law."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.compute import evacuation, pressure_test
from assistant.compute.altitude import atmosphere
from assistant.errors import OutOfRange
from assistant.units import to_contract
from tests.compute.reference import rows


def test_the_rise_is_the_difference():
    assert evacuation.vacuum_rise(310, 390) == 80
    with pytest.raises(OutOfRange):
        evacuation.vacuum_rise(-5, 390)


@pytest.mark.parametrize(("microns", "boils"), [(5000, 34.2), (10000, 52.2), (20000, 71.8)])
def test_water_boils_at_the_printed_temperature(microns, boils):
    # evacuation_pressure_records.csv from CoolProp; ours goes by psychrolib: two routes.
    assert evacuation.water_boils_at(microns) == pytest.approx(boils, abs=0.1)


def test_water_boils_at_212_in_the_open_and_not_at_all_below_ice():
    assert evacuation.water_boils_at(760000) == pytest.approx(212, abs=0.05)
    with pytest.raises(OutOfRange):
        evacuation.water_boils_at(500)


def test_a_micron_is_a_millitorr():
    # 500 micron is 0.0197 inHg absolute; 23000 micron is 29.01 inHg of vacuum (outdoor-unit instructions).
    assert to_contract(0.0197, "inHg", "micron") == pytest.approx(500, rel=0.005)
    assert to_contract(29.92 - 29.01, "inHg", "micron") == pytest.approx(23000, rel=0.01)


@pytest.mark.parametrize(
    ("minutes", "microns", "meaning"),
    [
        # Ductless service manual graph: levels out under 1000 tight, 1000 to 2000 wet, keeps rising leak.
        ((0, 2, 5, 10), (300, 380, 420, 430), "tight"),
        ((0, 2, 5, 10), (300, 900, 1350, 1450), "moisture"),
        ((0, 2, 5, 10), (300, 900, 1800, 3400), "leak"),
        ((0, 10), (310, 320), "tight"),
    ],
)
def test_what_a_decay_curve_says(minutes, microns, meaning):
    assert evacuation.decay_meaning(minutes, microns) == meaning


def test_a_curve_of_one_point_or_out_of_order_is_refused():
    for minutes, microns in (((0,), (300,)), ((0, 5), (300,)), ((5, 0), (300, 400)), ((0, 5), (300, -1))):
        with pytest.raises(OutOfRange):
            evacuation.decay_meaning(minutes, microns)


NITROGEN = [r for r in rows("evacuation_pressure_records.csv") if r["item"] == "nitrogen test correction example"]


@pytest.mark.parametrize("example", NITROGEN, ids=[r["inputs"] for r in NITROGEN])
def test_nitrogen_follows_its_temperature(example):
    pressure, before, after = (float(part) for part in re.findall(r"(\d+)", example["inputs"]))
    assert pressure_test.expected_pressure(pressure, before, after) == pytest.approx(float(example["value"]), abs=0.06)


@pytest.mark.parametrize("example", NITROGEN, ids=[r["inputs"] for r in NITROGEN])
def test_real_nitrogen_moves_at_most_a_tenth_more_than_the_ideal_gas(example):
    # A second route: CoolProp's real nitrogen at constant density. At 500 psi the change is 9 percent larger.
    from CoolProp.CoolProp import PropsSI

    pressure, before, after = (float(part) for part in re.findall(r"(\d+)", example["inputs"]))
    kelvin = [(t + 459.67) / 1.8 for t in (before, after)]
    density = PropsSI("Dmass", "P", (pressure + 14.696) * 6894.757, "T", kelvin[0], "Nitrogen")
    real = PropsSI("P", "Dmass", density, "T", kelvin[1], "Nitrogen") / 6894.757 - 14.696
    change = pressure_test.expected_pressure(pressure, before, after) - pressure
    assert 1.0 < (real - pressure) / change < 1.1


def test_example_12_a_cooler_pipe_is_not_a_leak():
    assert pressure_test.expected_pressure(150, 80, 70) == pytest.approx(146.9, abs=0.1)
    assert abs(pressure_test.pressure_drop(150, 146.5, 80, 70)) < 0.5
    assert pressure_test.pressure_drop(150, 146.5) == 3.5


@pytest.mark.parametrize(("pressure", "each"), [(300, 0.59), (500, 0.97)])
def test_each_degree_costs_the_computed_pressure(pressure, each):
    assert pressure_test.drop_per_degree(pressure, 70) == pytest.approx(each, abs=0.006)


def test_what_cannot_be_is_refused():
    for wrong in (
        lambda: pressure_test.expected_pressure(5000, 70, 60),
        lambda: pressure_test.expected_pressure(300, 704, 60),
        lambda: pressure_test.pressure_drop(300, -5),
    ):
        with pytest.raises(OutOfRange):
            wrong()


temps = st.floats(0, 130)


@given(st.floats(50, 600), temps, temps, st.floats(0, 9000))
def test_warming_and_cooling_back_gives_the_same_pressure(pressure, before, after, height):
    air = atmosphere(height)
    there = pressure_test.expected_pressure(pressure, before, after, atmosphere=air)
    if 0 <= there <= 1200:
        assert pressure_test.expected_pressure(there, after, before, atmosphere=air) == pytest.approx(pressure)
    assert pressure_test.expected_pressure(pressure, before, before, atmosphere=air) == pytest.approx(pressure)


@given(st.floats(50, 600), temps, st.floats(0.1, 30))
def test_a_warmer_pipe_reads_more(pressure, temp, warmer):
    assert pressure_test.expected_pressure(pressure, temp, temp + warmer) > pressure

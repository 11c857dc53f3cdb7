"""Saturation against printed charts, against CoolProp, and against its own laws."""

from __future__ import annotations

import math
import subprocess
import sys

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.compute.altitude import SEA_LEVEL, air_density_ratio, atmosphere
from assistant.compute.refrigerant import (
    REFRIGERANTS,
    Fluid,
    absolute,
    canonical,
    liquid_density,
    pressure_range,
    saturation_pressure,
    saturation_slope,
    saturation_temp,
    saturation_temps,
)
from assistant.errors import OutOfRange, UnknownRefrigerant
from tests.compute.reference import rows

POINTS = rows("pt_points.csv")
# The producer table for R-407C bubble lies 0.5 to 1.15 degF above every modern model; the reference notes say so.
WIDER = {("R-407C", "bubble"): 1.2}


@pytest.mark.parametrize("row", POINTS, ids=[f"{r['refrigerant']}-{r['phase']}-{r['pressure_psig']}" for r in POINTS])
def test_saturation_is_where_it_was_printed(row):
    points = ("bubble", "dew") if row["phase"] == "saturation" else (row["phase"],)
    allowed = max(float(row["tolerance_f"]), WIDER.get((row["refrigerant"], row["phase"]), 0))
    for point in points:
        ours = saturation_temp(float(row["pressure_psig"]), row["refrigerant"], point=point)
        assert ours == pytest.approx(float(row["temp_f"]), abs=allowed), row["source"]


def test_r410a_boils_where_it_is_published_to():
    # Lemmon 2003: 221.71 K = -60.59 degF at 1 atmosphere. CoolProp uses the same equation, so this checks our
    # gauge and scale conversions.
    assert saturation_temp(0, "R-410A", point="bubble") == pytest.approx(-60.59, abs=0.2)


@pytest.mark.parametrize("refrigerant", REFRIGERANTS)
@pytest.mark.parametrize(("point", "quality"), [("bubble", 0), ("dew", 1)])
def test_the_table_is_within_a_hundredth_of_a_degree_of_coolprop_between_its_knots(refrigerant, point, quality):
    low, high = pressure_range(refrigerant)
    # 97 pressures that are no knots, rising by less than 6 percent so that CoolProp's mixtures can follow.
    pressures = [low * (high / low) ** ((place + 0.37) / 97.0) for place in range(97)]
    theirs = [state["temp"] for state in Fluid(refrigerant).along(pressures, quality)]
    ours = saturation_temps(numpy.array(pressures) - SEA_LEVEL, refrigerant, point=point)
    assert numpy.abs(ours - theirs).max() < 0.01


@pytest.mark.parametrize(
    ("blend", "mixture"), [("R-410A", "R410A.mix"), ("R-407C", "R407C.mix"), ("R-404A", "R404A.mix")]
)
@pytest.mark.parametrize("temp", [40.0, 100.0])
def test_pseudo_pure_and_full_mixture_models_agree(blend, mixture, temp):
    # A second route through CoolProp: the composition of ASHRAE 34 mixed from its parts, not one fitted fluid.
    from CoolProp import CoolProp

    state = CoolProp.AbstractState("HEOS", mixture)
    for point, quality in (("bubble", 0), ("dew", 1)):
        state.update(CoolProp.QT_INPUTS, quality, (temp + 459.67) / 1.8)
        psig = state.p() / 6894.757 - SEA_LEVEL
        assert saturation_temp(psig, blend, point=point) == pytest.approx(temp, abs=0.15)


ALTITUDE = [
    # charge_rules.csv, computed with CoolProp 8: refrigerant, psig, point, sea level, 5000 ft, 10000 ft
    ("R-410A", 118, "dew", 39.84, 38.75, 37.80),
    ("R-410A", 365, "bubble", 109.71, 109.22, 108.79),
    ("R-22", 68.5, "dew", 39.96, 38.24, 36.73),
    ("R-134a", 35, "dew", 39.95, 37.34, 35.02),
]


@pytest.mark.parametrize(("refrigerant", "psig", "point", "sea", "five", "ten"), ALTITUDE)
def test_thinner_air_means_a_lower_saturation_at_the_same_gauge(refrigerant, psig, point, sea, five, ten):
    for psia, expected in ((14.696, sea), (12.228, five), (10.106, ten)):
        ours = saturation_temp(psig, refrigerant, point=point, atmosphere=psia)
        assert ours == pytest.approx(expected, abs=0.02)


ATMOSPHERES = [r for r in rows("airflow_duct.csv") if r["item"].startswith("standard pressure and density ratio")]


@pytest.mark.parametrize("row", ATMOSPHERES, ids=[r["inputs"] for r in ATMOSPHERES])
def test_the_standard_atmosphere_is_the_printed_one(row):
    height = float(row["inputs"].removesuffix(" ft"))
    pressure, ratio = (float(part) for part in row["value"].split(" / "))
    # The printed 1000 ft row is 0.0023 psi off the table's own formula, the largest difference.
    assert atmosphere(height) == pytest.approx(pressure, abs=0.0025)
    assert air_density_ratio(height) == pytest.approx(ratio, abs=0.00025)


GLIDES = [
    # tests/reference, computed with CoolProp 8: cost of the wrong line [delta_degF]
    ("R-407C", 200, 9, 11),
    ("R-454B", 300, 1.9, 2.8),
    ("R-404A", 200, 0.5, 1.0),
    ("R-410A", 300, 0.1, 0.3),
    ("R-22", 200, -0.001, 0.001),
]


@pytest.mark.parametrize(("refrigerant", "psig", "least", "most"), GLIDES)
def test_the_wrong_line_would_cost_the_blends_glide(refrigerant, psig, least, most):
    glide = saturation_temp(psig, refrigerant, point="dew") - saturation_temp(psig, refrigerant, point="bubble")
    assert least <= glide <= most


BOILING = [
    # Boiling point at one atmosphere, bubble [degC], from memory of ASHRAE 34 and producers' data sheets.
    ("R-22", -40.8),
    ("R-32", -51.7),
    ("R-134a", -26.1),
    ("R-290", -42.1),
    ("R-404A", -46.2),
    ("R-407C", -43.6),
    ("R-448A", -45.9),
    ("R-449A", -46.0),
    ("R-452B", -51.0),
    ("R-513A", -29.2),
]


@pytest.mark.parametrize(("refrigerant", "celsius"), BOILING)
def test_every_refrigerant_boils_where_it_is_remembered_to(refrigerant, celsius):
    ours = saturation_temp(0, refrigerant, point="bubble")
    assert ours == pytest.approx(celsius * 1.8 + 32, abs=1.0)


def test_r454b_boils_where_its_fact_sheet_says():
    # Refrigerant fact sheet: normal boiling point, bubble, -50.9 degC.
    assert saturation_temp(0, "R-454B", point="bubble") == pytest.approx(-50.9 * 1.8 + 32, abs=0.5)


LIQUID_LINES = [r for r in rows("evacuation_pressure_records.csv") if r["item"].startswith("liquid-only line mass")]


@pytest.mark.parametrize("row", LIQUID_LINES, ids=[r["item"].split(",")[1].strip() for r in LIQUID_LINES])
def test_density_times_bore_is_the_computed_line_mass(row):
    # evacuation_pressure_records.csv: saturated liquid at 100 F, wall 0.030 and 0.032 in.
    refrigerant = row["item"].split(",")[1].strip()
    for size, wall, expected in zip(
        (0.25, 0.3125, 0.375, 0.5), (0.030, 0.032, 0.032, 0.032), row["value"].split(" / "), strict=True
    ):
        bore = math.pi / 4 * ((size - 2 * wall) / 12) ** 2
        assert bore * liquid_density(100, refrigerant) * 16 == pytest.approx(float(expected), abs=0.001)


@pytest.mark.parametrize("spoken", ["R-410A", "R410A", "410a", "r 410 a"])
def test_a_refrigerant_goes_by_any_spelling_of_its_number(spoken):
    assert canonical(spoken) == "R-410A"


def test_an_unknown_refrigerant_says_which_are_known():
    with pytest.raises(UnknownRefrigerant, match="R-454B"):
        saturation_temp(100, "R-11")


@pytest.mark.parametrize("pressure", [-14.0, 900.0, math.nan, math.inf])
def test_off_the_curve_is_refused_with_its_range(pressure):
    with pytest.raises(OutOfRange, match="psi"):
        saturation_temp(pressure, "R-410A")
    with pytest.raises(OutOfRange):
        saturation_temps(numpy.array([100.0, pressure]), "R-410A")


def test_a_point_that_is_neither_bubble_nor_dew_and_a_wrong_atmosphere_are_refused():
    with pytest.raises(OutOfRange, match="bubble or dew"):
        saturation_temp(100, "R-410A", point="middle")
    with pytest.raises(OutOfRange, match="tmosphere"):
        absolute(100, 147)
    with pytest.raises(OutOfRange):
        saturation_pressure(400, "R-410A")


# ------------------------------------------------------------------ laws

any_refrigerant = st.sampled_from(REFRIGERANTS)
point = st.sampled_from(("bubble", "dew"))
share = st.floats(0, 1)


def _between(refrigerant: str, at: float) -> float:
    low, high = pressure_range(refrigerant)
    return low * (high / low) ** at


@given(any_refrigerant, point, share, share)
def test_more_pressure_is_a_higher_saturation(refrigerant, which, one, other):
    first, second = sorted((_between(refrigerant, one), _between(refrigerant, other)))
    temps = [saturation_temp(p, refrigerant, point=which, gauge=False) for p in (first, second)]
    assert temps[0] <= temps[1]


@given(any_refrigerant, point, share)
def test_pressure_and_temperature_are_each_others_inverse(refrigerant, which, at):
    psia = _between(refrigerant, at)
    temp = saturation_temp(psia, refrigerant, point=which, gauge=False)
    assert saturation_pressure(temp, refrigerant, point=which, gauge=False) == pytest.approx(psia, rel=1e-9)


@given(any_refrigerant, share)
def test_the_dew_point_is_never_below_the_bubble_point(refrigerant, at):
    # R-513A is an azeotrope: its two lines touch, and CoolProp itself crosses them by less than a thousandth.
    psia = _between(refrigerant, at)
    bubble, dew = (saturation_temp(psia, refrigerant, point=which, gauge=False) for which in ("bubble", "dew"))
    assert dew >= bubble - 0.001


@given(any_refrigerant, point, st.floats(0, 300), st.floats(0, 10000))
def test_gauge_at_altitude_is_absolute_pressure(refrigerant, which, psig, height):
    air = atmosphere(height)
    by_gauge = saturation_temp(psig, refrigerant, point=which, atmosphere=air)
    assert by_gauge == pytest.approx(saturation_temp(psig + air, refrigerant, point=which, gauge=False), abs=1e-9)
    assert by_gauge <= saturation_temp(psig, refrigerant, point=which) + 1e-9


@given(any_refrigerant, point, st.lists(st.floats(0, 0.999), min_size=1, max_size=8))
def test_an_array_gives_what_each_alone_gives(refrigerant, which, at):
    gauges = [_between(refrigerant, share) - SEA_LEVEL for share in at]
    alone = [saturation_temp(gauge, refrigerant, point=which) for gauge in gauges]
    assert saturation_temps(numpy.array(gauges), refrigerant, point=which) == pytest.approx(alone, abs=1e-9)


@given(any_refrigerant, point, st.floats(0.05, 0.95))
def test_the_slope_is_what_a_small_step_climbs(refrigerant, which, at):
    gauge = _between(refrigerant, at) - SEA_LEVEL
    step = saturation_temp(gauge + 0.01, refrigerant, point=which) - saturation_temp(
        gauge - 0.01, refrigerant, point=which
    )
    assert saturation_slope(gauge, refrigerant, point=which) == pytest.approx(step / 0.02, rel=1e-3)


def test_saturation_needs_neither_coolprop_nor_numpy_nor_scipy():
    # Their import costs seconds, and every note is read with this.
    code = (
        "import sys; from assistant.compute.refrigerant import saturation_temp; saturation_temp(118, 'R-410A'); "
        "print(sorted({'CoolProp', 'numpy', 'scipy', 'fluids', 'psychrolib', 'pint'} & set(sys.modules)))"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"

"""The cycle, its capacity estimate and its chart."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from assistant.compute.cycle import capacity_from_power, cycle_points
from assistant.compute.ph_chart import ph_chart
from assistant.compute.refrigerant import REFRIGERANTS, saturation_pressure
from assistant.errors import OutOfRange


def _typical(refrigerant: str, **more: object):
    """45 F evaporating and 105 F condensing, 10 F of superheat and of subcooling."""
    suction = saturation_pressure(45, refrigerant, point="dew")
    head = saturation_pressure(105, refrigerant, point="bubble")
    return cycle_points(suction, 55, head, 95, refrigerant, **more)


def test_the_cycle_is_the_one_coolprop_computes_from_pure_inputs():
    # A second route: PropsSI's own entropy and enthalpy flashes instead of our search along the vapour.
    from CoolProp.CoolProp import PropsSI

    cycle = cycle_points(70, 55, 226, 100, "R-22", isentropic_efficiency=1.0)
    low, high = (70 + 14.696) * 6894.757, (226 + 14.696) * 6894.757
    h1 = PropsSI("Hmass", "P", low, "T", (55 + 459.67) / 1.8, "R22")
    s1 = PropsSI("Smass", "P", low, "T", (55 + 459.67) / 1.8, "R22")
    h2 = PropsSI("Hmass", "P", high, "Smass", s1, "R22")
    h3 = PropsSI("Hmass", "P", high, "T", (100 + 459.67) / 1.8, "R22")
    assert cycle.work == pytest.approx((h2 - h1) / 2326, rel=1e-4)
    assert cycle.evaporator_effect == pytest.approx((h1 - h3) / 2326, rel=1e-4)
    quality = PropsSI("Q", "P", low, "Hmass", h3, "R22")
    assert 0 < quality < 1
    assert cycle.evaporator_inlet.temp == pytest.approx(41.0, abs=0.3)  # R-22 at 70 psig, heat-pump guide


@pytest.mark.parametrize("refrigerant", REFRIGERANTS)
def test_energy_balances_and_no_cycle_beats_carnot(refrigerant):
    cycle = _typical(refrigerant)
    rejected = cycle.discharge.enthalpy - cycle.liquid.enthalpy
    assert rejected == pytest.approx(cycle.evaporator_effect + cycle.work)
    assert cycle.evaporator_inlet.enthalpy == pytest.approx(cycle.liquid.enthalpy)
    assert cycle.discharge.entropy > cycle.suction.entropy
    assert cycle.evaporator_inlet.entropy > cycle.liquid.entropy
    carnot = (45 + 459.67) / (105 - 45)
    assert 0.4 * carnot < cycle.cooling_performance < carnot


def test_a_measured_discharge_stands_in_for_the_efficiency():
    guessed = _typical("R-410A")
    measured = _typical("R-410A", discharge_line_temp=guessed.discharge.temp)
    assert measured.work == pytest.approx(guessed.work, rel=1e-3)


def test_three_tons_from_what_a_three_ton_compressor_draws():
    # 2.6 kW at 45/105 F is about what a 3 ton (36000 Btu/h) scroll draws; trade experience, no source: 15 percent.
    assert capacity_from_power(_typical("R-410A"), 2600) == pytest.approx(36000, rel=0.15)
    with pytest.raises(OutOfRange):
        capacity_from_power(_typical("R-410A"), 0)


def test_readings_no_cycle_could_have_are_refused():
    for wrong in (
        lambda: cycle_points(340, 55, 118, 95, "R-410A"),  # hoses swapped
        lambda: cycle_points(118, 35, 340, 95, "R-410A"),  # wet suction
        lambda: cycle_points(118, 52, 340, 110, "R-410A"),  # no subcooling
        lambda: cycle_points(118, 52, 340, 95, "R-410A", discharge_line_temp=90),
        lambda: cycle_points(118, 52, 340, 95, "R-410A", isentropic_efficiency=1.4),
        lambda: cycle_points(118, 52, 340, 20, "R-410A"),  # liquid colder than the evaporator
    ):
        with pytest.raises(OutOfRange):
            wrong()


@pytest.mark.parametrize("refrigerant", ["R-410A", "R-454B", "R-22"])
def test_the_chart_is_an_svg_with_the_four_points_inside_its_frame(refrigerant):
    root = ElementTree.fromstring(ph_chart(_typical(refrigerant), "Print shop <main> & more"))
    space = "{http://www.w3.org/2000/svg}"
    assert root.get("aria-label") == "Print shop <main> & more"
    circles = root.findall(f"{space}circle")
    assert len(circles) == 4
    assert all(0 < float(c.get("cx")) < 760 and 0 < float(c.get("cy")) < 520 for c in circles)
    words = " ".join(text.text for text in root.findall(f"{space}text"))
    assert all(name in words for name in ("suction", "discharge", "liquid", "evaporator inlet", "Btu/lb"))

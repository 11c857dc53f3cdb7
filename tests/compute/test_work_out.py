"""Which readings may feed a calculation, and what follows from them."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.compute import Instruments, work_out
from assistant.compute.charge import subcooling
from assistant.records import Calculation, Equipment, Job, JobLog
from assistant.units import quantities
from tests.compute.replay import job, reading

R410A = {"refrigerant": "R-410A", "metering_device": "txv"}


def found(log: JobLog, name: str, system: str = "main", qualifier: str | None = None) -> Calculation | None:
    mine = [c for c in work_out(log) if (c.name, c.system, c.qualifier) == (name, system, qualifier)]
    assert len(mine) <= 1
    return mine[0] if mine else None


# ------------------------------------------------------------------ what may be combined


def test_nothing_said_is_nothing_worked_out():
    assert work_out(JobLog(Job("empty"))) == ()
    assert work_out(job(equipment=R410A)) == ()


def test_mondays_pressure_is_never_used_with_wednesdays_temperature():
    log = job(reading("liquid_pressure", 338, note="n1"), reading("liquid_line_temp", 97, note="n2"), equipment=R410A)
    assert found(log, "subcooling") is None


def test_the_newest_visit_that_has_the_pair_wins():
    log = job(
        reading("liquid_pressure", 338, note="n1"),
        reading("liquid_line_temp", 94.5, note="n1"),
        reading("liquid_pressure", 350, note="n2"),
        equipment=R410A,
    )
    pair = found(log, "subcooling").inputs
    assert [(r.value, r.note) for r in pair] == [(338, "n1"), (94.5, "n1")]
    assert found(log, "liquid_saturation_temp").inputs[0].value == 350


@pytest.mark.parametrize(
    "change", [{"status": s} for s in ("doubtful", "retracted", "superseded")] + [{"role": "estimated"}]
)
def test_only_current_measured_readings_count(change):
    log = job(reading("liquid_pressure", 338, **change), reading("liquid_line_temp", 94.5), equipment=R410A)
    assert found(log, "subcooling") is None


def test_a_qualified_reading_is_not_the_plain_one():
    log = job(
        reading("liquid_pressure", 338), reading("liquid_line_temp", 83, qualifier="after the drier"), equipment=R410A
    )
    assert found(log, "subcooling") is None


def test_what_is_known_of_the_main_system_does_not_leak_to_another():
    log = job(
        reading("liquid_pressure", 338, system="upstairs"),
        reading("liquid_line_temp", 94.5, system="upstairs"),
        reading("cooling_capacity", 4, role="rated"),
        reading("system_airflow", 1200, system="upstairs"),
        equipment=R410A,
    )
    assert found(log, "subcooling", "upstairs") is None
    assert found(log, "airflow_per_ton", "upstairs") is None
    assert found(log, "airflow_target").value == 1600


def test_the_weather_is_every_systems():
    log = replace(
        job(
            reading("outdoor_temp", 90),
            reading("return_wet_bulb", 66, system="upstairs"),
            reading("return_wet_bulb", 62, system="unit 2"),
        ),
        equipment=(Equipment("upstairs", "R-22", "fixed_orifice"), Equipment("unit 2", "R-22", "capillary")),
    )
    # Split heat-pump installation guide, Table 4: 66/90 is 13, 62/90 is 5.
    assert found(log, "target_superheat", "upstairs").value == 13
    assert found(log, "target_superheat", "unit 2").value == 5


def test_an_expansion_valve_has_no_target_superheat_and_a_dash_has_none_either():
    wet, out = reading("return_wet_bulb", 66), reading("outdoor_temp", 90)
    assert found(job(wet, out, equipment=R410A), "target_superheat") is None
    orifice = {"refrigerant": "R-410A", "metering_device": "fixed_orifice"}
    assert found(job(replace(wet, value=60.0), out, equipment=orifice), "target_superheat") is None


def test_altitude_lowers_saturation_and_is_named_as_an_input():
    log = job(
        reading("altitude", 5000, role="estimated"),
        reading("liquid_pressure", 365),
        reading("liquid_line_temp", 100),
        equipment=R410A,
    )
    # charge_rules.csv: 365 psig R-410A is 109.22 F at 5000 ft.
    calculation = found(log, "subcooling")
    assert calculation.value == pytest.approx(9.22, abs=0.02)
    assert [r.quantity for r in calculation.inputs] == ["liquid_pressure", "liquid_line_temp", "altitude"]


def test_an_unknown_refrigerant_or_an_unsaid_one_gives_no_charge_numbers_and_no_error():
    pair = (reading("liquid_pressure", 338), reading("liquid_line_temp", 94.5))
    assert found(job(*pair), "subcooling") is None
    assert found(job(*pair, equipment={"refrigerant": "R-11"}), "subcooling") is None


def test_uncertainty_is_gauge_and_thermometer_together():
    log = job(reading("liquid_pressure", 338), reading("liquid_line_temp", 94.5), equipment=R410A)
    # 1 percent of 338 psi at 0.205 F/psi is 0.70 F; with 1 F of thermometer 1.22.
    (calculation,) = (c for c in work_out(log) if c.name == "subcooling")
    slope = (subcooling(341.38, 94.5, "R-410A") - subcooling(334.62, 94.5, "R-410A")) / 2
    assert calculation.plus_minus == pytest.approx(math.hypot(slope, 1.0), abs=0.01)
    fine = {c.name: c for c in work_out(log, Instruments(gauge_percent=0.5, thermometer_degF=0.2))}["subcooling"]
    assert fine.value == calculation.value
    assert fine.plus_minus == pytest.approx(math.hypot(slope / 2, 0.2), abs=0.01)


# ------------------------------------------------------------------ air


def test_old_airflow_stands_until_it_is_measured_again():
    log = job(
        reading("cooling_capacity", 4, role="rated", note="n1"),
        reading("return_airflow", 1200, note="n1"),
        reading("liquid_pressure", 350, note="n2"),
    )
    assert found(log, "airflow_per_ton").value == 300
    again = job(*log.readings, reading("return_airflow", 1620, note="n3"))
    assert found(again, "airflow_per_ton").value == 405
    assert found(again, "return_airflow_shortfall").value == 0


def test_airflow_is_the_systems_before_its_returns_and_never_its_registers():
    tons = reading("cooling_capacity", 3, role="rated")
    both = job(tons, reading("return_airflow", 1150), reading("system_airflow", 1170))
    assert found(both, "airflow_per_ton").value == 390
    registers = job(tons, reading("supply_airflow", 900))
    assert found(registers, "airflow_per_ton") is None
    assert found(registers, "supply_airflow_shortfall").value == 300


def test_the_target_is_the_speakers_when_one_was_said():
    log = job(
        reading("cooling_capacity", 3, role="rated"),
        reading("target_airflow_per_ton", 350, role="target"),
        reading("return_airflow", 1000),
    )
    assert found(log, "airflow_target").value == 1050
    assert found(log, "return_airflow_shortfall").value == 50


def test_a_guessed_size_serves_only_while_nothing_better_is_known():
    guess = reading("cooling_capacity", 2.5, role="estimated")
    air = reading("system_airflow", 1000)
    assert found(job(guess, air), "airflow_per_ton").value == 400
    assert found(job(guess, air, equipment={"cooling_capacity": 2.5}), "airflow_per_ton").inputs == (
        replace(air, position=1),
        guess,
    )
    assert found(job(guess, air, equipment={"cooling_capacity": 4.0}), "airflow_per_ton").value == 250
    assert found(job(guess, reading("cooling_capacity", 2, role="rated"), air), "airflow_per_ton").value == 500


def test_colder_supply_is_a_split_and_warmer_supply_a_rise_and_never_both():
    cooling = {c.name: c.value for c in work_out(job(reading("return_air_temp", 75), reading("supply_air_temp", 56)))}
    heating = {c.name: c.value for c in work_out(job(reading("return_air_temp", 68), reading("supply_air_temp", 121)))}
    assert cooling["temperature_split"] == 19
    assert heating["temperature_rise"] == 53
    assert "temperature_rise" not in cooling
    assert not {"temperature_split", "sensible_capacity"} & set(heating)


def test_a_value_spoken_on_a_later_visit_overtakes_the_calculation():
    parts = (reading("supply_static_pressure", 0.31), reading("return_static_pressure", 0.51))
    assert found(job(*parts), "total_static_pressure").value == pytest.approx(0.82)
    assert found(job(*parts, reading("total_static_pressure", 0.82)), "total_static_pressure")
    assert found(job(*parts, reading("total_static_pressure", 0.47, note="n2")), "total_static_pressure") is None


def test_capacity_from_wet_and_dry_bulbs():
    log = job(
        reading("system_airflow", 1200),
        reading("return_air_temp", 75),
        reading("return_wet_bulb", 63),
        reading("supply_air_temp", 57),
        reading("supply_wet_bulb", 55.5),
    )
    # heat_gas_electrical.csv: 26736 by the 4.5 factor; 1.08 x 1200 x 18 = 23328 of it sensible.
    assert found(log, "total_capacity").value == pytest.approx(26736, rel=0.005)
    assert found(log, "sensible_capacity").value == pytest.approx(23328)
    assert found(log, "latent_capacity").value == pytest.approx(26736 - 23328, rel=0.05)
    assert found(log, "dew_point").value == pytest.approx(55.9, abs=0.3)


def test_dew_point_from_humidity():
    log = job(reading("return_air_temp", 75), reading("relative_humidity", 50))
    # 55.1 F, ASHRAE psychrometric chart 1 reading and psychrolib.
    assert found(log, "dew_point").value == pytest.approx(55.1, abs=0.2)


# ------------------------------------------------------------------ by weight


def test_total_charge_of_a_new_system_and_of_an_empty_one():
    pulled = (reading("vacuum_level", 280, status="superseded"), reading("vacuum_level", 460))
    factory = reading("factory_charge", 7, role="rated")
    assert found(job(factory, *pulled, reading("refrigerant_added", 0.8125)), "total_charge").value == pytest.approx(
        7.8125
    )
    assert found(job(factory, *pulled, reading("refrigerant_added", 7.0)), "total_charge").value == 7.0


def test_an_addition_to_a_running_system_has_no_known_total():
    assert found(job(reading("refrigerant_added", 1.375)), "total_charge") is None
    assert (
        found(job(reading("factory_charge", 7, role="rated"), reading("refrigerant_added", 1.375)), "total_charge")
        is None
    )


def test_what_was_recovered_before_the_vacuum_was_the_old_charge_and_after_it_the_new():
    factory, added = reading("factory_charge", 7, role="rated"), reading("refrigerant_added", 1.0)
    out, vacuum = reading("refrigerant_recovered", 0.5), reading("vacuum_level", 300)
    assert found(job(factory, out, vacuum, added), "total_charge").value == 8.0
    assert found(job(factory, vacuum, added, out), "total_charge").value == 7.5


def test_two_additions_on_one_day_could_be_one_told_twice():
    first = reading("refrigerant_added", 0.5, status="superseded")
    log = job(
        reading("factory_charge", 7, role="rated"),
        reading("vacuum_level", 300),
        first,
        reading("refrigerant_added", 0.5),
    )
    assert found(log, "total_charge") is None


def test_line_set_charge_from_density_or_from_the_rate_that_was_said():
    lengths = (reading("line_set_length", 15, role="rated"), reading("line_set_length", 35))
    size = reading("liquid_line_size", 0.375)
    by_density = found(job(*lengths, size, equipment={"refrigerant": "R-454B"}), "line_set_charge")
    # evacuation_pressure_records.csv: R-454B in 3/8 is 0.489 oz/ft of liquid; 20 ft over.
    assert by_density.value == pytest.approx(20 * 0.489 / 16, abs=0.002)
    said = reading("line_set_charge_rate", 0.65, role="rated")
    assert found(job(*lengths, size, said), "line_set_charge").value == pytest.approx(13 / 16)
    assert found(job(lengths[1], size, said), "line_set_charge") is None


# ------------------------------------------------------------------ whatever is said

_NAMES = sorted(quantities())


@st.composite
def any_reading(draw):
    name = draw(st.sampled_from(_NAMES))
    value = draw(
        st.one_of(
            st.sampled_from([0.0, -14.696, 20.9]),
            st.floats(-2000, 1e6),
            st.floats(quantities()[name].low, quantities()[name].high),
        )
    )
    return reading(
        name,
        value,
        note=draw(st.sampled_from(["n1", "n2"])),
        role=draw(st.sampled_from(["measured", "measured", "rated", "target", "estimated"])),
        status=draw(st.sampled_from(["current", "current", "current", "superseded", "doubtful", "retracted"])),
        system=draw(st.sampled_from(["main", "upstairs"])),
        qualifier=draw(st.sampled_from([None, None, "herm", "2 ft3", "evacuation", "pressure_test", "zero ft3"])),
    )


@given(
    st.lists(any_reading(), max_size=40),
    st.sampled_from([None, "R-410A", "R-407C", "R-999"]),
    st.sampled_from([None, "txv", "fixed_orifice"]),
)
def test_whatever_is_said_nothing_breaks_and_nothing_untrue_is_used(readings, refrigerant, device):
    log = job(*readings, equipment={"refrigerant": refrigerant, "metering_device": device})
    before = work_out(log)
    assert before == work_out(log)
    keys = [(c.name, c.system, c.qualifier) for c in before]
    assert len(keys) == len(set(keys))
    for calculation in before:
        assert math.isfinite(calculation.value)
        assert calculation.plus_minus >= 0
        assert calculation.method
        assert calculation.source
        for used in calculation.inputs:
            assert used in log.readings
            assert used.status != "doubtful"
            assert used.status != "retracted"
            assert used.system in (calculation.system, "site") or used.quantity in ("outdoor_temp", "altitude")

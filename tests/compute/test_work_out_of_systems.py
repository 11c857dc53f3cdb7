"""What is worked out of heat, electricity, vacuum and pressure tests, and ducts, from what was said."""

from __future__ import annotations

import sys
from dataclasses import replace

import pytest

from assistant.compute import work_out
from assistant.records import Calculation, DuctRun, Job, JobLog, Visit
from tests.compute.replay import job, reading

R410A = {"refrigerant": "R-410A", "metering_device": "txv"}


def found(log: JobLog, name: str, system: str = "main", qualifier: str | None = None) -> Calculation | None:
    mine = [c for c in work_out(log) if (c.name, c.system, c.qualifier) == (name, system, qualifier)]
    assert len(mine) <= 1
    return mine[0] if mine else None


# ------------------------------------------------------------------ heat, electricity


def test_input_by_the_meter_with_and_without_the_gas_companys_figure():
    clock = reading("meter_time", 90, qualifier="2 ft3")
    said = found(job(clock, reading("gas_heating_value", 1030, role="rated")), "heating_input")
    assert (said.value, said.plus_minus < 2000) == (82400, True)
    unsaid = found(job(clock), "heating_input")
    assert unsaid.value == 80000
    assert unsaid.plus_minus > 8000
    assert "no heating value was said" in unsaid.method
    assert found(job(reading("meter_time", 90)), "heating_input") is None
    propane = reading("manifold_pressure", 10, role="target")
    assert found(job(clock, propane), "heating_input") is None


def test_heating_airflow_from_clocked_input_plates_and_rise():
    log = job(
        reading("meter_time", 90, qualifier="2 ft3"),
        reading("gas_heating_value", 1030, role="rated"),
        reading("heating_input", 80000, role="rated"),
        reading("heating_output", 64000, role="rated"),
        reading("return_air_temp", 68),
        reading("supply_air_temp", 121),
    )
    assert found(log, "system_airflow").value == pytest.approx(82400 * 0.8 / (1.08 * 53))
    assert found(job(*log.readings, reading("system_airflow", 1100)), "system_airflow") is None


def test_heating_output_needs_the_airflow_of_the_same_visit():
    rise = (reading("return_air_temp", 70, note="n2"), reading("supply_air_temp", 120, note="n2"))
    log = job(reading("system_airflow", 1185, note="n2"), *rise)
    assert found(log, "heating_output").value == pytest.approx(64000, rel=0.001)
    assert found(job(reading("system_airflow", 1185, note="n1"), *rise), "heating_output") is None


def test_carbon_monoxide_without_oxygen_beside_it_stays_as_measured():
    assert found(job(reading("carbon_monoxide", 145)), "carbon_monoxide_air_free") is None
    log = job(reading("carbon_monoxide", 40), reading("oxygen", 9))
    assert found(log, "carbon_monoxide_air_free").value == pytest.approx(70.3, abs=0.05)


def test_each_section_of_a_capacitor_against_its_own_label():
    log = job(
        reading("capacitance", 45, role="rated", qualifier="herm"),
        reading("capacitance", 5, role="rated", qualifier="fan"),
        reading("capacitance", 38.2, qualifier="herm"),
        reading("capacitance", 4.9, qualifier="fan"),
    )
    assert found(log, "capacitance_percent", qualifier="herm").value == pytest.approx(84.9, abs=0.02)
    assert found(log, "capacitance_percent", qualifier="fan").value == pytest.approx(98.0)
    one = job(reading("capacitance", 45, role="rated", qualifier="run"), reading("capacitance", 40))
    assert found(one, "capacitance_percent", qualifier="run").value == pytest.approx(88.9, abs=0.02)
    crossed = job(*log.readings[:3:2], reading("capacitance", 4.9, qualifier="fan"))
    assert found(crossed, "capacitance_percent", qualifier="fan") is None


def test_imbalance_needs_three_voltages_told_apart():
    lines = [reading("line_voltage", v, qualifier=q) for v, q in ((203, "L1-L2"), (210, "L2-L3"), (212, "L1-L3"))]
    assert found(job(*lines), "voltage_imbalance").value == pytest.approx(2.56, abs=0.01)
    assert found(job(*lines[:2]), "voltage_imbalance") is None
    assert found(job(reading("line_voltage", 241)), "voltage_imbalance") is None


# ------------------------------------------------------------------ vacuum and pressure test


def test_the_vacuum_rose_only_if_it_was_watched():
    pair = (reading("vacuum_level", 310, status="superseded"), reading("vacuum_level", 390))
    watched = reading("test_duration", 10, qualifier="evacuation")
    assert found(job(*pair, watched), "vacuum_rise").value == 80
    assert found(job(*pair), "vacuum_rise") is None
    assert found(job(pair[1], watched), "vacuum_rise") is None
    doubted = replace(pair[0], value=99999.0, doubt="value_implausible")
    assert found(job(doubted, pair[1], watched), "vacuum_rise") is None


def test_a_pressure_test_is_corrected_when_both_temperatures_were_said():
    pair = (reading("test_pressure", 150, status="superseded"), reading("test_pressure", 146.5))
    held = reading("test_duration", 60, qualifier="pressure_test")
    plain = found(job(*pair, held), "pressure_drop")
    assert plain.value == 3.5
    temps = (reading("outdoor_temp", 80, status="superseded"), reading("outdoor_temp", 70))
    corrected = found(job(*pair, held, *temps), "pressure_drop")
    # 150 psig at 80 F is 146.9 at 70 F, ideal gas.
    assert corrected.value == pytest.approx(0.4, abs=0.1)
    assert corrected.plus_minus < plain.plus_minus


def test_a_vacuum_told_again_is_still_the_one_that_was_watched():
    log = job(
        reading("vacuum_level", 310, status="superseded", note="n1"),
        reading("vacuum_level", 390, status="superseded", note="n1"),
        reading("test_duration", 10, qualifier="evacuation", note="n1"),
        reading("vacuum_level", 390, note="n2"),
    )
    one_day = replace(log, visits=(Visit("2026-05-01", ("n1", "n2")),))
    assert found(one_day, "vacuum_rise").value == 80


def test_an_overnight_pressure_test_is_one_test_unless_the_system_was_opened():
    evening, morning = reading("test_pressure", 500, note="n1"), reading("test_pressure", 480.6, note="n2")
    held = reading("test_duration", 840, qualifier="pressure_test", note="n2")
    temps = (reading("outdoor_temp", 80, note="n1"), reading("outdoor_temp", 60, note="n2"))
    # 500 psig at 80 F is 480.9 at 60 F, ideal gas.
    drop = found(job(evening, temps[0], morning, held, temps[1]), "pressure_drop")
    assert drop.value == pytest.approx(0.3, abs=0.2)
    vacuum = reading("vacuum_level", 300, note="n1")
    assert found(job(evening, vacuum, morning, held), "pressure_drop") is None


def test_stages_on_the_way_up_are_no_loss():
    stages = [reading("test_pressure", p, status="superseded") for p in (150, 300)]
    held = reading("test_duration", 60, qualifier="pressure_test")
    assert found(job(*stages, reading("test_pressure", 500), held), "pressure_drop") is None


def test_a_later_system_airflow_is_the_returns_too():
    log = job(
        reading("cooling_capacity", 4, role="rated", note="n1"),
        reading("return_airflow", 1200, note="n1"),
        reading("system_airflow", 1580, note="n2"),
    )
    assert found(log, "return_airflow_shortfall").value == 20
    assert found(job(*log.readings[::2]), "return_airflow_shortfall") is None


def test_pumping_it_up_again_is_no_gain():
    log = JobLog(
        Job("test"),
        (Visit("2026-05-01", ("n1", "n2")),),
        readings=(
            reading("test_pressure", 428, status="superseded", note="n1"),
            reading("test_pressure", 450, note="n2"),
            reading("test_duration", 75, qualifier="pressure_test", note="n2"),
        ),
    )
    assert found(log, "pressure_drop") is None


# ------------------------------------------------------------------ ducts


def test_what_the_said_runs_carry_and_how_hard_they_are_pulled():
    runs = (DuctRun("return", 2, material="flex", size_in=(10,), airflow_cfm=930, note="n1"),)
    log = replace(job(reading("return_airflow", 930)), duct_runs=runs)
    capacity, rate = found(log, "duct_capacity", qualifier="return"), found(log, "friction_rate", qualifier="return")
    # airflow_duct.csv: tight 10 in flex is 327 cfm at 0.08; 465 cfm each is far above it.
    assert capacity.value + capacity.plus_minus == pytest.approx(2 * 327, abs=2)
    assert rate.value - rate.plus_minus > 0.08
    assert found(log, "duct_capacity", qualifier="supply") is None


def test_one_added_return_is_not_taken_for_the_whole_return():
    added = DuctRun("return", 1, material="flex", size_in=(16,), status="added", note="n2")
    before = reading("return_airflow", 1200, note="n1")
    log = replace(
        job(before, reading("return_airflow", 1620, note="n3"), reading("liquid_pressure", 350, note="n2")),
        duct_runs=(added,),
    )
    assert found(log, "duct_capacity", qualifier="return") is None
    new = replace(log, readings=(reading("return_airflow", 1000, note="n3"),))
    assert found(new, "duct_capacity", qualifier="return").value > 700


def test_friction_is_not_worked_out_from_an_airflow_older_than_the_duct():
    runs = (
        DuctRun("return", 1, material="flex", size_in=(12,), note="n1"),
        DuctRun("return", 1, material="flex", size_in=(12,), status="added", note="n2"),
    )
    log = replace(
        job(reading("return_airflow", 560, note="n1"), reading("outdoor_temp", 90, note="n2")), duct_runs=runs
    )
    assert found(log, "friction_rate", qualifier="return") is None


def calls_for(visits: int) -> int:
    """How many Python functions are called to work out a job of so many visits: a measure no busy machine changes."""
    names = ("liquid_pressure", "liquid_line_temp", "suction_pressure", "suction_line_temp", "system_airflow")
    values = (338, 94.5, 116, 51, 1200)
    days = [f"n{day:03}" for day in range(visits)]
    log = job(*(reading(n, v, note=day) for day in days for n, v in zip(names, values, strict=True)), equipment=R410A)
    work_out(log)
    calls = 0

    def count(frame, event, _):
        nonlocal calls
        calls += event == "call"

    sys.setprofile(count)
    try:
        worked_out = work_out(log)
    finally:
        sys.setprofile(None)
    assert {c.name for c in worked_out} >= {"subcooling", "superheat"}
    return calls


def test_a_job_of_twice_the_visits_is_no_more_than_twice_the_work():
    assert calls_for(200) < 2.2 * calls_for(100)

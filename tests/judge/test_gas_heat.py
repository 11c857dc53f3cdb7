"""Gas heat against the plate; without one against what furnace instructions print."""

import pytest

from assistant.records import Equipment, Event
from tests.judge.jobs import r, rated, target, told

PLATE = rated("temperature_rise", 50, low=35, high=65)


@pytest.mark.parametrize(
    ("supply", "status"), [(99, "low"), (105, "in_range"), (120, "in_range"), (135, "in_range"), (136, "high")]
)
def test_the_rise_is_judged_by_the_plates_range(supply, status):
    job = told(PLATE, r("return_air_temp", 70), r("supply_air_temp", supply))
    assert job.verdict("heat").status == status
    assert ("temperature_rise_off" in job.codes()) == (status != "in_range")


def test_a_spoken_rise_serves_and_a_single_plate_figure_is_its_upper_limit():
    job = told(rated("temperature_rise", 60), r("temperature_rise", 64))
    assert (job.verdict("heat").status, "at most 60" in job.verdict("heat").because) == ("high", True)


def test_without_a_plate_the_rise_is_unknown():
    job = told(r("return_air_temp", 70), r("supply_air_temp", 125))
    assert job.verdict("heat").needs == ("temperature_rise",)
    assert "What rise does the plate give?" in [a.text for a in job.log.asks]


def test_with_only_a_plate_the_air_temperatures_are_missing():
    assert told(PLATE, r("return_air_temp", 70)).verdict("heat").needs == ("supply_air_temp",)


@pytest.mark.parametrize(("spoken", "status"), [(3.19, "low"), (3.2, "in_range"), (3.8, "in_range"), (3.81, "high")])
def test_manifold_within_three_tenths_of_the_plate(spoken, status):
    # furnace instructions: ±0.3 inH2O at all altitudes
    job = told(r("manifold_pressure", spoken), target("manifold_pressure", 3.5))
    assert job.verdict("gas_pressure").status == status


@pytest.mark.parametrize(("spoken", "status"), [(3.4, "in_range"), (4.6, "high"), (10.0, "in_range"), (11.5, "high")])
def test_without_a_plate_the_manifold_has_to_fit_one_of_the_two_gases(spoken, status):
    assert told(r("manifold_pressure", spoken)).verdict("gas_pressure").status == status


def test_propane_is_judged_as_propane():
    furnace = Equipment(kind="propane furnace")
    assert told(furnace, r("manifold_pressure", 3.5)).verdict("gas_pressure").status == "low"
    assert told(furnace, r("gas_inlet_pressure", 9)).verdict("gas_pressure").status == "low"
    assert told(r("gas_heating_value", 2500), r("gas_inlet_pressure", 12)).verdict("gas_pressure").status == "in_range"


@pytest.mark.parametrize(("inlet", "status"), [(4.4, "low"), (4.5, "in_range"), (14, "in_range"), (14.1, "high")])
def test_natural_gas_at_the_inlet(inlet, status):
    assert told(r("gas_inlet_pressure", inlet)).verdict("gas_pressure").status == status


# 1 ft3 in 48 s at 1000 Btu/ft3 is 75,000 Btu/h (furnace instructions, reference example 9).
CLOCKED = (r("meter_time", 48, qualifier="1 ft3"), rated("gas_heating_value", 1000))


@pytest.mark.parametrize(
    ("plate", "status"),
    [(75000, "in_range"), (78000, "in_range"), (80000, "low"), (71000, "high"), (72000, "in_range")],
)
def test_input_within_five_percent_of_the_plate(plate, status):
    job = told(*CLOCKED, rated("heating_input", plate))
    assert job.verdict("input_rate").status == status
    assert ("input_rate_off" in job.codes()) == (status != "in_range")


def test_input_without_a_plate_is_unknown():
    assert told(*CLOCKED).verdict("input_rate").needs == ("heating_input",)


def test_at_altitude_a_derated_input_is_not_called_low():
    job = told(*CLOCKED, rated("heating_input", 88000), r("altitude", 5000))
    assert job.verdict("input_rate").status == "in_range"
    assert "derated" in job.verdict("input_rate").because
    assert told(*CLOCKED, rated("heating_input", 88000)).verdict("input_rate").status == "low"


@pytest.mark.parametrize(("measured", "status"), [(1.4, "low"), (1.5, "in_range"), (3.0, "in_range")])
def test_flame_current_without_a_plate(measured, status):
    assert told(r("flame_current", measured)).verdict("flame").status == status


def test_the_makers_flame_minimum_wins():
    job = told(r("flame_current", 1.2), rated("flame_current", 1))
    assert job.verdict("flame").status == "in_range"
    assert "flame_current_low" in told(r("flame_current", 0.4), rated("flame_current", 1)).codes()


def test_a_new_flame_sensor_has_to_be_measured_again():
    job = told(r("flame_current", 0.4)).tell(Event("part_replaced", what="flame sensor"))
    assert "flame_current_low" not in job.codes()


@pytest.mark.parametrize(("spoken", "status"), [(0.005, "low"), (0.02, "in_range"), (-0.02, "in_range")])
def test_draft_is_a_pull_whatever_its_sign(spoken, status):
    assert told(r("draft_pressure", spoken)).verdict("draft").status == status


# 40 ppm at 9 % oxygen is 70 ppm air-free; 60 ppm at 9 % is 105 (CO x 20.9 / (20.9 - O2)).
@pytest.mark.parametrize(
    ("ppm", "oxygen", "severity"), [(40, 9, None), (60, 9, "attention"), (240, 9, "stop"), (120, None, "attention")]
)
def test_carbon_monoxide_counts_air_free(ppm, oxygen, severity):
    job = told(r("carbon_monoxide", ppm), *([r("oxygen", oxygen)] if oxygen else []))
    found = [c.severity for c in job.log.concerns if c.code == "carbon_monoxide_high"]
    assert found == ([severity] if severity else [])
    assert ("combustion_safety" in job.codes()) == (severity == "stop")


def test_a_sample_that_is_mostly_room_air_counts_as_measured():
    # 30 ppm at 19.5 % oxygen would be 448 air-free: the probe was not in the flue
    job = told(r("carbon_monoxide", 30), r("oxygen", 19.5))
    assert (job.verdict("combustion").status, job.verdict("combustion").value) == ("in_range", 30)


def test_high_carbon_monoxide_asks_for_the_room_first_and_then_for_oxygen():
    assert told(r("carbon_monoxide", 250)).asks() == ["ambient_carbon_monoxide", "oxygen"]


@pytest.mark.parametrize(("ppm", "severity"), [(9, None), (10, "attention"), (36, "stop")])
def test_carbon_monoxide_in_the_room(ppm, severity):
    job = told(r("ambient_carbon_monoxide", ppm))
    found = [c.severity for c in job.log.concerns if c.code == "ambient_carbon_monoxide_high"]
    assert found == ([severity] if severity else [])


def test_a_stop_comes_before_everything_else():
    doubt = r("flue_temp", 9000, status="doubtful", doubt="value_implausible")
    job = told(doubt, r("flame_current", 0.4), r("carbon_monoxide", 900), r("ambient_carbon_monoxide", 60))
    assert [c.severity for c in job.log.concerns] == ["stop"] * 3 + ["attention"] * 2
    assert job.concern("ambient_carbon_monoxide_high").caution.startswith("Get everybody out")
    assert all(c.caution for c in job.log.concerns if c.severity == "stop")

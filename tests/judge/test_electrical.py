"""Capacitors below 94 % of rated are weak (contract); voltage and current against their plates."""

import pytest

from assistant.records import Event
from tests.judge.jobs import r, rated, told


# 45 µF at ±6 % is 42.3 to 47.7 (arithmetic).
@pytest.mark.parametrize(
    ("measured", "status"), [(42.2, "low"), (42.3, "in_range"), (45, "in_range"), (47.7, "in_range"), (48, "high")]
)
def test_a_capacitor_within_six_percent_of_its_label(measured, status):
    job = told(r("capacitance", measured), rated("capacitance", 45))
    assert job.verdict("capacitor").status == status
    assert ("capacitor_weak" in job.codes()) == (status == "low")


def test_the_worst_section_rules_and_both_are_named():
    job = told(
        *(rated("capacitance", v, qualifier=q) for v, q in ((40, "herm"), (5, "fan"))),
        *(r("capacitance", v, qualifier=q) for v, q in ((39.5, "herm"), (3.8, "fan"))),
    )
    assert job.verdict("capacitor").status == "low"
    assert "herm capacitor" in job.verdict("capacitor").because
    assert "fan capacitor 3.8 µF, 76.0 %" in job.verdict("capacitor").because


def test_without_a_label_the_capacitor_is_unknown():
    assert told(r("capacitance", 38)).verdict("capacitor").needs == ("capacitance",)


def test_a_replaced_capacitor_takes_its_values_with_it():
    job = told(r("capacitance", 30), rated("capacitance", 45)).tell(Event("part_replaced", what="run capacitor"))
    assert "capacitor_weak" not in job.codes()
    assert "capacitor" not in job.abouts()
    assert job.tell(r("capacitance", 45.2)).verdict("capacitor").status == "in_range"


def test_found_weak_and_replaced_in_one_breath_asks_for_the_new_one():
    job = told(r("capacitance", 30), rated("capacitance", 45), Event("part_replaced", what="cap"))
    assert (job.verdict("capacitor").status, job.codes()) == ("unknown", set())


def test_another_part_replaced_leaves_the_capacitor_weak():
    job = told(r("capacitance", 30), rated("capacitance", 45)).tell(Event("part_replaced", what="contactor"))
    assert "capacitor_weak" in job.codes()


@pytest.mark.parametrize(
    ("volts", "plate", "status"),
    [
        (241, None, "in_range"),
        (186, None, "low"),
        (256, None, "in_range"),  # a 277 volt supply may stand there
        (118, None, "in_range"),
        (480, None, "in_range"),
        (150, None, "high"),
        (207, rated("line_voltage", 230), "in_range"),  # ±10 % of 230 is 207 to 253
        (206, rated("line_voltage", 230), "low"),
        (254, rated("line_voltage", 230), "high"),
        (190, rated("line_voltage", 197), "low"),  # 197 is no nominal voltage: it is a least
        (199, rated("line_voltage", 197), "in_range"),
        (256, rated("line_voltage", 253), "high"),  # 253 is a most
        (205, rated("line_voltage", 208, said="208 minimum"), "low"),
        (200, rated("line_voltage", 208, low=187, high=228), "in_range"),
    ],
)
def test_line_voltage(volts, plate, status):
    job = told(r("line_voltage", volts), *([plate] if plate else []))
    assert job.verdict("voltage").status == status
    assert ("voltage_off" in job.codes()) == (status != "in_range")


# 203, 210 and 212 V are 2.56 % out of balance (NEMA MG-1 example); 480, 476, 472 are 0.84 %.
@pytest.mark.parametrize(("volts", "status"), [((203, 210, 212), "high"), ((480, 476, 472), "in_range")])
def test_three_phases_within_two_percent_of_each_other(volts, status):
    phases = [r("line_voltage", v, qualifier=q) for v, q in zip(volts, ("L1-L2", "L2-L3", "L1-L3"), strict=True)]
    assert told(*phases).verdict("voltage_imbalance").status == status


@pytest.mark.parametrize(("volts", "status"), [(18, "low"), (24, "in_range"), (28, "in_range"), (33, "high")])
def test_control_voltage(volts, status):
    assert told(r("control_voltage", volts)).verdict("control_voltage").status == status


@pytest.mark.parametrize("motor", ["compressor_current", "condenser_fan_current", "blower_current"])
def test_amps_above_the_plate_are_high(motor):
    assert told(r(motor, 9.9), rated(motor, 10)).verdict("current").status == "in_range"
    job = told(r(motor, 10.2), rated(motor, 10))
    assert job.verdict("current").status == "high"
    assert "current_high" in job.codes()


def test_amps_of_a_motor_that_was_replaced_no_longer_count():
    job = told(r("blower_current", 12), rated("blower_current", 10)).tell(Event("part_replaced", what="blower motor"))
    assert "current_high" not in job.codes()
    assert "current_high" in job.tell(r("blower_current", 11)).codes()


def test_a_plate_of_nothing_is_no_plate():
    assert told(r("compressor_current", 12), rated("compressor_current", 0)).verdict("current").status == "unknown"


def test_a_capillary_tube_is_not_a_capacitor():
    job = told(r("capacitance", 30), rated("capacitance", 45)).tell(Event("part_replaced", what="capillary tube"))
    assert "capacitor_weak" in job.codes()


def test_amps_without_a_plate_are_unknown_unless_another_motor_can_be_judged():
    assert told(r("compressor_current", 12)).verdict("current").needs == ("compressor_current",)
    job = told(r("blower_current", 4), r("compressor_current", 12), rated("compressor_current", 14))
    assert job.verdict("current").status == "in_range"

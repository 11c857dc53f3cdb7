"""Values in doubt are raised, asked about first, and used for nothing."""

import pytest

from assistant.records import Equipment
from tests.judge.jobs import r, target, told

UNIT = Equipment(refrigerant="R-410A", metering_device="txv", cooling_capacity=3.0)


@pytest.mark.parametrize("doubt", ["value_implausible", "unit_mismatch", "value_conflict"])
def test_each_doubt_raises_its_concern_and_is_asked_about_first(doubt):
    odd = r("suction_line_temp", 540, status="doubtful", doubt=doubt, said="suction line five forty")
    job = told(UNIT, odd, r("suction_pressure", 118), r("liquid_pressure", 365), target("subcooling", 10))
    assert doubt in job.codes()
    assert job.asks()[:2] == ["suction_line_temp", "liquid_line_temp"]
    assert job.log.asks[0].text.startswith("I heard 540")
    assert 'said "suction line five forty"' in job.concern(doubt).because[0]
    assert "superheat" not in job.abouts()


def test_said_again_well_it_is_settled():
    odd = r("return_air_temp", 704, status="doubtful", doubt="value_implausible")
    job = told(UNIT, odd).tell(r("return_air_temp", 74))
    assert (job.codes(), job.asks()) == (set(), [])


def test_another_systems_value_settles_nothing():
    odd = r("return_air_temp", 704, status="doubtful", doubt="value_implausible", system="unit 1")
    job = told(odd).tell(r("return_air_temp", 74, system="unit 2"))
    assert "value_implausible" in job.codes("unit 1")


def test_a_retracted_value_is_no_doubt_and_no_evidence():
    job = told(UNIT, r("liquid_pressure", 900, status="retracted"), r("suction_pressure", 118))
    assert "value_implausible" not in job.codes()
    assert not any("900" in line for c in job.log.concerns for line in c.because)


def test_a_split_that_does_not_follow_from_the_air_temperatures_is_a_conflict():
    air = (r("return_air_temp", 76), r("supply_air_temp", 56))
    assert "value_conflict" in told(*air, r("temperature_split", 28)).codes()
    assert "value_conflict" not in told(*air, r("temperature_split", 20)).codes()


def test_what_the_instruments_can_be_off_by_is_no_conflict():
    # 1 % of 365 psi is about 0.8 °F and the clamp is good to 1: 11.9 against 9.7 may be the same
    pair = (UNIT, r("liquid_pressure", 365), r("liquid_line_temp", 100))
    assert "value_conflict" not in told(*pair, r("subcooling", 11.9)).codes()
    assert "value_conflict" in told(*pair, r("subcooling", 12.5)).codes()


def test_an_estimate_is_no_conflict():
    job = told(UNIT, r("liquid_pressure", 365), r("liquid_line_temp", 100), r("subcooling", 16, "estimated"))
    assert "value_conflict" not in job.codes()


def test_a_spoken_superheat_of_another_visit_is_no_conflict():
    job = told(UNIT, r("superheat", 25), date="2026-05-12")
    job.tell(r("suction_pressure", 118), r("suction_line_temp", 51), date="2026-05-20")
    assert "value_conflict" not in job.codes()


def test_readings_taken_again_since_the_spoken_value_are_no_conflict():
    job = told(UNIT, r("suction_pressure", 100), r("suction_line_temp", 60), r("superheat", 28))
    job.tell(r("suction_pressure", 118), r("suction_line_temp", 51))
    assert "value_conflict" not in job.codes()

"""Questions: only what a verdict needs, most useful first, written for the ear."""

from assistant.judge.tables import questions
from assistant.records import Equipment
from assistant.units import quantities
from tests.judge.jobs import r, target, told

UNIT = Equipment(refrigerant="R-410A", metering_device="txv", cooling_capacity=3.0)
_FACTS_OF_EQUIPMENT = {"refrigerant", "metering_device"}


def test_every_question_asks_for_something_the_contract_knows_in_words_for_the_ear():
    for question in questions():
        assert question.quantity in quantities() or question.quantity in _FACTS_OF_EQUIPMENT
        assert question.ask.endswith("?") and len(question.ask) < 70
        assert not any(mark in question.ask for mark in "()°/±_")
        assert question.useful


def test_a_missing_half_of_the_charge_comes_before_the_air():
    job = told(UNIT, r("liquid_pressure", 342), target("subcooling", 10))
    assert job.asks() == ["liquid_line_temp", "system_airflow"]


def test_a_job_that_lacks_nothing_asks_nothing():
    full = (r("liquid_pressure", 365), r("liquid_line_temp", 100), target("subcooling", 10), r("system_airflow", 1200))
    assert told(UNIT, *full).asks() == []


def test_nothing_is_asked_twice():
    job = told(UNIT, r("liquid_pressure", 342), r("suction_pressure", 118))
    assert len(job.asks()) == len(set(job.asks()))


def test_with_two_systems_the_one_talked_about_last_is_asked_about_first_by_name():
    job = told(Equipment("front", "R-410A", "txv"), Equipment("back", "R-410A", "txv"))
    job.tell(r("liquid_pressure", 340, system="front"), target("subcooling", 9, system="front"))
    job.tell(r("liquid_pressure", 342, system="back"), target("subcooling", 9, system="back"))
    assert job.log.asks[0].system == "back"
    assert job.log.asks[0].text == "Back: What is the liquid line temperature?"


def test_every_need_of_a_verdict_has_its_question():
    asked = {(about, q.quantity) for q in questions() for about in q.serves}
    jobs = [
        told(r("liquid_pressure", 300)),
        told(Equipment(metering_device="fixed_orifice"), r("suction_pressure", 70)),
        told(Equipment(refrigerant="R-22"), r("return_airflow", 900), r("supply_airflow", 900)),
        told(r("vacuum_level", 300), r("test_pressure", 300)),
        told(r("carbon_monoxide", 300), r("return_air_temp", 60), r("supply_air_temp", 120)),
        told(r("meter_time", 40, qualifier="1 ft3"), r("capacitance", 40)),
        told(r("compressor_current", 40)),
    ]
    needed = {(v.about, need) for job in jobs for v in job.log.verdicts for need in v.needs}
    assert needed and needed <= asked

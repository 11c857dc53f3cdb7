"""What can hurt someone: fire, gas, what burns, hoses; leaks and the refrigerant record."""

import pytest

from assistant.judge.tables import concern_rows
from assistant.records import Equipment, Event, Remark, Task
from tests.judge.jobs import r, rated, told


@pytest.mark.parametrize("name", ["R-32", "R-454B", "R-290", "R-452B"])
def test_what_burns_is_said_on_every_visit(name):
    job = told(Equipment(refrigerant=name)).tell(r("control_voltage", 25), date="2026-06-01")
    assert "refrigerant_flammable" in job.codes()
    assert job.concern("refrigerant_flammable").caution


@pytest.mark.parametrize("name", ["R-410A", "R-22", "R-407C", "R-134a"])
def test_what_does_not_burn_is_not(name):
    assert "refrigerant_flammable" not in told(Equipment(refrigerant=name)).codes()


def test_a_planned_first_fire_warns_of_the_alarms_until_the_visit_after_it():
    job = told(Task("first fire of the furnace", waits_on="the family to leave"))
    assert "smoke_alarm_risk" in job.codes()
    job.tell(Task("first fire of the furnace", status="done"), Event("first_fire"))
    assert "smoke_alarm_risk" in job.codes()
    job.tell(r("manifold_pressure", 3.5), date="2026-06-01")
    assert "smoke_alarm_risk" not in job.codes()


def test_a_covered_alarm_is_a_concern_until_it_is_uncovered():
    job = told(Event("first_fire")).tell(Task("uncover the smoke alarm"), date="2026-06-01")
    assert "still covered" in job.concern("smoke_alarm_risk").text
    assert job.concern("smoke_alarm_risk").because == ("uncover the smoke alarm",)
    assert "smoke_alarm_risk" not in job.tell(Task("uncover the smoke alarm", status="done")).codes()


def test_an_alarm_to_be_bought_is_not_covered():
    assert "smoke_alarm_risk" not in told(Task("bring them a new smoke alarm")).codes()


@pytest.mark.parametrize(
    "words", ["fire damper inspection Monday", "pick up light bulbs", "call the fire inspector", "turn the lights off"]
)
def test_other_fires_and_lights_are_not_a_first_fire(words):
    assert "smoke_alarm_risk" not in told(Task(words)).codes()


@pytest.mark.parametrize(
    "said", [Event("failure_found", what="cracked heat exchanger"), Event("shutdown", what="red tagged the furnace")]
)
def test_a_burner_that_must_not_run_is_a_stop(said):
    job = told(said)
    assert job.concern("combustion_safety").severity == "stop"
    assert "combustion_safety" not in job.tell(Event("startup"), date="2026-06-02").codes()


def test_every_reason_to_stop_is_in_one_concern():
    job = told(r("carbon_monoxide", 900), r("ambient_carbon_monoxide", 60), Event("shutdown", said="Red tagged it."))
    [found] = [c for c in job.log.concerns if c.code == "combustion_safety"]
    assert found.text == (
        "Combustion is not safe: flue carbon monoxide 900 ppm as measured; room carbon monoxide 60 ppm; Red tagged it."
    )


def test_hoses_on_the_wrong_ports_are_named():
    job = told(Equipment(refrigerant="R-410A"), r("suction_pressure", 350), r("liquid_pressure", 118))
    assert "suction 350, head 118 psi" in job.concern("hoses_swapped").text
    assert "hoses_swapped" not in job.tell(r("suction_pressure", 118), r("liquid_pressure", 350)).codes()


@pytest.mark.parametrize(
    "sign",
    [
        Event("failure_found", what="oil stain at the flare nut"),
        Remark("there was oil around the king valve"),
        Task("fix the leak at the king valve"),
        Remark("there are bubbles at the second flare"),
    ],
)
def test_a_sign_of_a_leak_stands_until_something_closes_it(sign):
    assert "leak_suspected" in told(sign).tell(r("control_voltage", 25), date="2026-06-01").codes()
    assert "leak_suspected" not in told(sign).tell(Event("pressure_test", outcome="passed"), date="2026-06-01").codes()
    assert "leak_suspected" not in told(sign).tell(Event("part_replaced", what="Schrader core")).codes() or isinstance(
        sign, Task
    )


def test_a_task_to_mend_a_leak_is_closed_by_doing_it():
    job = told(Task("fix the leak at the king valve")).tell(Task("fix the leak at the king valve", status="done"))
    assert "leak_suspected" not in job.codes()


def test_found_and_mended_in_one_note_is_closed():
    job = told(Event("failure_found", what="leak at the flare"), Event("pressure_test", outcome="passed"))
    assert "leak_suspected" not in job.codes()


def test_no_bubbles_is_no_leak():
    assert "leak_suspected" not in told(Remark("soaped every joint and there were no bubbles")).codes()


def test_a_new_leak_after_a_repair_is_a_new_concern():
    job = told(Event("failure_found", what="leak at the flare")).tell(Event("pressure_test", outcome="passed"))
    assert "leak_suspected" in job.tell(Event("failure_found", what="leak at the coil"), date="2026-07-01").codes()


def test_refrigerant_in_and_out_is_kept_for_the_record():
    job = told(Equipment(refrigerant="R-410A"), r("refrigerant_recovered", 5.125), r("refrigerant_added", 6.5))
    assert job.concern("refrigerant_record").text == "For the refrigerant record: 6 lb 8 oz in, 5 lb 2 oz out."


@pytest.mark.parametrize(("name", "pounds"), [("R-410A", 60), ("R-22", 9), ("R-410A", 7)])
def test_a_house_unit_is_never_told_it_must_be_repaired(name, pounds):
    # 40 CFR 82.157: ozone-depleting, 50 lb and more; the HFC rule of 2026 leaves out comfort cooling
    job = told(Equipment(refrigerant=name), rated("factory_charge", pounds), r("refrigerant_added", pounds))
    words = " ".join(c.text for c in job.log.concerns).lower()
    assert "must" not in words and "federal" not in words


def test_a_big_charge_of_an_ozone_depleting_refrigerant_points_to_the_rule():
    job = told(Equipment(refrigerant="R-22"), rated("factory_charge", 40), r("vacuum_level", 300))
    job.tell(r("refrigerant_added", 20))
    assert "may apply" in job.concern("refrigerant_record").text


def test_a_question_about_the_code_is_kept():
    assert "code_question" in told(Remark("is a single wall connector to code in here")).codes()
    assert "code_question" not in told(Remark("door code is four four one nine")).codes()


def test_a_value_that_could_not_be_placed_is_said_but_small_talk_is_not():
    assert "not_understood" in told(Remark("something like forty psi on the other thing")).codes()
    assert "not_understood" not in told(Remark("parking was nine bucks and I was late")).codes()
    assert "not_understood" not in told(Remark("the amps looked fine")).codes()


def test_cautions_defer_to_the_person_on_site_and_never_order_a_repair():
    cautions = " ".join(row.get("caution", "") for row in concern_rows().values())
    assert "licensed" in cautions
    assert "must repair" not in cautions

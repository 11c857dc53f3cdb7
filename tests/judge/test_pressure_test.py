"""The nitrogen test, with temperature taken out where it is known.

Ideal gas at constant volume: 150 psig at 80 °F reads 146.9 at 70 °F (trade article; arithmetic).
"""

import pytest

from assistant.records import Event
from tests.judge.jobs import r, told

HOUR = r("test_duration", 60, qualifier="pressure_test")


def test_the_same_pressure_an_hour_later_passes():
    job = told(r("test_pressure", 400), r("test_pressure", 400), HOUR)
    assert (job.verdict("pressure_test").status, job.codes()) == ("pass", set())


def test_one_reading_is_not_a_test_yet():
    job = told(r("test_pressure", 400))
    assert job.verdict("pressure_test").needs == ("test_pressure",)


def test_the_same_again_after_a_time_not_said_asks_for_the_time():
    job = told(r("test_pressure", 400)).tell(r("test_pressure", 400))
    assert job.verdict("pressure_test").needs == ("test_duration",)
    assert job.log.asks[0].text == "How long has the nitrogen held?"


def test_a_big_loss_fails_and_a_leak_is_suspected():
    job = told(r("test_pressure", 400), r("test_pressure", 360), HOUR, Event("pressure_test", outcome="failed"))
    assert job.verdict("pressure_test").status == "fail"
    assert {"pressure_test_lost", "leak_suspected"} <= job.codes()


def test_a_big_loss_fails_even_if_nobody_calls_it_a_failure():
    job = told(r("test_pressure", 400), r("test_pressure", 360), HOUR)
    assert job.verdict("pressure_test").status == "fail"
    assert "leak_suspected" in job.codes()


def test_a_loss_cooling_could_explain_asks_for_the_temperature():
    job = told(r("test_pressure", 400), r("test_pressure", 392), HOUR)
    assert job.verdict("pressure_test").status == "unknown"
    assert job.asks() == ["outdoor_temp"]


@pytest.mark.parametrize(("later", "status"), [(146.5, "pass"), (135, "fail")])
def test_the_weather_is_taken_out(later, status):
    # 146.5 at 70 °F is no leak at half a pound's resolution (reference example 12)
    job = told(r("test_pressure", 150), r("outdoor_temp", 80))
    job.tell(r("test_pressure", later), r("outdoor_temp", 70), r("test_duration", 600, qualifier="pressure_test"))
    assert job.verdict("pressure_test").status == status


def test_said_to_have_passed_without_a_second_reading():
    job = told(r("test_pressure", 400), Event("pressure_test", outcome="passed"))
    assert job.verdict("pressure_test").status == "pass"


def test_a_pass_that_lost_forty_pounds_is_a_fail():
    job = told(r("test_pressure", 400), r("test_pressure", 360), Event("pressure_test", outcome="passed"))
    assert job.verdict("pressure_test").status == "fail"


def test_a_new_test_after_the_repair_starts_over():
    job = told(r("test_pressure", 400), r("test_pressure", 350), HOUR, Event("pressure_test", outcome="failed"))
    job.tell(r("test_pressure", 400))
    assert job.verdict("pressure_test").status == "unknown"
    job.tell(r("test_pressure", 400), HOUR, Event("pressure_test", outcome="passed"))
    assert (job.verdict("pressure_test").status, job.codes()) == ("pass", set())

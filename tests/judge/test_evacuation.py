"""A vacuum is reached and held at or below 500 micron over 10 minutes (contract; outdoor-unit instructions)."""

import pytest

from assistant.records import Event
from tests.judge.jobs import r, told

TEN = r("test_duration", 10, qualifier="evacuation")


def test_reached_is_not_yet_held():
    job = told(r("vacuum_level", 350))
    assert job.verdict("vacuum").status == "unknown"
    assert "valve it off" in job.verdict("vacuum").because
    assert job.asks() == ["test_duration"]


@pytest.mark.parametrize(
    ("held", "status", "code"),
    [(351, "pass", None), (500, "pass", None), (501, "fail", "vacuum_not_held"), (1500, "fail", "vacuum_not_held")],
)
def test_held_for_ten_minutes(held, status, code):
    job = told(r("vacuum_level", 350), r("vacuum_level", held), TEN)
    assert job.verdict("vacuum").status == status
    assert {c for c in job.codes() if c.startswith("vacuum")} == ({code} if code else set())


def test_held_in_a_later_note_of_the_visit():
    assert told(r("vacuum_level", 350)).tell(TEN, r("vacuum_level", 410)).verdict("vacuum").status == "pass"


def test_a_short_hold_is_not_enough_yet():
    job = told(r("vacuum_level", 300), r("vacuum_level", 320), r("test_duration", 4, qualifier="evacuation"))
    assert job.verdict("vacuum").status == "unknown"
    assert "held 4 min so far" in job.verdict("vacuum").because


def test_not_down_to_five_hundred_yet():
    job = told(r("vacuum_level", 1100))
    assert (job.verdict("vacuum").status, job.codes()) == ("fail", {"vacuum_not_reached"})


def test_still_pumping_is_not_a_loss():
    job = told(r("vacuum_level", 2000)).tell(r("vacuum_level", 800))
    assert job.codes() == {"vacuum_not_reached"}


def test_a_second_pull_starts_over():
    job = told(r("vacuum_level", 300), r("vacuum_level", 900), TEN)
    assert "vacuum_not_held" in job.codes()
    job.tell(r("vacuum_level", 240))
    assert (job.verdict("vacuum").status, job.codes()) == ("unknown", set())
    assert job.tell(r("vacuum_level", 290), TEN).verdict("vacuum").status == "pass"


@pytest.mark.parametrize(("later", "minutes", "leak"), [(2000, 1, True), (900, 10, False)])
def test_a_vacuum_that_rises_too_fast_for_moisture_is_a_leak(later, minutes, leak):
    hold = r("test_duration", minutes, qualifier="evacuation")
    job = told(r("vacuum_level", 450), r("vacuum_level", later), hold)
    assert "vacuum_not_held" in job.codes()
    assert ("leak_suspected" in job.codes()) == leak


def test_the_nitrogen_tests_hold_is_not_the_vacuums():
    job = told(r("test_duration", 60, qualifier="pressure_test"), r("vacuum_level", 320))
    assert job.verdict("vacuum").status == "unknown"


def test_said_to_have_held_passes_with_the_minutes_marked_as_not_said():
    job = told(r("vacuum_level", 320), Event("evacuation", outcome="passed"))
    assert job.verdict("vacuum").status == "pass"
    assert "not said" in job.verdict("vacuum").because


def test_said_to_have_passed_does_not_make_nine_hundred_good():
    assert told(r("vacuum_level", 900), Event("evacuation", outcome="passed")).verdict("vacuum").status == "fail"

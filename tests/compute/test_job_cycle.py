"""The cycle of a job rests on the very readings that its superheat and subcooling rest on."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from assistant.compute import work_out
from assistant.compute.cycle import cycle_points
from assistant.compute.job_cycle import cycle_of
from assistant.compute.ph_chart import HEIGHT, WIDTH, ph_chart
from assistant.compute.refrigerant import REFRIGERANTS, saturation_pressure
from assistant.errors import MissingReadings, NoSuchSystem
from assistant.records import Equipment, Visit
from tests.compute.replay import job, reading

R410A = {"refrigerant": "R-410A", "metering_device": "txv"}
SUCTION = (reading("suction_pressure", 118), reading("suction_line_temp", 53))
HEAD = (reading("liquid_pressure", 342), reading("liquid_line_temp", 94))


def judged(*readings, equipment=None, **more):
    log = job(*readings, equipment=equipment or R410A, **more)
    return replace(log, calculations=work_out(log))


def on(note, *readings):
    return tuple(replace(each, note=note) for each in readings)


def test_it_is_the_cycle_of_the_four_readings():
    assert cycle_of(judged(*SUCTION, *HEAD)) == cycle_points(118, 53, 342, 94, "R-410A")


def test_it_leaves_the_superheat_and_the_subcooling_that_were_judged():
    log = judged(*SUCTION, *HEAD)
    cycle, value = cycle_of(log), {c.name: c.value for c in log.calculations}
    assert cycle.suction.temp - value["superheat"] == pytest.approx(value["suction_saturation_temp"])
    assert cycle.liquid.temp + value["subcooling"] == pytest.approx(value["liquid_saturation_temp"])


def test_a_measured_discharge_line_rules_and_an_estimate_says_that_it_is_one():
    measured = cycle_of(judged(*SUCTION, *HEAD, reading("discharge_line_temp", 170)))
    assert measured == cycle_points(118, 53, 342, 94, "R-410A", discharge_line_temp=170)
    assert "discharge 170 °F<" in ph_chart(measured)
    estimated = cycle_of(judged(*SUCTION, *HEAD))
    assert f"discharge {estimated.discharge.temp:.0f} °F, estimated<" in ph_chart(estimated)


@pytest.mark.parametrize("note", ["n1", "n2"])
def test_the_discharge_line_counts_where_it_was_read_on_the_same_visit_in_whatever_note(note):
    told = judged(*SUCTION, *HEAD, *on("n2", reading("discharge_line_temp", 170)))
    visits = (Visit("2026-05-01", ("n1", "n2")),) if note == "n1" else told.visits
    log = replace(told, visits=visits)
    assert cycle_of(log).discharge_measured == (note == "n1")


@pytest.mark.parametrize("status", ["superseded", "retracted", "doubtful"])
def test_a_discharge_line_that_is_not_in_force_is_not_drawn(status):
    cycle = cycle_of(judged(*SUCTION, *HEAD, reading("discharge_line_temp", 170, status=status)))
    assert not cycle.discharge_measured


def test_the_altitude_counts_as_it_does_for_the_superheat():
    cycle = cycle_of(judged(*SUCTION, *HEAD, reading("altitude", 5280)))
    assert cycle.suction.psia == pytest.approx(118 + 12.1, abs=0.02)  # 12.1 psi a mile up (ICAO standard atmosphere)


def test_a_corrected_reading_is_the_one_that_is_drawn():
    wrong = replace(HEAD[0], value=242, status="superseded")
    assert cycle_of(judged(*SUCTION, wrong, *HEAD)) == cycle_points(118, 53, 342, 94, "R-410A")


@pytest.mark.parametrize(
    ("readings", "missing"),
    [
        (HEAD, ["suction_pressure", "suction_line_temp"]),
        ((*SUCTION, HEAD[0]), ["liquid_line_temp"]),
        ((), ["suction_pressure", "suction_line_temp", "liquid_pressure", "liquid_line_temp"]),
    ],
)
def test_what_was_not_said_is_named(readings, missing):
    with pytest.raises(MissingReadings, match="Not said yet") as raised:
        cycle_of(judged(*readings))
    assert raised.value.missing == missing
    assert missing[0].replace("_", " ") in str(raised.value)


def test_a_refrigerant_that_was_not_said_is_named():
    with pytest.raises(MissingReadings) as raised:
        cycle_of(judged(*SUCTION, *HEAD, equipment={"metering_device": "txv"}))
    assert raised.value.missing == ["refrigerant"]


def test_readings_of_two_visits_make_no_cycle():
    with pytest.raises(MissingReadings, match="newest visit") as raised:
        cycle_of(judged(*SUCTION, *on("n2", *HEAD)))
    assert raised.value.missing == []
    assert raised.value.apart == ["suction_pressure", "suction_line_temp"]


def test_each_system_has_its_own_cycle_and_an_unknown_one_has_none():
    upstairs = tuple(replace(each, system="upstairs", value=each.value + 2) for each in (*SUCTION, *HEAD))
    log = job(*SUCTION, *HEAD, *upstairs)
    log = replace(log, equipment=(Equipment(**R410A), Equipment(system="upstairs", **R410A)))
    log = replace(log, calculations=work_out(log))
    assert cycle_of(log, "main").suction.temp == pytest.approx(53)
    assert cycle_of(log, "upstairs").suction.temp == pytest.approx(55)
    with pytest.raises(NoSuchSystem, match="main, upstairs"):
        cycle_of(log, "attic")


def _boxes(svg):
    """Each point's words as (left, top, right, bottom); a letter of size 13 is about 6.6 px wide."""
    for text in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}text"):
        if "°F" in text.text:
            x, y, wide = float(text.get("x")), float(text.get("y")), 6.6 * len(text.text)
            left = x - {"start": 0, "middle": wide / 2, "end": wide}[text.get("text-anchor")]
            yield left, y - 11, left + wide, y + 3


@pytest.mark.parametrize("refrigerant", REFRIGERANTS)
@pytest.mark.parametrize(("evaporating", "condensing"), [(45, 105), (10, 125), (50, 75)])
def test_the_words_of_the_points_are_inside_the_picture_and_apart(refrigerant, evaporating, condensing):
    suction = saturation_pressure(evaporating, refrigerant, point="dew")
    head = saturation_pressure(condensing, refrigerant, point="bubble")
    boxes = list(_boxes(ph_chart(cycle_points(suction, evaporating + 12, head, condensing - 10, refrigerant))))
    assert len(boxes) == 4
    for left, top, right, bottom in boxes:
        assert 0 < left < right < WIDTH and 0 < top < bottom < HEIGHT
    for place, (left, top, right, bottom) in enumerate(boxes):
        for other in boxes[place + 1 :]:
            assert right < other[0] or other[2] < left or bottom < other[1] or other[3] < top

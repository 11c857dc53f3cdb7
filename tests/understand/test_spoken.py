"""What a recogniser writes for numbers: sounds, name and everyday range choose; else silence, or a question."""

from datetime import date

import pytest

from tests.score.scribe import Scribe
from tests.understand.heard import current, heard_values, spoken, transcript


@pytest.mark.parametrize(
    ("heard", "values"),
    [
        ("12-15 across the coil", {"system_airflow": 1215}),
        ("12.15 across the coil", {"system_airflow": 1215}),
        ("suction 1-22, head 3-38", {"suction_pressure": 122}),
        ("Grid says 11, 30.", {"system_airflow": 1130}),
        ("Grid says 11, 11, 30.", {"system_airflow": 1130}),
        ("head through 50", {"liquid_pressure": 350}),
        ("118-342 on the gauges", {"suction_pressure": 118, "liquid_pressure": 342}),
        ("liquid line 96-5", {"liquid_line_temp": 96.5}),
        ("compressor's drawing 22-4", {"compressor_current": 22.4}),
        ("head for 10, suction line 54", {"liquid_pressure": 410, "suction_line_temp": 54}),
        ("suction line's 3-8 off", {}),
        ("35 feet, 3'8' liquid, 3'4' suction", {"liquid_line_size": 0.375, "suction_line_size": 0.75}),
        ("the old line set 7, 8, suction, 3, 8, liquid", {"suction_line_size": 0.875, "liquid_line_size": 0.375}),
    ],
)
def test_the_values_a_way_of_writing_allows_are_chosen_by_name_and_range(heard, values):
    found = heard_values(heard)
    assert {quantity: found.get(quantity) for quantity in values} == values
    assert not {"temperature_split"} & set(found)


@pytest.mark.parametrize("heard", ["split's 12.15", "superheat 11.43", "liquid line 94.25"])
def test_nobody_speaks_two_decimals_of_a_degree(heard):
    assert heard_values(heard) == {}


def test_two_decimals_stay_where_instruments_give_them():
    assert heard_values("total static is 0.62 and manifold's 3.45") == {
        "total_static_pressure": 0.62,
        "manifold_pressure": 3.45,
    }


def test_a_hyphen_is_a_range_where_nothing_else_fits():
    (reading,) = spoken("superheat's 12-14")
    assert (reading.value, reading.low, reading.high) == (13, 12, 14)


def test_typed_digits_are_what_they_are():
    assert current("split 12-15") == {"temperature_split": 13.5}
    assert current("superheat 11.43") == {"superheat": 11.43}


def test_two_values_that_sound_the_same_are_asked_about():
    first, _, second = spoken("Vacuum's down at 280 microns, closed it off, 10 minutes later for 60.")
    assert (first.value, first.status) == (280, "superseded")
    assert (second.quantity, second.value, second.status) == ("vacuum_level", 460, "doubtful")


def test_how_long_a_test_stood_is_no_value_of_it():
    assert current("Vacuum's at 400 microns, let it sit for 60.") == {"vacuum_level": 400}
    assert heard_values("Vacuum's at 400 microns, let it sit for 60.") == {"vacuum_level": 400}


@pytest.mark.parametrize(
    ("text", "quantity"),
    [
        ("discharge line 250", "discharge_line_temp"),
        ("40 of subcool", "subcooling"),
        ("suction 12 psi", "suction_pressure"),
    ],
)
def test_a_value_that_is_not_of_every_day_is_doubted_when_heard_and_believed_when_typed(text, quantity):
    (heard,) = spoken(text)
    assert (heard.quantity, heard.status, heard.doubt) == (quantity, "doubtful", "misheard")
    assert list(current(text)) == [quantity]


def test_an_everyday_value_is_not_doubted_however_unsure_the_recogniser_was():
    (heard,) = spoken("head 345", probability=0.3)
    assert heard.status == "current"
    assert heard.confidence < 0.35


@pytest.mark.parametrize("again", ["discharge line 250", "250", "it's 250"])
def test_a_doubted_value_that_is_said_again_counts(again):
    told = Scribe()
    _, log = told.tell_heard(transcript("discharge line 250"), "one", date(2026, 5, 12))
    assert [r["status"] for r in log["readings"]] == ["doubtful"]
    assert "say that value again" in log["asks"][0]["text"]
    assert [c["code"] for c in log["concerns"]] == ["not_understood"]
    _, log = told.tell_heard(transcript(again), "one", date(2026, 5, 12))
    assert [(r["value"], r["status"]) for r in log["readings"]] == [(250, "superseded"), (250, "current")]
    assert log["concerns"] == []


@pytest.mark.parametrize(
    ("heard", "roles"),
    [
        ("Compressor is pulling 11.4 rated, 14.", {11.4: "measured", 14: "rated"}),
        ("compressor's pulling 11.4, rated 14", {11.4: "measured", 14: "rated"}),
        ("it's maybe two and a half-tun tags worn off", {2.5: "estimated"}),
        ("tag says two and a half ton", {2.5: "rated"}),
        ("nitrogen's on a 540", {540: "measured"}),
        (
            "manifold's 3.9 and it wants 3.5, flame sense, weight for it, 0.6 microamps",
            {3.9: "measured", 3.5: "target"},
        ),
    ],
)
def test_roles_survive_the_commas_a_recogniser_puts(heard, roles):
    found = {r.value: r.role for r in spoken(heard)}
    assert {value: found.get(value) for value in roles} == roles


def test_a_unit_that_names_its_value_leaves_the_number_before_to_another():
    found = {
        (r.quantity, r.value)
        for r in spoken("manifold's 3.9 and it wants 3.5, flame sense, weight for it, 0.6 microamps")
    }
    assert found == {("manifold_pressure", 3.9), ("manifold_pressure", 3.5), ("flame_current", 0.6)}


@pytest.mark.parametrize("side", ["herm side", "harm side", "home side", "other side"])
def test_beside_the_fan_side_the_other_section_is_the_compressors(side):
    found = {r.value: r.qualifier for r in spoken(f"Dual caps rated 45 on the {side} and 5 on the fan side.")}
    assert found == {45: "herm", 5: "fan"}


def test_what_a_capacitor_is_made_for_is_no_line_voltage():
    said = current("New cap's in, a forty five five, four forty volt. Line's two forty one.")
    assert said["line_voltage"] == 241
    assert "line_voltage" not in heard_values("New caps in a 45-440 volt cam")


def test_a_size_comes_before_its_ton():
    assert "cooling_capacity" not in heard_values("Upholstery shop, ton, or 10, expansion valve")


def test_tenths_that_may_as_well_be_a_range_are_asked_about():
    (reading,) = spoken("superheat's 8-9")
    assert (reading.value, reading.status) == (8.9, "doubtful")


def test_the_words_of_a_value_hold_the_word_its_hundred_came_from():
    (*_, last) = spoken("Vacuum's down at 280 microns, closed it off, 10 minutes later for 60.")
    assert (last.value, last.said) == (460, "for 60")


@pytest.mark.parametrize(
    ("heard", "values"),
    [
        ("nitrogen 150 psi for 30, no drop", {"test_pressure": 150}),  # minutes
        ("high side for 00", {}),  # nothing, if anything: asked about
        ("head to 00", {}),
    ],
)
def test_no_hundred_is_made_of_how_long_it_was_or_of_nothing(heard, values):
    assert heard_values(heard) == values

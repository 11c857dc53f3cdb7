"""What could be wrong: the likeliest cause, what speaks for it and the next measurement; the air before the charge."""

from __future__ import annotations

import pytest

from assistant.converse import ask, is_question
from assistant.converse.causes import causes_in
from assistant.records import Equipment, Note, Reading
from assistant.units import unit_of
from tests.converse.histories import history, states_number

UNIT = Equipment(refrigerant="R-410A", metering_device="txv", cooling_capacity=3.0)
# Patterns of diagnosis.toml: high superheat with high subcooling, with low subcooling, and neither.
RESTRICTED = {"suction_pressure": 92, "suction_line_temp": 60, "liquid_pressure": 330, "liquid_line_temp": 83}
STARVED = {"suction_pressure": 95, "suction_line_temp": 66, "liquid_pressure": 260, "liquid_line_temp": 84}
SOUND = {"suction_pressure": 118, "suction_line_temp": 53, "liquid_pressure": 342, "liquid_line_temp": 94}
ASKED = [
    "what could be wrong with it?",
    "what do you think is causing that?",
    "what's causing it",
    "what's your best guess?",
    "what could cause that?",
    "why is the superheat high?",
    "how come the superheat's so high?",
]


def told(values, airflow=None, system="main", date="2026-06-01", name="n1"):
    given = [(quantity, value, "measured") for quantity, value in values.items()]
    given += [("system_airflow", airflow, "measured")] if airflow else []
    given += [("subcooling", 10, "target")]
    readings = tuple(
        Reading(quantity, value, unit_of(quantity), role, system, note=name, position=place)
        for place, (quantity, value, role) in enumerate(given)
    )
    known = (Equipment(system, UNIT.refrigerant, UNIT.metering_device, UNIT.cooling_capacity),)
    return Note(name, date, "", readings=readings, equipment=known)


def answer(question, *notes, focus=None):
    return ask(question, {"shop": history("shop", notes)}, "shop", focus, "2026-06-02")[0]


@pytest.mark.parametrize("question", ASKED)
def test_each_way_to_ask_is_a_question(question):
    assert is_question(question)


@pytest.mark.parametrize("question", ASKED)
def test_the_likeliest_cause_is_told_with_what_speaks_for_it_and_the_next_measurement(question):
    said = answer(question, told(RESTRICTED, airflow=1200))
    assert said.say.startswith("Most likely: restriction")
    assert "superheat 32.6 degrees" in said.say and "subcooling 19.5 degrees" in said.say
    assert said.say.endswith("Measure the temperature before and after the drier and along the liquid line.")
    assert {r.quantity for r in said.evidence} >= set(RESTRICTED)


@pytest.mark.parametrize("question", ASKED)
@pytest.mark.parametrize("values", [RESTRICTED, STARVED])
def test_while_the_air_is_short_nothing_is_said_of_refrigerant(question, values):
    said = answer(question, told(values, airflow=700)).say
    assert said.startswith("The air comes first: low airflow") and "once the air is right" in said
    assert not any(word in said.lower() for word in ("add", "weigh", "low charge", "leak", "refrigerant", "drier"))


def test_while_the_air_is_short_no_other_cause_is_listed():
    log = history("shop", [told(STARVED, airflow=700)]).latest
    assert [cause.code for cause in causes_in(log, "main")] == ["airflow_low"]


def test_air_that_nobody_measured_is_to_be_measured_before_the_charge_is_blamed():
    assert "Measure the airflow first. Search for the leak" in answer(ASKED[0], told(STARVED)).say
    assert "airflow" not in answer(ASKED[0], told(STARVED, airflow=1200)).say


def test_nothing_ever_says_to_add_refrigerant():
    for values in (RESTRICTED, STARVED, SOUND):
        for airflow in (None, 700, 1200):
            assert " add " not in answer(ASKED[0], told(values, airflow=airflow)).say.lower()


def test_why_it_is_high_is_answered_no_when_it_is_not():
    assert "in range" in answer("why is the superheat high?", told(SOUND, airflow=1200)).say


def test_with_nothing_out_of_range_no_cause_is_put_forward():
    log = history("shop", [told(SOUND, airflow=1200)]).latest
    assert causes_in(log, "main") == ()
    assert answer(ASKED[0], told(SOUND, airflow=1200)).say == "Nothing wrong that I know of."


def test_without_readings_no_figure_is_made_up():
    said = answer(ASKED[0], told({}))
    assert not states_number(said.say)
    assert "likely" not in said.say


def test_why_the_air_is_short_is_no_matter_of_refrigerant():
    said = answer("why is the airflow low?", told(RESTRICTED, airflow=700)).say
    assert said.startswith("Because 700 cfm") and "likely" not in said


def test_of_several_systems_each_is_named_and_one_can_be_singled_out():
    notes = (
        told(RESTRICTED, 1200, "upstairs"),
        told(STARVED, 1200, "downstairs", name="n2"),
    )
    both = answer(ASKED[0], *notes).say
    assert "Upstairs, most likely: restriction" in both and "Downstairs, most likely: low charge" in both
    one = answer("what could be wrong with it upstairs?", *notes).say
    assert "restriction" in one and "low charge" not in one


def test_a_first_day_is_explained_as_it_stood_then():
    notes = (told(RESTRICTED, 1200), told(SOUND, 1200, date="2026-06-02", name="n2"))
    assert "restriction" in answer("why was the superheat high the first day?", *notes).say
    assert "in range" in answer("why is the superheat high now?", *notes).say


@pytest.mark.parametrize(
    "before", ["what's the superheat?", "is the superheat okay?", "what's the suction?", "how's the airflow?"]
)
@pytest.mark.parametrize(
    "question", ["why is it provisional?", "how come it's provisional?", "so why's that provisional?"]
)
def test_why_it_is_provisional_is_about_the_finding_that_is(before, question):
    jobs = {"shop": history("shop", [told(SOUND, airflow=900)])}
    assert [v.status for v in jobs["shop"].logs[-1].verdicts if v.about == "charge"] == ["provisional"]
    _, focus = ask(before, jobs, "shop", None, "2026-06-02")
    said = ask(question, jobs, "shop", focus, "2026-06-02")[0]
    assert said.say.startswith("Because the airflow is short")
    assert [v.about for v in said.evidence if hasattr(v, "about")] == ["charge"]

"""Reckoning on the spot: the question's own numbers, the published answers, nothing written into the log."""

from __future__ import annotations

import pytest

from assistant.converse import ask
from tests.converse.histories import corpus_job, states_number

# question, value, plus or minus, unit
RECKONED = [
    # R-410A dew at 118 psi gauge: 40.3 in a maker's chart, 39.8 by CoolProp (charts sit 0.3 to 0.5 above).
    ("what's saturation at 118 on 410A?", 40.0, 0.6, "degF"),
    ("what's the saturation at one eighteen on four ten a", 40.0, 0.6, "degF"),
    # R-22 at 70 psi gauge: 41.0 (heat-pump guide, acceptance example).
    ("saturation for 70 psi on R22?", 41.0, 0.3, "degF"),
    ("what pressure is forty one degrees saturated on R twenty two", 70.0, 0.6, "psi"),
    # R-407C at 200 psi gauge: bubble 93 by chart, 92.0 by CoolProp (acceptance example).
    ("what's the liquid saturated at, 200 psi on 407C?", 92.5, 1.2, "degF"),
    # R-410A, 365 psi gauge, liquid line 100: 10.0 by maker chart, 9.7 by CoolProp (acceptance example).
    ("what's the subcool with head 365 and liquid line 100 on 410A?", 9.9, 0.5, "delta_degF"),
    # R-22, 70 psi gauge, line 55: superheat 14.0 (acceptance example).
    ("superheat at suction 70, suction line 55 on R-22?", 14.0, 0.4, "delta_degF"),
    # Fixed orifice, 66 wet bulb, 90 outside: 13 (maker table, acceptance example).
    ("target superheat, 66 wet bulb, 90 outside?", 13.0, 0.6, "delta_degF"),
    ("what's my target superheat with ninety out and a sixty six wet bulb?", 13.0, 0.6, "delta_degF"),
    # 1 ft3 dial in 48 s at 1000 Btu/ft3 is 75000 (furnace instruction, acceptance example).
    ("meter took 48 seconds on the one-foot dial, what's my input?", 75000, 75, "Btu/h"),
    ("two foot dial, thirty six seconds a turn, what's that in Btus?", 200000, 200, "Btu/h"),
    # 45 ft of line at 0.40 oz/ft beyond 33.75 ft covered is 4.5 oz (split-system manual, acceptance example).
    ("how much for a 45 foot line set, 33.75 included, at point four ounces a foot?", 4.5 / 16, 0.003, "lb"),
    # 3/8 in R-410A holds 0.52 oz/ft of liquid (reference: liquid-only physics); 30 ft is 15.6 oz.
    ("how much for a 45-foot line set, 15 included, three-eighths?", 15.6 / 16, 0.02, "lb"),
    ("what's a four ton need for air?", 1600, 1, "cfm"),
    ("what's 1200 cfm on four tons?", 300, 1, "cfm/ton"),
    # 145 ppm at 7.2 percent oxygen: 145 x 20.9 / 13.7 = 221.
    ("CO air free at 145 and oxygen 7.2?", 221.2, 0.5, "ppm"),
]


@pytest.mark.parametrize(("question", "value", "plus_minus", "unit"), RECKONED)
def test_the_questions_own_numbers_are_reckoned_with(question: str, value: float, plus_minus: float, unit: str):
    answer, _ = ask(question, {"print-shop": corpus_job("print-shop")}, "print-shop", None, "2026-05-20")
    assert answer.unit == unit, answer.say
    assert answer.value == pytest.approx(value, abs=plus_minus), answer.say


def test_it_works_before_anything_was_told():
    answer, _ = ask("what's saturation at 118 on 410A?", {}, None, None, "2026-05-20")
    assert answer.value == pytest.approx(40.0, abs=0.6)


def test_an_assumed_refrigerant_is_said_to_be_assumed():
    answer, _ = ask("how much for a 45-foot line set, 15 included, three-eighths?", {}, None, None, "2026-05-20")
    assert "no refrigerant was said" in answer.say


def test_a_dash_in_the_table_is_no_number():
    answer, _ = ask("target superheat, 60 wet bulb, 85 outside?", {}, None, None, "2026-05-20")
    assert answer.value is None
    assert "no valid test" in answer.say


@pytest.mark.parametrize(
    ("question", "needs"),
    [
        ("target superheat at 67 wet bulb?", "outdoor temperature"),
        ("how much charge for a 45 foot line set?", "liquid line size"),
        ("what's my input on the two foot dial?", "seconds"),
    ],
)
def test_what_is_missing_is_asked_for(question: str, needs: str):
    answer, _ = ask(question, {}, None, None, "2026-05-20")
    assert needs in answer.say
    assert answer.value is None
    assert not states_number(answer.say)


def test_a_question_about_the_job_is_not_reckoned():
    told = {"two-storey": corpus_job("two-storey")}
    answer, _ = ask("what was the target superheat upstairs on the sixth?", told, "two-storey", None, "2026-07-16")
    assert answer.value == pytest.approx(15.5, abs=1.5)  # 66 wet bulb, 85 outside: the table has 15, the shortcut 16.5

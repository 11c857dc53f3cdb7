"""Numbers and abbreviations as the trade says them."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.converse import ask, for_the_ear, reply
from assistant.converse.ear import cardinal, ordinal
from assistant.records import Job, JobLog
from tests.converse.histories import NOTES, all_jobs, corpus_job

SAID = [
    ("suction 118", "suction one eighteen"),
    ("suction 104", "suction one oh four"),
    ("head 345", "head three forty five"),
    ("head 300", "head three hundred"),
    ("subcool 11.6, calls for 10", "subcool eleven point six, calls for ten"),
    ("total static 0.52", "total static point five two"),
    ("draft 0.03", "draft point oh three"),
    ("1200 cfm", "twelve hundred C F M"),
    ("1,150 dollars", "eleven fifty dollars"),
    ("1620 cfm", "sixteen twenty C F M"),
    ("2050 cfm", "twenty fifty C F M"),
    ("1005 cfm", "one thousand five C F M"),
    ("2000 cfm", "two thousand C F M"),
    ("82400 Btu an hour", "eighty two thousand four hundred B T U an hour"),
    ("R-410A", "R four ten A"),
    ("R-22", "R twenty two"),
    ("R-454B with a TXV", "R four fifty four B with a T X V"),
    ("R-407C", "R four oh seven C"),
    ("3/8 inch", "three eighths inch"),
    ("7/8 and 1/2", "seven eighths and half"),
    ("1-1/8 inch", "one and an eighth inch"),
    ("said on May 12, at 0:04", "said on May twelfth, at four seconds"),
    ("said on June 25, at 1:05", "said on June twenty fifth, at one minute five seconds"),
    ("June 17 at 2 pm", "June seventeenth at two P M"),
    ("at 7:50 am", "at seven fifty A M"),
    ("at 9:05 am", "at nine oh five A M"),
    ("minus is -10 degrees", "minus is minus ten degrees"),
    ("145 ppm", "one forty five parts per million"),
    ("5 lb 2 oz", "five pounds two ounces"),
    ("flue CO", "flue C O"),
    ("9.7 °F, 9.7°F", "nine point seven degrees, nine point seven degrees"),
    ("94 °F ± 1.2 °F", "ninety four degrees plus or minus one point two degrees"),
    ("CO2 9.1% and 98 %", "C O two nine point one percent and ninety eight percent"),
    ("against 80000 (+3.0 percent)", "against eighty thousand, plus three point oh percent"),
    ("400 cfm/ton", "four hundred C F M a ton"),
    ('3.5" w.c.', "three point five inches of water"),
    ("0.5 in. w.c.", "point five inches of water"),
    ('a 12" flex', "a twelve inch flex"),
    ("a 12x8 and 144 in²", "a twelve by eight and one forty four square inches"),
    ("one 16 in flex return", "one sixteen inch flex return"),
    ("put 2 in the attic", "put two in the attic"),
    ("45/5 µF, 35MFD", "forty five over five microfarads, thirty five microfarads"),
    ("4.2 µA", "four point two microamps"),
    ("26.3 A at 240V", "twenty six point three amps at two forty volts"),
    ("unit 3 A", "unit three A"),
    ("unit A, at 7:50 AM", "unit A, at seven fifty A M"),
    ("82,400 Btu/h", "eighty two thousand four hundred B T U an hour"),
    ("10 min 30 s", "ten minutes thirty seconds"),
    ("R-454B burns (A2L).", "R four fifty four B burns, A two L."),
    ("410A, not R22", "R four ten A, not R twenty two"),
    ("95–100 and 95-100", "ninety five to one hundred and ninety five to one hundred"),
    ("−10 to -4", "minus ten to minus four"),
    ("a 24-hour hold", "a twenty four hour hold"),
    ("on 12 May", "on May twelfth"),
    ("the 22nd", "the twenty second"),
    ("$1,150 & #2", "eleven fifty dollars and number two"),
    ("call 555-0134", "call five fifty five one thirty four"),
    ("TESP, ECM, MERV 8", "T E S P, E C M, merv eight"),
]
# The speaker's own words are quoted in answers; the mark that ends them is no unit.
QUOTED = [
    ('You said "head 342".', "You said head three forty two."),
    ("Heard 'suction 118'", "Heard suction one eighteen"),
    ('"342" and a 12" flex', "three forty two and a twelve inch flex"),
]


@pytest.mark.parametrize(("written", "spoken"), SAID)
def test_it_is_said_the_trades_way(written: str, spoken: str):
    assert for_the_ear(written) == spoken


@pytest.mark.parametrize(("written", "spoken"), QUOTED)
def test_the_end_of_a_quotation_is_no_inch_and_no_foot(written: str, spoken: str):
    assert for_the_ear(written) == spoken


@given(st.text(alphabet=st.characters(codec="ascii"), max_size=80) | st.text(alphabet="0123456789.,-/:x A°%\"'()RFVµ±"))
def test_only_words_and_marks_that_pause_go_to_the_voice(text: str):
    assert re.fullmatch(r"(?:[^\W\d_]|[\s.,;:?!'’-])*", for_the_ear(text))


def said_by_the_program() -> Iterator[str]:
    """The reply to every note of the corpus, and what every job answers to what people ask most."""
    for row in NOTES:
        told = corpus_job(row["job"], row["id"])
        before = told.logs[-2] if len(told.logs) > 1 else JobLog(Job(row["job"]))
        yield reply(told.notes[-1], before, told.latest)
    for name, told in all_jobs().items():
        for question in ("was the charge in range?", "is the airflow okay?", "what's left?", "what could be wrong?"):
            yield ask(question, {name: told}, name, None, "2026-06-30")[0].say


def test_what_the_program_says_leaves_the_voice_nothing_to_guess():
    abbreviation = re.compile(r"\b(?:psi|cfm|degF|inH2O|lb|oz|ft|min|[A-Z]{2,})\b")
    for say in said_by_the_program():
        aloud = for_the_ear(say)
        assert re.fullmatch(r"[A-Za-z\s.,;:?!'-]*", aloud), aloud
        assert not abbreviation.search(aloud), aloud


@given(st.integers(0, 9_999_999))
def test_no_digit_is_left_for_the_voice_to_guess(value: int):
    assert not re.search(r"\d", for_the_ear(f"airflow {value}, about {value / 100:.2f}"))


@given(st.integers(1, 999_999))
def test_every_number_and_every_place_has_a_name(value: int):
    assert cardinal(value)
    assert ordinal(value)[-2:] in ("st", "nd", "rd", "th")


@given(st.text(alphabet=st.characters(codec="ascii"), max_size=80))
def test_no_text_stops_the_voice(text: str):
    assert isinstance(for_the_ear(text), str)

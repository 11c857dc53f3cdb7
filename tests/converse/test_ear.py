"""Numbers and abbreviations as the trade says them."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.converse import for_the_ear
from assistant.converse.ear import cardinal, ordinal

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
]


@pytest.mark.parametrize(("written", "spoken"), SAID)
def test_it_is_said_the_trades_way(written: str, spoken: str):
    assert for_the_ear(written) == spoken


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

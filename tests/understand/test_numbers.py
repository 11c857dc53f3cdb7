"""Numbers as mechanics say them. The meanings are the trade's own (common practice, no source)."""

import pytest

from assistant.understand.passage import read_passage


def values(text: str) -> list[float]:
    return [number.value for number in read_passage(text).numbers]


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("one eighteen", 118),
        ("one oh four", 104),
        ("one-oh-four", 104),
        ("three forty five", 345),
        ("three forty-five", 345),
        ("twelve hundred", 1200),
        ("twelve fifteen", 1215),
        ("twenty fifty", 2050),
        ("nineteen hundred", 1900),
        ("eleven hundred fifty", 1150),
        ("a hundred and five", 105),
        ("a thousand thirty", 1030),
        ("one one eight", 118),
        ("ninety-four and a half", 94.5),
        ("twenty one and a quarter", 21.25),
        ("point five two", 0.52),
        ("point oh three", 0.03),
        ("point sixty-four", 0.64),
        ("zero point eight", 0.8),
        ("sixteen point eight", 16.8),
        ("minus ten", -10),
        ("negative point five one", -0.51),
        ("three-eighths", 0.375),
        ("seven eighths", 0.875),
        ("one and five eighths", 1.625),
        ("inch and an eighth", 1.125),
        ("half inch", 0.5),
        ("3/8", 0.375),
        ("2-1/2", 2.5),
        ("1,600", 1600),
        ("36,000", 36000),
        (".52", 0.52),
        ("3 45", 345),
        ("1 18", 118),
    ],
)
def test_a_number_is_heard_as_the_trade_means_it(said, meant):
    assert values(said) == pytest.approx([meant])


def test_two_numbers_side_by_side_stay_two():
    assert values("suction and head one eighteen three forty five") == [118, 345]


@pytest.mark.parametrize("said", ["the new one is in", "one of them", "that one", "this one here", "the other one"])
def test_one_that_points_at_something_is_no_number(said):
    assert values(said) == []


def test_a_dropped_point_is_kept_as_a_doubt():
    """ "Three five" may be 3.5 or 35; which, the quantity decides."""
    (number,) = read_passage("three five").numbers
    assert {value for value, _ in number.values} == {3.5, 35}
    assert all(likelihood < 0.7 for _, likelihood in number.values)


@pytest.mark.parametrize("digits", ["9" * 400, "1" + "0" * 25, "9" * 4000, "1." + "3" * 30])
def test_a_row_of_digits_without_an_end_is_no_number(digits):
    """Found by chance text: it became infinite, and the note could not be read at all."""
    assert values(f"head {digits} psi, on the {digits} of May, in {digits} days, suction 118") == [118]


@pytest.mark.parametrize(
    ("said", "meant"), [("nine oh 360", [9, 360]), ("suction seven oh", [7]), ("two oh oh fifty", [2, 50])]
)
def test_an_oh_is_part_of_a_number_only_where_something_follows_it_in_that_number(said, meant):
    assert values(said) == meant


@pytest.mark.parametrize("unit", ["inH2O", "in h2o", "inches of water", "inches of H2O", "m3/h", "btu/ft3", "h2o"])
def test_what_spells_a_unit_is_no_number(unit):
    """Found by chance text: "static in inches of water" was written down as 2."""
    assert values(f"total static is in {unit}") == []
    assert values(f"total static 0.5 {unit} 73") == [0.5, 73]

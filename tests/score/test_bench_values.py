"""The benchmark is fair to the peer: what it says in another unit counts, and one value answers one reading."""

import pytest

from tests.bench_understanding import found_in


@pytest.mark.parametrize(
    ("said", "value", "unit"),
    [
        ((80.0, "oz"), 5.0, "lb"),  # 16 oz to the pound
        ((2.0, "h"), 120.0, "min"),
        ((20.0, "degC"), 68.0, "degF"),  # 20 * 9 / 5 + 32
        ((10.0, "degC"), 18.0, "delta_degF"),  # a difference: 10 * 9 / 5
        ((345.0, None), 345.0, "psi"),
        ((52.0, "min"), 52.0, "degF"),  # a number under a unit of another kind counts as it is
        ((-0.2, None), 0.2, "inH2O"),
    ],
)
def test_a_value_counts_in_any_unit_that_converts(said, value, unit):
    assert found_in([said], [{"value": value, "unit": unit}]) == 1


def test_a_value_that_was_not_said_is_not_found():
    assert found_in([(340.0, None)], [{"value": 345.0, "unit": "psi"}]) == 0
    assert found_in([(-5.0, None)], [{"value": 5.0, "unit": "degF"}]) == 0


def test_one_value_answers_one_reading_and_the_best_pairing_counts():
    five = {"value": 5.0, "unit": "lb"}
    assert found_in([(5.0, None)], [five, five]) == 1
    either = (5.0, "h")  # five of anything, or three hundred minutes
    assert found_in([either, (300.0, None)], [{"value": 300.0, "unit": "min"}, five]) == 2
    assert found_in([(300.0, None), either], [{"value": 300.0, "unit": "min"}, five]) == 2


def test_nothing_said_or_nothing_wanted_finds_nothing():
    assert found_in([], [{"value": 5.0, "unit": "lb"}]) == 0
    assert found_in([(5.0, None)], []) == 0

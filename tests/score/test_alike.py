"""When two values or wordings count as one, and what is a number in a reply."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.score import alike


@pytest.mark.parametrize(
    ("got", "gold", "same"), [(345, 345, True), (346.7, 345, True), (347, 345, False), (0, 0, True)]
)
def test_a_value_may_be_off_by_half_a_percent(got, gold, same):
    assert alike.same_value(got, gold) is same


def test_no_value_is_only_met_by_no_value():
    assert alike.same_value(None, None)
    assert not alike.same_value(None, 0)
    assert not alike.same_value(0, None)


def test_a_day_is_met_by_any_time_of_it_and_a_time_only_by_itself():
    assert alike.same_moment("2027-06-08T07:20:00", "2027-06-08")
    assert alike.same_moment("2027-06-08T07:20:00", "2027-06-08T07:20")
    assert not alike.same_moment("2027-06-08", "2027-06-08T07:20")
    assert not alike.same_moment(None, "2027-06-08")


def test_a_rectangular_duct_has_no_first_side():
    assert alike.same_sizes([20, 14], [14, 20])
    assert not alike.same_sizes([14], [14, 20])


@pytest.mark.parametrize(
    ("what", "keywords", "has"),
    [
        ("verify the charge once the return is enlarged", ["recheck", "charge"], True),
        ("seal the collars", ["sealed", "collar"], True),
        ("call the power company", ["utility"], True),
        ("light the furnace", ["fire"], True),
        ("recheck the static", ["recheck", "charge"], False),
        ("remove the smoke alarm bag", ["smoke alarm", "bag"], True),
        (None, ["strap"], False),
    ],
)
def test_keywords_may_come_in_other_forms_or_as_obvious_synonyms(what, keywords, has):
    assert alike.has_keywords(what, keywords) is has


def test_wordings_of_one_thing_share_half_their_content():
    assert alike.alike("sixteen inch flex return", "one more 16 inch flex return off the hallway")
    assert alike.alike("rolls of duct wrap", "duct wrap")
    assert not alike.alike("media cabinet", "second return, 14 inch flex")


@pytest.mark.parametrize(
    ("say", "numbers"),
    [
        ("Superheat is 11.4 degrees.", [11.4]),
        ("Superheat is eleven point four degrees.", [11.4]),
        ("Static is point four two.", [0.42]),
        ("You are 1,200 CFM short.", [1200.0]),
        ("It is minus 3.5.", [-3.5]),
        ("Two and a half ton, fifteen hundred dollars.", [2.5, 1500.0]),
        ("R-410A on the 16th of June, unit 2.", [2.0]),
        ("Head is three eighty, draft point oh three.", [380.0, 0.03]),
        ("Nothing yet.", []),
    ],
)
def test_numbers_are_read_in_digits_and_in_words(say, numbers):
    assert alike.numbers_in(say) == numbers


def test_names_and_dates_are_no_values():
    assert alike.values_in("On June 16 the R-410A system, unit 2, had no liquid line yet, nor on the 17th.") == []
    assert alike.values_in("It is 9.7 on unit 2.") == [9.7]


@given(st.floats(0.01, 5000).map(lambda value: round(value, 2)))
def test_every_number_that_is_written_is_read_back(value):
    assert value in alike.numbers_in(f"That is {value} degrees.")

"""Prices told one after another, each with its answer, the way people read out what was talked over."""

import pytest

from tests.understand.heard import current, note


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (
            "Gave the landlord a whole list. Second return, sixteen inch flex, ten twenty, yes. "
            "New whip for the condenser, one eighty, no. Drain pan switch, ninety five, yes to that too.",
            [
                ("Second return", 1020, "approved"),
                ("New whip for the condenser", 180, "declined"),
                ("Drain pan switch", 95, "approved"),
            ],
        ),
        (
            "Sat down with the manager over the duct work. Metal trunk's twenty six hundred and he took that. "
            "Lining it on top would be another four fifty, he turned that down.",
            [("Metal trunk", 2600, "approved"), ("Lining it on top", 450, "declined")],
        ),
        (
            "Wrote it all up for the owner. Bigger return drop, twelve hundred for the both of them, "
            "he's got to ask his partner and he'll tell me Monday. Thermostat for two ten, that's a yes.",
            [("Bigger return drop", 1200, "pending"), ("Thermostat", 210, "approved")],
        ),
        (
            "The grower's fine with the extra run, three forty, no argument.",
            [("the extra run", 340, "approved")],
        ),
        (
            "They passed on a return for the den, which was five sixty.",
            [("a return for the den", 560, "declined")],
        ),
        (
            "So the owner's good with the loft return. One more run, twelve inch flex, seven hundred, and she signed.",
            [("loft return", 700, "approved")],
        ),
    ],
)
def test_each_offer_of_a_list_has_its_own_price_and_answer(said, expected):
    told = [(a.scope, a.price, a.status) for a in note(said).agreements]
    assert [(price, status) for _, price, status in told] == [(price, status) for _, price, status in expected]
    for (scope, _, _), (words, _, _) in zip(told, expected, strict=True):
        assert words in scope


def test_whom_the_other_side_asks_is_not_who_answers():
    said = "Now, the owner. New line set, eight ninety, she's got to ask the landlord and she'll tell me Friday."
    assert [(a.by, a.status) for a in note(said).agreements] == [("owner", "pending")]


@pytest.mark.parametrize(
    "said",
    [
        "If it's a yes I come and hang the return on the twentieth.",
        "The crew's still in there, so I won't do the first fire till they are gone.",
        "Once she says yes I can order the coil.",
    ],
)
def test_what_is_only_supposed_or_ours_is_no_answer(said):
    assert note(said).agreements == ()


def test_a_pressure_in_talk_of_offers_is_still_a_pressure():
    said = "Talked to the owner about the return. Suction's one eighteen, head is three forty."
    assert current(said) == {"suction_pressure": 118, "liquid_pressure": 340}
    assert note(said).agreements == ()


def test_a_price_never_becomes_a_reading():
    said = "Wrote it all up for the owner. Second return, twelve inch flex, seven twenty five, she's good with that."
    assert current(said) == {}


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("Talked to the owner. Head's at 340, no, 350.", {"liquid_pressure": 350}),
        ("Suction line, fifty three, no, scratch that, fifty five and a half.", {"suction_line_temp": 55.5}),
        ("Sat down with the manager. Suction's one eighteen, she says it's cold.", {"suction_pressure": 118}),
    ],
)
def test_a_value_put_right_is_never_an_offer_turned_down(said, expected):
    assert current(said) == expected
    assert note(said).agreements == ()

"""Offers, prices and answers, in the words people use for them."""

import pytest

from tests.understand.heard import note


@pytest.mark.parametrize(
    ("said", "scope", "by", "status", "price"),
    [
        (
            "Told the owner a second return, sixteen inch flex, would run eleven fifty. She wants to think about it.",
            "second return, sixteen inch flex", "owner", "pending", 1150,
        ),
        (
            "Priced the landlord a new filter rack at four eighty. He's fine with it.",
            "filter rack", "landlord", "approved", 480,
        ),
        (
            "Gave her a number for sealing the plenum, three hundred and twenty bucks, and she said go for it.",
            "sealing the plenum", "owner", "approved", 320,
        ),
        (
            "Extra return's gonna cost them nine hundred. Owner says no, not this year.",
            "Extra return", "owner", "declined", 900,
        ),
        (
            "The manager okayed six fifty for the new whip and disconnect.",
            "new whip and disconnect", "manager", "approved", 650,
        ),
        ("I quoted eighteen hundred to redo the trunk, he's on the fence", "redo the trunk", "owner", "pending", 1800),
        ("Owner says yes to the four ton and forget the ductless.", "the four ton", "owner", "approved", None),
    ],
)  # fmt: skip
def test_an_offer_its_price_and_its_answer_are_one_agreement(said, scope, by, status, price):
    first = note(said).agreements[0]
    assert scope in first.scope
    assert (first.by, first.status, first.price) == (by, status, price)


def test_a_small_number_behind_quoted_counts_things():
    said = note("Quoted two things, a return for nine hundred, and a cabinet for four twenty.")
    assert [agreement.price for agreement in said.agreements] == [900, 420]


def test_what_was_only_agreed_to_is_neither_used_nor_there():
    said = note("The manager okayed six fifty for the new whip. Owner says yes to the heat pump and no duct.")
    assert (said.materials, said.equipment) == ((), ())

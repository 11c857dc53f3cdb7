"""No reading becomes a price, no price a reading; a number put right is no offer turned down."""

import pytest

from tests.understand.heard import current, note


def offers(said):
    return [(each.scope, each.price, each.status) for each in note(said).agreements]


@pytest.mark.parametrize(
    ("said", "values"),
    [
        ("Head's 340, no, 350.", {"liquid_pressure": 350}),
        ("Told him the suction's 118.", {"suction_pressure": 118}),
        ("Told the owner head's 340, he said go ahead.", {"liquid_pressure": 340}),
        ("Told the manager we're at 14 of superheat, he's good with that.", {"superheat": 14}),
        ("Return's 75, supply's 56, owner approved.", {"return_air_temp": 75, "supply_air_temp": 56}),
        ("Nitrogen at 450, he signed.", {"test_pressure": 450}),
        ("Head pressure, three forty, approved.", {"liquid_pressure": 340}),
        ("Told the owner twelve hundred across the coil, she's good.", {"system_airflow": 1200}),
        ("Told the super it's pulling 12 amps, he's fine with 14.", {"compressor_current": 12}),
        ("Suction 118, no wait, 120, that's a yes on the capacitor.", {"suction_pressure": 120}),
        ("Sat down with the owner, 72 inside, he's fine with it.", {"return_air_temp": 72}),
        ("Pulled down to 350 microns, yes, and held.", {"vacuum_level": 350}),
        ("It's at 92, yes.", {}),
        ("She asked what the split is, told her 19, she said fine.", {}),
    ],
)
def test_a_reading_is_no_price_whoever_answers(said, values):
    assert current(said) == values
    assert offers(said) == []


@pytest.mark.parametrize(
    ("said", "values"),
    [
        ("Quoted 118 on the low side, I mean read 118.", {"suction_pressure": 118}),
        ("Offered a compressor blanket, head was 410, now 380, he declined.", {"liquid_pressure": 380}),
    ],
)
def test_a_value_in_a_sentence_that_offers_something_is_not_what_it_costs(said, values):
    assert current(said) == values
    assert {price for _, price, _ in offers(said)} == {None}


@pytest.mark.parametrize(
    ("said", "offered", "values"),
    [
        (
            "Static's point eight two, told her a second return would be nine hundred, she declined.",
            [("a second return", 900, "declined")],
            {"total_static_pressure": 0.82},
        ),
        ("He's in at 620 for the return. Return's 76.", [], {"return_air_temp": 76}),
        (
            "Gave the owner a price on a new coil, thirty one hundred, head's at three forty.",
            [("a new coil", 3100, "quoted")],
            {"liquid_pressure": 340},
        ),
        (
            "Sold the owner a capacitor for 185, suction's 118.",
            [("a capacitor", 185, "quoted")],
            {"suction_pressure": 118},
        ),
        (
            "She wants it under 75, quoted a zone damper for 820.",
            [("a zone damper", 820, "quoted")],
            {},
        ),
        ("Told him the target would be 12, he's fine.", [], {}),
    ],
)
def test_a_price_is_no_reading(said, offered, values):
    assert offers(said) == offered
    assert current(said).items() >= values.items()
    assert not {"return_airflow", "supply_airflow"} & current(said).keys()


@pytest.mark.parametrize(
    ("said", "offered"),
    [
        ("Quoted him nine fifty for the return, no, make it ten fifty.", [("the return", 1050, "quoted")]),
        (
            "Quoted him nine fifty for the return, no, make it ten fifty, he said yes.",
            [("the return", 1050, "approved")],
        ),
        ("Offered her a media cabinet for 310, no, 360, she said yes.", [("a media cabinet", 360, "approved")]),
        ("Offered a UV light for $510, no, $540, she declined.", [("a UV light", 540, "declined")]),
        (
            "Quoted 510 for a UV light and 310, sorry, 320 for a cabinet, he okayed the cabinet.",
            [("a UV light", 510, "quoted"), ("a cabinet", 320, "approved")],
        ),
        ("Quoted a UV light at 510, he said yes. Subcool 12, no, 11.", [("a UV light", 510, "approved")]),
        ("Quoted a UV light at 510. Suction 118, no, 120.", [("a UV light", 510, "quoted")]),
        (
            "Offered a UV light at 510, no, and a cabinet at 310, yes.",
            [("a UV light", 510, "declined"), ("a cabinet", 310, "approved")],
        ),
        ("UV light, 510, no. Suction 118, head 340.", [("UV light", 510, "declined")]),
    ],
)
def test_a_price_or_a_value_put_right_turns_nothing_down(said, offered):
    assert offers(said) == offered


def test_an_instrument_answers_no_offer():
    (agreement,) = note("She declined the cabinet at 360. Grid says 1130.").agreements
    assert agreement.by == "owner"

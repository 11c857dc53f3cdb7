"""Ducts, goods and hours as people say them."""

import pytest

from tests.understand.heard import note, readings


def ducts(said):
    """The runs of a text in a line: count, size, side and status of each."""
    return ", ".join(
        f"{run.count} {'x'.join(f'{side:g}' for side in run.size_in)} {run.side} {run.status}"
        for run in note(said).duct_runs
    )


@pytest.mark.parametrize(
    ("said", "runs"),
    [
        # several at once, the inches left out
        ("two fourteens on the return side", "2 14 return existing"),
        ("there's four sixes and two eights on the supply", "4 6 supply existing, 2 8 supply existing"),
        ("three returns, a fourteen and two twelves", "1 14 return existing, 2 12 return existing"),
        ("return is two 14's, flex", "2 14 return existing"),
        ("got both twelves in on the return", "2 12 return added"),
        ("the supply run to bedroom two is a six", "1 6 supply existing"),
        ("the return's only a fourteen and it's kinked", "1 14 return existing"),
        ("supply is three eight inch flexes and a ten", "3 8 supply existing, 1 10 supply existing"),
        ("there's a twelve and a fourteen on the return", "1 12 return existing, 1 14 return existing"),
        # the count stands apart
        ("both sixteen inch flex returns are in", "2 16 return added"),
        ("two of the old twelve inch returns are gone", "2 12 return removed"),
        ("ripped out both ten inch flex supplies", "2 10 supply removed"),
        ("six runs of seven inch flex come off the trunk", "6 7 supply existing"),
        ("two more returns, sixteen inch flex", "2 16 return existing"),
        ("the returns are twelve inch flex, two of them", "2 12 return existing"),
        ("seven supplies at six inch and one at eight", "7 6 supply existing, 1 8 supply existing"),
        ("on unit two ten inch flex return is kinked", "1 10 return existing"),
        # rectangles of several
        ("return's two twelve by twenty fours, duct board", "2 12x24 return existing"),
        ("four ten by sixes feed the front, supply side, metal", "4 10x6 supply existing"),
        # one in another's place
        ("the old return was a twelve, I went up to an eighteen", "1 12 return removed, 1 18 return added"),
        ("swapped the ten inch return for a sixteen", "1 10 return removed, 1 16 return added"),
        ("I'd bump the return from a twelve to a sixteen", "1 12 return existing, 1 16 return proposed"),
        ("pulled the kinked ten inch and put a twelve in on the return", "1 10 return removed, 1 12 return added"),
        ("took out the crushed nine inch and hung a twelve inch flex return", "1 9 return removed, 1 12 return added"),
        (
            "my pitch is lose both ten inch returns and hang two sixteens",
            "2 10 return existing, 2 16 return proposed",
        ),
        ("put a twelve in on the return and left the old ten", "1 12 return added, 1 10 return existing"),
        # what is offered at a price is not there yet
        ("a second return, twelve inch flex, seven ten, she's good with that", "1 12 return proposed"),
        ("told him he needs a second return, a sixteen", "1 16 return proposed"),
        ("running another return, fourteen inch, would be nine hundred", "1 14 return proposed"),
        ("I built them a return drop, ten by twenty in sheet metal", "1 10x20 return added"),
        # what the paper says is not what is there
        ("plans show ten supplies at six inch, I count eight at six inch", "8 6 supply existing"),
        # a new subject begins behind the comma
        (
            "supplies are three seven inch, return's a twenty by ten",
            "3 7 supply existing, 1 20x10 return existing",
        ),
    ],
)
def test_ducts_are_counted_sized_and_filed_as_they_were_said(said, runs):
    assert ducts(said) == runs


@pytest.mark.parametrize(
    "said",
    [
        "return is a sixteen by twenty filter grille",
        "the grille's a twenty by twenty in the hall return",
        "need four eight inch boots for the supply side",
        "supply house had a ten inch blade for the fan",
        "return was a seventy and supply's a fifty two",
        "return's at a twelve degree split",
        "the split went from a twelve to a sixteen with the return open",
        "ran sixty feet of three inch PVC for the flue, return's open",
        "the twelves on the return are crushed",
        "we've got eights and sixes on the supply",
    ],
)
def test_what_is_no_duct_or_not_counted_is_no_run(said):
    assert ducts(said) == ""


@pytest.mark.parametrize(
    ("said", "never"),
    [
        ("the old return was a twelve, I went up to an eighteen", "return_air_temp"),
        ("I'd pull the six and run an eight for that supply", "supply_air_temp"),
        ("need four eight inch boots for the supply side", "supply_static_pressure"),
    ],
)
def test_the_size_of_a_duct_or_fitting_is_no_reading(said, never):
    assert never not in [r.quantity for r in readings(said)]


def test_the_material_behind_all_is_that_of_every_size():
    runs = note("Supplies are five eight inch and two six inch, all flex.").duct_runs
    assert [run.material for run in runs] == ["flex", "flex"]


def test_feet_of_several_runs_in_all_are_the_length_of_none():
    assert [run.length_ft for run in note("Hung two eight inch supplies, thirty feet in all.").duct_runs] == [None]
    assert [run.length_ft for run in note("Hung two eight inch supplies, fifteen feet each.").duct_runs] == [15]
    assert [run.length_ft for run in note("Hung thirty feet of seven inch flex to the supply.").duct_runs] == [30]


def goods(said):
    """The goods of a text in a line: how many, in what, of what and whether used, needed or ordered."""
    return ", ".join(f"{m.quantity:g} {m.unit} {m.item} {m.status}" for m in note(said).materials)


@pytest.mark.parametrize(
    ("said", "logged"),
    [
        # halves, dozens and couples
        ("used a bucket and a half of mastic", "1.5 bucket duct mastic used"),
        ("went through half a tub of mastic", "0.5 tub duct mastic used"),
        ("used a roll and a half of foil tape", "1.5 roll foil tape used"),
        ("need half a dozen hangers", "6 ea hanger needed"),
        ("I still have to order two dozen hangers", "24 ea hanger needed"),
        ("three dozen hangers I still need", "36 ea hanger needed"),
        ("ordered a couple of boots", "2 ea boot ordered"),
        ("used 1 gal mastic, 3 rolls foil tape", "1 gallon duct mastic used, 3 roll foil tape used"),
        ("used four sticks of strap and three pails of mastic", "3 pail duct mastic used, 4 stick duct strap used"),
        # adjectives and sizes between the count and the thing
        ("put in two new filter grilles", "2 ea filter grille used"),
        ("put in a fourteen by twenty filter grille", "1 ea fourteen by twenty filter grille used"),
        ("6 new filters in", "6 ea air filter used"),
        ("need three 20x25x4 filters", "3 ea 20x25x4 filter needed"),
        ("used three ten inch boots", "3 ea ten inch boot used"),
        ("ordered six six inch elbows", "6 ea six inch elbow ordered"),
        ("replaced both contactors", "2 ea contactor used"),
        # each with its own container, and its own fate
        ("need a roll of tape and thirty feet of wrap", "30 ft duct wrap needed, 1 roll foil tape needed"),
        ("ordered thirty foot of half inch", "30 ft half inch ordered"),
        ("used up the last of the mastic, need another bucket", "1 bucket duct mastic needed"),
        # verbs of putting in open a list of fittings
        ("ran ten feet of one inch black iron, hung a drip leg and two gas cocks",
         "10 ft one inch black iron used, 1 ea drip leg used, 2 ea gas cock used"),
        ("the new run is in, two collars and one damper", "2 ea collar used, 1 ea damper used"),
        ("put in one new igniter and a trap", "1 ea igniter used, 1 ea trap used"),
        # named first, changed then
        ("the contactor was burnt up so I changed it out", "1 ea contactor used"),
        ("igniter's cracked, replaced it", "1 ea igniter used"),
        ("the filters were plugged and I changed all six", "6 ea air filter used"),
    ],
)  # fmt: skip
def test_goods_are_counted_as_they_were_said(said, logged):
    assert goods(said) == logged


@pytest.mark.parametrize(
    "said",
    [
        "there's two filters in the return and they're plugged",
        "two of the four filters were wet",
        "put in a call to the office and put in a ticket",
        "hung a meter on the contactor",
        "I hung the hood on the return grilles and they come to fourteen fifty",
        "the coil is in, a valve is stuck open",
        "set a stat to seventy two",
        "ran ten minutes with a new gauge",
        "threw in a box fan to dry it out",
        "quoted two new filters, ninety bucks",
        "replaced the igniters",
        "built them a return drop, eight by twenty in sheet metal, seven feet of it",
    ],
)
def test_what_was_not_put_in_or_not_counted_is_no_material(said):
    assert goods(said) == ""


def work(said):
    """The work of a text in a line: hours or days, and how many people where that was said."""
    return ", ".join(
        (f"{w.hours:g} h" if w.hours else f"{w.days:g} d") + (f" by {w.people}" if w.people else "")
        for w in note(said).labour
    )


@pytest.mark.parametrize(
    ("said", "logged"),
    [
        # halves of days
        ("took us a day and a half", "1.5 d"),
        ("a good day and a half in it", "1.5 d"),
        ("that took two days and a half", "2.5 d"),
        ("three of us worked a full day", "1 d by 3"),
        # hours not called so again
        ("five and a half hours today, three yesterday", "5.5 h, 3 h"),
        ("seven hours for me and five for the helper", "7 h, 5 h"),
        ("six hours Monday, two Tuesday and four today", "6 h, 2 h, 4 h"),
        ("six hours on this and two for lunch", "6 h"),
        # who worked
        ("him and me, eight hours each", "8 h by 2"),
        ("two men three days", "3 d by 2"),
        ("two hours, me alone", "2 h by 1"),
        ("me and my two helpers, five hours", "5 h by 3"),
        ("two helpers and me, five hours", "5 h by 3"),
        ("me and the apprentice, five hours", "5 h by 2"),
        ("me and the boys, five hours", "5 h"),
        ("five days all in for the four of us", "5 d by 4"),
        # words for having worked
        ("eleven hours over the two days", "11 h"),
        ("that ate up three hours", "3 h"),
        ("five and a quarter hours here today", "5.25 h"),
        ("swapped the coil and the drier. 3.5 hours.", "3.5 h"),
        ("hosed the coil off. About two hours all in.", "2 h"),
    ],
)
def test_hours_and_days_are_logged_as_they_were_said(said, logged):
    assert work(said) == logged


@pytest.mark.parametrize(
    "said",
    [
        "nitrogen to 300 psi. Two hours. No drop.",
        "pulled it down. Two hours. Held at 300 microns.",
        "took two hours to pull down to 400 microns",
        "the unit's been down two days",
        "it'll take two men two days",
        "quoted him two men two days",
        "took me most of a day",
        "the house gets hot in two hours",
    ],
)
def test_how_long_a_thing_stood_or_may_take_is_no_labour(said):
    assert work(said) == ""

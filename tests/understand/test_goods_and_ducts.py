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

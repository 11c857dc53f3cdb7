"""Laws that hold for any talk: nothing is invented, nothing crashes, cost grows no faster than length."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.log.settle import start_job
from assistant.understand.passage import read_passage
from tests.understand import wander
from tests.understand.heard import note
from tests.understand.laws import unsaid
from tests.understand.laws_of_goods import unfounded_records

TALK = st.lists(
    st.one_of(
        st.sampled_from(
            "suction head liquid line one eighteen three forty five ninety four and a half point five two degrees psi"
            " microns scratch that no make nitrogen at for half an hour return supply twelve inch flex target wants ten"
            " of subcool about between nine pounds ounces dollars Friday tomorrow upstairs unit two R 410 A 118 / 340 ,"
            " . ? static total rated minus over to by cap herm the is 's it hood CFM owner said yes permit".split()
        ),
        st.text(max_size=6),
        st.integers(-5, 5000).map(str),
        st.floats(0, 999, allow_nan=False).map(lambda value: f"{value:.2f}"),
    ),
    max_size=40,
).map(" ".join)


@settings(max_examples=400, deadline=None)
@given(TALK)
def test_no_value_is_written_down_that_was_not_said(text):
    heard = note(text)
    assert unsaid(heard) == []
    assert unfounded_records(heard, start_job("job")) == []


@pytest.mark.parametrize(
    ("said", "field", "change"),
    [
        ("Offered the owner a media cabinet for 310, she said yes.", "agreements", {"price": 320.0}),
        ("Offered the owner a media cabinet for 310, she said yes.", "agreements", {"scope": "2 media cabinets"}),
        ("I'll be back Friday to hang the coil.", "tasks", {"due": "2026-05-14"}),
        ("I'll be back Friday at eight to hang the coil.", "tasks", {"due": "2026-05-15T09:00"}),
        ("Two sixteen inch flex returns, twenty feet each.", "duct_runs", {"count": 3}),
        ("Two sixteen inch flex returns, twenty feet each.", "duct_runs", {"size_in": (14.0,)}),
        ("A sixteen inch flex return, twenty feet of it.", "duct_runs", {"length_ft": 25.0}),
        ("Used three rolls of foil tape.", "materials", {"quantity": 4.0}),
        ("Took me six hours all told.", "labour", {"hours": 7.0}),
        ("Took me six hours all told.", "labour", {"people": 4}),
    ],
)
def test_the_law_of_goods_can_fail(said, field, change):
    heard = note(said)
    assert unfounded_records(heard, start_job("job")) == []
    first, *more = getattr(heard, field)
    wrong = replace(heard, **{field: (replace(first, **change), *more)})
    assert unfounded_records(wrong, start_job("job"))


@pytest.mark.parametrize(
    "change",
    [{"value": 119.0}, {"value": float("inf")}, {"said": "suction 119"}, {"said": "suction"}, {"low": 3.0}],
    ids=str,
)
def test_the_law_can_fail(change):
    heard = note("suction is 118")
    assert unsaid(heard) == []
    assert unsaid(replace(heard, readings=(replace(heard.readings[0], **change),)))


def test_chance_jobs_break_no_law_on_the_whole_way():
    """In short; at length: `python -m tests.understand.wander`."""
    came = wander.run(seed=6, numbers=range(60))
    assert not came.broken, came.broken[0]
    assert came.inputs.total() > 150
    assert came.readings > 150


def test_a_chance_job_is_the_same_wherever_it_is_made():
    assert wander.job(5, 17) == wander.job(5, 17) != wander.job(6, 17)


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=300))
def test_any_text_can_be_told(text):
    note(text)


@settings(max_examples=100, deadline=None)
@given(st.text(alphabet=st.characters(categories=["L", "P", "Zs"], exclude_characters="½¼¾"), max_size=200))
def test_text_without_number_words_has_no_reading_from_digits(text):
    words = set(read_passage(text).lower)
    if not words & {"one", "two", "half", "an", "a", "inch", "quarter", "eighth"}:
        assert all(read_passage(r.said).numbers for r in note(text).readings)


def test_nothing_said_is_lost():
    """Every sentence is either understood by something or kept as a remark."""
    heard = note("Zebra crossing outside. Head three forty five. The moon is out tonight.")
    kept = " ".join(remark.text for remark in heard.remarks)
    assert "Zebra" in kept and "moon" in kept


def test_names_taken_back_one_after_the_other_are_no_trouble():
    """Found by chance talk: three names, each put right by the next."""
    note("1,600 CFMs on the return Sorry, I said superheat, I meant subcool.")


@pytest.mark.parametrize("said", ["two two co2ntactors", "walk the cap o2e A", "head3forty"])
def test_digits_inside_a_word_are_no_number(said):
    assert note(said).readings == ()


@pytest.mark.parametrize("said", ["Added a pound and a half five to unit one", "Added 1.5 pounds 5"])
def test_no_ounces_are_added_behind_a_half_pound(said):
    assert [(r.quantity, r.value) for r in note(said).readings] == [("refrigerant_added", 1.5)]


def test_a_weight_and_a_vacuum_are_no_range():
    found = {(r.value, r.low) for r in note("Charged 8 lb 8 to three fifteen microns.").readings}
    assert found == {(8.5, None), (315, None)}


def test_a_clock_has_sixty_minutes():
    assert all(event.when in (None, "2026-05-12") for event in note("Got here at 8:90.").events)


def test_a_size_in_words_is_no_count_and_size():
    assert note("couple of fifty seven inch flex returns").duct_runs == ()
    (run,) = note("210 inch flex returns").duct_runs
    assert (run.count, run.size_in) == (2, (10,))


@pytest.mark.parametrize(
    "said",
    [
        "minus six takeoffs on the upstairs return, all twelve inch flex",
        "quoted a twelve inch flex return, negative six feet of it",
        "offered her a cabinet for $ minus nineteen, approved",
    ],
)
def test_nothing_is_counted_measured_or_paid_below_nothing(said):
    heard = note(said)
    assert all(run.count > 0 and (run.length_ft or 1) > 0 for run in heard.duct_runs)
    assert all((each.price or 1) > 0 for each in heard.agreements)


def test_five_tenths_past_the_hour_is_no_half_past():
    assert [event.when for event in note("Inspector came at half past one and passed it.").events] == [
        "2026-05-12T13:30"
    ]
    assert all(
        e.when in (None, "2026-05-12") for e in note("Inspector came, it's point five past one, passed it.").events
    )

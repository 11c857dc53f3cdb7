"""Laws that hold for any talk: nothing is invented, nothing crashes, cost grows no faster than length."""

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.understand.passage import read_passage
from tests.understand.heard import note

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
    for reading in heard.readings:
        assert reading.said in text
        assert reading.said
        assert read_passage(reading.said).numbers or reading.quantity in (
            "test_duration",
            "refrigerant_added",
            "refrigerant_recovered",
            "factory_charge",
            "meter_time",
        )


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

"""Every phrase, lookalike and slip of the vocabulary tables is run."""

import tomllib
from importlib import resources

import pytest

from assistant.understand.passage import read_passage
from assistant.understand.tokens import read_tokens, slips
from assistant.units import quantities
from tests.understand.heard import note


def table(name: str) -> dict:
    return tomllib.loads(resources.files("assistant.understand").joinpath(name).read_text("utf-8"))


PHRASES = table("phrases.toml")["phrase"]
# Wordings that stand for one of several quantities, and what their example comes to.
STANDS_FOR = {"hood_airflow": "return_airflow", "charge_target": "subcooling", "line_temp": "suction_line_temp"}


@pytest.mark.parametrize("row", PHRASES, ids=lambda row: row["example"])
def test_each_phrase_gives_its_quantity(row):
    wanted = STANDS_FOR.get(row["quantity"], row["quantity"])
    heard = note(row["example"])
    assert wanted in [reading.quantity for reading in heard.readings], heard.readings


LOOKALIKES = [(row["quantity"], said) for row in PHRASES for said in row.get("not_this", ())]


@pytest.mark.parametrize(("quantity", "said"), LOOKALIKES)
def test_no_lookalike_gives_a_reading(quantity, said):
    assert [r for r in note(said).readings if r.quantity == quantity] == []


@pytest.mark.parametrize("slip", slips(), ids=lambda slip: slip.heard)
def test_each_slip_is_mended(slip):
    mended = read_tokens(slip.example).lower
    assert mended == read_tokens(slip.becomes).lower


@pytest.mark.parametrize("slip", [s for s in slips() if not s.beside_number], ids=lambda slip: slip.heard)
def test_each_way_a_slip_is_heard_is_mended(slip):
    assert read_tokens(slip.heard).lower == read_tokens(slip.say).lower


def test_every_quantity_has_a_wording():
    named = {row["quantity"] for row in PHRASES}
    by_rule = {"test_duration", "meter_time", "target_superheat"}  # found by their shape, or worked out
    assert set(quantities()) - named - by_rule == set()


def test_said_is_always_in_the_speakers_own_words():
    passage = read_passage("Sub cool's eleven and the suck shun is 1 18")
    assert passage.said(0, len(passage.lower)) == "Sub cool's eleven and the suck shun is 1 18"

"""The tables a mechanic can read: every example does what it says, every name is the contract's."""

from __future__ import annotations

import subprocess
import sys

import pytest

from assistant.converse.ask import _ANSWERS
from assistant.converse.questions import kind_of
from assistant.converse.vocabulary import asked, findings, kinds, quantities_named, refrigerants, several
from assistant.understand.patterns import found, plain_words
from assistant.understand.questions import is_question
from assistant.units import quantities

# Worked out only, so they have no row among the spoken quantities.
_CALCULATED = {
    "condensing_split",
    "evaporator_split",
    "compression_ratio",
    "total_charge",
    "line_set_charge",
    "vacuum_rise",
    "pressure_drop",
    "airflow_per_ton",
    "airflow_target",
    "airflow_shortfall",
    "return_airflow_shortfall",
    "supply_airflow_shortfall",
    "duct_capacity",
    "friction_rate",
    "carbon_monoxide_air_free",
    "voltage_imbalance",
    "capacitance_percent",
    "total_capacity",
    "sensible_capacity",
    "latent_capacity",
    "dew_point",
}


@pytest.mark.parametrize("kind", kinds(), ids=lambda kind: kind.name)
def test_the_example_of_each_kind_is_a_question_of_that_kind(kind):
    assert is_question(kind.example)
    assert kind_of(plain_words(kind.example)) == kind.name


def test_every_kind_has_an_answer():
    assert {kind.name for kind in kinds()} | {"value"} == set(_ANSWERS)


@pytest.mark.parametrize("row", asked().values(), ids=lambda row: row.name)
def test_every_wording_asks_for_its_quantity(row):
    assert row.name in quantities() or row.name in _CALCULATED
    for say in row.say:
        if "(" not in say and "…" not in say and "[" not in say:
            assert row.name in quantities_named(say)[0], say
    assert row.about is None or row.about in findings()
    assert all(need in asked() or need == "refrigerant" for need in row.needs)


def test_every_spoken_quantity_of_the_contract_can_be_asked_for():
    assert set(quantities()) <= set(asked())


@pytest.mark.parametrize("row", several(), ids=lambda row: row.say[0])
def test_a_word_for_several_quantities_names_real_ones(row):
    assert all(name in asked() for name in row.of)


def test_refrigerants_are_those_with_saturation_data():
    from assistant.compute.refrigerant import REFRIGERANTS

    assert set(refrigerants()) == set(REFRIGERANTS)


@pytest.mark.parametrize(
    "heard", ["what's my sub cool", "whats the subcall", "what's the sub-cooling at", "what is the subcoolling"]
)
def test_a_slip_of_the_recogniser_still_names_the_quantity(heard: str):
    assert quantities_named(plain_words(heard))[0] == ("subcooling",)


@pytest.mark.parametrize(
    ("wording", "yes", "no"),
    [
        ("how … short", "how much return am i short", "how long is it"),
        ("(is|was) it", "was it", "it was"),
        ("[still] waiting", "waiting", "wait"),
        ("what is left", "so what is left then", "what is leftover"),
    ],
)
def test_wordings_read_as_they_are_written(wording: str, yes: str, no: str):
    assert found((wording,), yes)
    assert not found((wording,), no)


def test_talking_back_is_quick_to_load():
    heavy = "('spacy', 'CoolProp', 'pint', 'scipy', 'numpy')"
    code = f"import sys, assistant.converse; print([m for m in {heavy} if m in sys.modules])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"

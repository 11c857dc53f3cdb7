"""A record comes back from the store exactly as it went in."""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from typing import get_args, get_origin, get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.converse.focus import Focus
from assistant.log.record_json import pack, unpack
from assistant.records import Answer, JobLog, Note, Reading, Transcript


def records(kind: type) -> st.SearchStrategy:
    """Any record of that kind; made from its type hints, so that a field added later is tried too."""
    hints = get_type_hints(kind)
    return st.builds(kind, **{f.name: _values(hints[f.name]) for f in fields(kind)})


def _values(hint) -> st.SearchStrategy:
    if is_dataclass(hint):
        return records(hint)
    if get_origin(hint) is tuple:
        return st.lists(_values(get_args(hint)[0]), max_size=2).map(tuple)
    if get_args(hint):
        return st.one_of(*map(_values, get_args(hint)))
    numbers = st.floats(allow_nan=False, allow_infinity=False)
    simple = {str: st.text(max_size=8), float: numbers, int: st.integers(-9, 9), bool: st.booleans()}
    return (simple | {type(None): st.none()})[hint]


@pytest.mark.parametrize("kind", [Transcript, Note, JobLog, Focus])
def test_it_comes_back_as_it_went_in(kind):
    @given(records(kind))
    @settings(max_examples=15, deadline=None)
    def comes_back(record):
        assert unpack(kind, pack(record)) == record

    comes_back()


def test_the_place_in_the_text_is_kept_although_the_contract_leaves_it_out():
    reading = Reading("liquid_pressure", 345.0, "psi", position=17)
    assert unpack(Reading, pack(reading)).position == 17


def test_a_field_added_since_takes_its_default_and_one_dropped_is_passed_over():
    older = json.dumps({"quantity": "liquid_pressure", "value": 345.0, "unit": "psi", "dropped": 1})
    assert unpack(Reading, older) == Reading("liquid_pressure", 345.0, "psi")


def test_a_record_that_could_not_be_told_apart_again_is_refused():
    with pytest.raises(TypeError, match="told apart"):
        unpack(Answer, pack(Answer("fine")))

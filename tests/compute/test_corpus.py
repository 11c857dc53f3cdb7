"""Every calculation the corpus names, from the readings that were said up to then."""

from __future__ import annotations

import pytest

from assistant.compute import work_out
from tests.compute.replay import CORPUS, replay

EXPECTED = [(entry, wanted) for entry in CORPUS for wanted in entry["gold"].get("calculations", [])]


@pytest.mark.parametrize(
    ("entry", "wanted"), EXPECTED, ids=[f"{entry['id']}-{wanted['name']}" for entry, wanted in EXPECTED]
)
def test_the_corpus_calculation_holds(entry, wanted):
    # Source: the corpus's own gold, computed from CoolProp saturation at sea level; not independent of ours.
    system, qualifier = wanted.get("system", "main"), wanted.get("qualifier")
    found = [
        c
        for c in work_out(replay(entry["job"], entry["id"]))
        if c.name == wanted["name"] and c.system == system and qualifier in (None, c.qualifier)
    ]
    assert [c.value for c in found] == [pytest.approx(wanted["value"], abs=wanted["plus_minus"])]


@pytest.mark.parametrize("entry", CORPUS, ids=[entry["id"] for entry in CORPUS])
def test_no_calculation_is_given_twice_or_rests_on_a_reading_that_is_not_true(entry):
    found = work_out(replay(entry["job"], entry["id"]))
    keys = [(c.name, c.system, c.qualifier) for c in found]
    assert len(keys) == len(set(keys))
    for calculation in found:
        allowed = ("current", "superseded") if calculation.name in ("vacuum_rise", "pressure_drop") else ("current",)
        assert all(r.status in allowed for r in calculation.inputs)

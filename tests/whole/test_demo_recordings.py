"""The demonstration's recordings through the real recogniser: every value said is in the log, and nothing else."""

import json
from datetime import date
from pathlib import Path

import pytest

from assistant import Assistant
from tests.score.replay import compare_note

DEMO = Path(__file__).parents[2] / "demo_audio"
EXPECTED = json.loads((DEMO / "expected.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def outcomes():
    """What each recording's note came to against what a listener should hear in it, by recording and part."""
    found = {}
    with Assistant() as assistant:
        for told in EXPECTED["notes"]:
            day = date.fromisoformat(told["date"])
            reply = assistant.tell(audio=DEMO / f"{told['name']}.ogg", job=EXPECTED["job"], date=day)
            found[told["name"]] = {o.part: o for o in compare_note(reply.note, reply.log, told["gold"])}
    return found


@pytest.mark.parametrize("name", [told["name"] for told in EXPECTED["notes"]])
def test_every_value_said_is_written_down_and_nothing_else(outcomes, name):
    readings = outcomes[name]["readings"]
    assert readings.missed == ()
    assert readings.extra == ()


@pytest.mark.parametrize("part", ["verdicts", "calculations", "concerns", "equipment", "agreements", "duct_runs"])
def test_what_follows_from_the_values_is_right(outcomes, part):
    missed = {name: o[part].missed for name, o in outcomes.items() if part in o and o[part].missed}
    assert missed == {}


def test_the_charge_is_provisional_until_the_air_is_mended_and_the_charge_checked_again(outcomes):
    """Day one: short of air. Day two: the return is added. Day three: measured, checked again, in range."""
    spoken = {told["name"]: told["gold"].get("verdicts", []) for told in EXPECTED["notes"]}
    charge = [
        verdict["status"]
        for name in spoken
        for verdict in spoken[name]
        if verdict["about"] == "charge" and verdict.get("system") == "studio"
    ]
    assert charge[0] == "provisional" and charge[-1] == "in_range"
    assert all(outcomes[name]["verdicts"].missed == () for name in spoken if spoken[name])

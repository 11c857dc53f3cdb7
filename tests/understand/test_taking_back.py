"""Taking back more than one value, and putting a list right by a list."""

import datetime

import pytest

from assistant import Assistant

DAY = datetime.date(2026, 3, 2)


def _log(*notes: str) -> dict[str, list[tuple[float, str]]]:
    with Assistant(None) as assistant:
        for text in notes:
            reply = assistant.tell(text=text, job="chapel", date=DAY)
    found: dict[str, list[tuple[float, str]]] = {}
    for reading in reply.log["readings"]:
        found.setdefault(reading["quantity"], []).append((reading["value"], reading["status"]))
    return found


@pytest.mark.parametrize("said", ["Forget all that, wrong unit.", "I had those backwards.", "Scratch all that."])
def test_all_of_the_note_before_is_taken_back(said):
    found = _log("Outdoor's 90.", "Suction 340, head 118.", said)
    assert found["suction_pressure"] == [(340, "retracted")]
    assert found["liquid_pressure"] == [(118, "retracted")]
    assert found["outdoor_temp"] == [(90, "current")]


def test_a_list_puts_a_list_right_in_its_order():
    found = _log("Suction 118 and head 340, liquid line 95. No, 114 and 344 and 96.")
    assert found == {
        "suction_pressure": [(118, "retracted"), (114, "current")],
        "liquid_pressure": [(340, "retracted"), (344, "current")],
        "liquid_line_temp": [(95, "retracted"), (96, "current")],
    }


@pytest.mark.parametrize("said", ["Not 340, 314.", "The head was 314 not 340."])
def test_what_is_denied_is_taken_back(said):
    assert _log("Head 340.", said) == {"liquid_pressure": [(340, "retracted"), (314, "current")]}


def test_a_vacuum_that_still_comes_down_is_read_on():
    assert _log("Vacuum's 350 microns.", "Still coming down, 280.")["vacuum_level"][-1] == (280, "current")

"""Permits, inspections, starts, faults and times, in further words."""

from datetime import date

import pytest

from assistant import Assistant
from tests.understand.heard import note


@pytest.mark.parametrize(  # told on Tuesday, May 12 2026
    ("said", "expected"),
    [
        ("Turned it on ten after three.", ("startup", None, None, "2026-05-12T15:10")),
        ("Got to the mill at five to seven.", ("arrival", None, None, "2026-05-12T06:55")),
        ("Left at twenty to two, out of there.", ("departure", None, None, "2026-05-12T13:40")),
        ("Gas inspector came at half past one and passed it.", ("inspection", "gas", "passed", "2026-05-12T13:30")),
        (
            "Electrical inspection's set for tomorrow afternoon at three.",
            ("inspection", "electrical", "scheduled", "2026-05-13T15:00"),
        ),
        ("Gas permit went in today.", ("permit", "gas", "applied", "2026-05-12")),
        ("Fire permit I put in for this morning.", ("permit", "fire", "applied", "2026-05-12")),
        ("Coil's on the truck Friday, it'll be here by noon.", ("delivery", None, "scheduled", "2026-05-15T12:00")),
        ("Took eleven ounces out of it.", ("recovery", None, "finished", None)),
        ("Run cap's rated 40, I measure 29.", ("failure_found", None, None, None)),
        ("Lit her up at nine fifteen this morning. Head 340.", ("startup", None, None, "2026-05-12T09:15")),
        (
            "Waited till the kids were gone and lit the burner at two twenty.",
            ("first_fire", None, None, "2026-05-12T14:20"),
        ),
    ],
)  # fmt: skip
def test_an_event_is_told(said, expected):
    found = [(e.kind, e.trade, e.outcome, e.when) for e in note(said).events]
    assert expected in found


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ("I'm swapping it out Monday, seven a.m.", "departure"),
        ("Pump's valved off and the valve's shut, I'm watching it.", "shutdown"),
        ("Run cap's rated 40, I measure 39.6.", "failure_found"),
        ("Contactor's pulled in and nothing happens.", "arrival"),
        ("Inspector failed it for the fire damper, and that was the building inspector.", "fire"),
    ],
)
def test_what_only_sounds_like_an_event_is_none(said, kind):
    assert kind not in {e.kind for e in note(said).events} | {e.trade for e in note(said).events}


def test_a_pump_that_was_started_and_passed_in_one_note_passed():
    said = "Pump's been on since noon, 290 microns. Valved off ten minutes and it held at 350."
    assert [(e.kind, e.outcome) for e in note(said).events] == [("evacuation", "passed")]


@pytest.mark.parametrize(
    "said",
    [
        "went in, I weighed in a pound six",
        "put a twelve in on the return and I hung a 12 in",
        "8 pounds 8 to 315 microns",
        "Vacuum 300 microns, held it 0 minutes, 900 microns.",
        "ordered two rolls of",
    ],
)
def test_a_note_that_breaks_off_is_still_taken(said):
    with Assistant(None) as assistant:
        told = assistant.tell(text=said, job="dock", date=date(2026, 5, 12))
    assert told.note["text"] == said

"""Systems told apart by the names and rooms a job gives them."""

import pytest

from assistant.log.settle import start_job
from assistant.records import Equipment
from tests.understand.heard import note


def by_system(said: str, job=None) -> dict[str, dict[str, float]]:
    found: dict[str, dict[str, float]] = {}
    for reading in note(said, job).readings:
        found.setdefault(reading.system, {})[reading.quantity] = reading.value
    return found


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (
            "Two systems here, box office and green room. Box office, suction 118. Green room, suction 121.",
            {"box office": {"suction_pressure": 118}, "green room": {"suction_pressure": 121}},
        ),
        (
            "They've got two systems, one on the lodge and a little one on the bath house. Starting with the lodge, "
            "head's 340. Now the bath house. Head's 310.",
            {"lodge": {"liquid_pressure": 340}, "bath house": {"liquid_pressure": 310}},
        ),
        (
            "There's two systems and I'll do the chapel first. Chapel is at 345 on the head.",
            {"chapel": {"liquid_pressure": 345}},
        ),
        (
            "Three units: nave, vestry and crypt. Nave suction 118. Vestry suction 119. Crypt suction 120.",
            {
                "nave": {"suction_pressure": 118},
                "vestry": {"suction_pressure": 119},
                "crypt": {"suction_pressure": 120},
            },
        ),
        ("Two systems, both 410A. Suction 118.", {"main": {"suction_pressure": 118}}),
        ("Chapel is hot. Suction 118.", {"main": {"suction_pressure": 118}}),
    ],
)
def test_a_reading_belongs_to_the_system_named_last(said, expected):
    assert by_system(said) == expected


def test_a_listed_system_is_kept_though_nothing_is_known_of_it_yet():
    told = note("Two systems, one for the lodge and one for the bath house. Lodge suction 118.").equipment
    assert told == (Equipment(system="lodge", note="note"), Equipment(system="bath house", note="note"))


def test_a_name_from_an_earlier_note_still_tells_systems_apart():
    job = start_job("job")
    known = [Equipment(system="lodge", note="a"), Equipment(system="bath house", note="a")]
    assert by_system("Okay, bath house. Suction 117.", type(job)(**{**_fields(job), "equipment": tuple(known)})) == {
        "bath house": {"suction_pressure": 117}
    }


def _fields(job) -> dict:
    return {name: getattr(job, name) for name in job.__dataclass_fields__}

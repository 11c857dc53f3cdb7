"""Which job the talk is about."""

import pytest

from assistant.understand.commands import JobChange, job_change


@pytest.mark.parametrize(
    ("said", "change"),
    [
        ("New job at Marlow's bakery.", JobChange("Marlow's bakery", True)),
        ("Okay, new job at the dental office on Pine, three ton.", JobChange("dental office on Pine", True)),
        ("go back to the bakery job", JobChange("bakery", False)),
        ("Switch over to the feed store job, suction one eighteen.", JobChange("feed store", False)),
    ],
)
def test_a_note_can_open_a_job_or_go_back_to_one(said, change):
    assert job_change(said) == change


@pytest.mark.parametrize(
    "said",
    [
        "Back at the bakery, second day.",
        "It's a new job for me.",
        "Switch to unit two.",
        "He got a new job at the plant.",
    ],
)
def test_other_talk_changes_no_job(said):
    assert job_change(said) is None

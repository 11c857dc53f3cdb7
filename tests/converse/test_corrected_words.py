"""A value a person set right is written as theirs, with what was heard."""

from __future__ import annotations

import pytest

from assistant.converse.report_words import standing
from assistant.records import Corrected, Reading


@pytest.mark.parametrize(
    ("action", "status", "says"),
    [
        ("correct", "current", "corrected by Ana, heard as 345 psi"),
        ("correct", "superseded", "corrected by Ana, heard as 345 psi, later replaced"),
        ("confirm", "current", "confirmed by Ana"),
        ("discard", "retracted", "discarded by Ana"),
    ],
)
def test_what_a_person_did_is_written_beside_the_value(action, status, says):
    mark = Corrected(action, "Ana", "2026-05-12T10:00:00+00:00", 345.0, "psi")
    assert standing(Reading("liquid_pressure", 354.0, "psi", status=status, correction=mark)) == says


def test_a_reading_nobody_touched_reads_as_before():
    assert standing(Reading("liquid_pressure", 354.0, "psi")) == ""

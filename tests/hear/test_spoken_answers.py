"""What the assistant says aloud is understood again: the voice's sound, heard by the recogniser."""

import pytest

from assistant.cli.speaking import spoken
from assistant.hear.recording import read_recording
from assistant.hear.transcript import transcribe
from tests.understand.heard import current


@pytest.mark.parametrize(
    ("answer", "values"),
    [
        ("Head 342, liquid line 94.", {"liquid_pressure": 342, "liquid_line_temp": 94}),
        ("Suction 118, suction line 53.", {"suction_pressure": 118, "suction_line_temp": 53}),
        ("Return airflow 1230 cfm.", {"return_airflow": 1230}),
        ("Manifold pressure 3.5 inches.", {"manifold_pressure": 3.5}),
        ("Superheat 13.4.", {"superheat": 13.4}),
    ],
)
def test_a_spoken_answer_says_the_number_that_was_meant(ears, answer, values):
    transcript = transcribe(read_recording(spoken(answer)), ears)
    assert current(transcript.text) == pytest.approx(values), transcript.text

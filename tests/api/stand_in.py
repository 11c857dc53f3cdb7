"""The command, with a recogniser that hears the same words in everything: for tests of what stands around it.

python -m tests.api.stand_in serve --home FOLDER
"""

from __future__ import annotations

import numpy as np

from api import spoken
from assistant.cli import main
from assistant.hear import transcript
from assistant.hear.gates import Heard
from assistant.hear.recording import Recording
from assistant.hear.windows import Window
from assistant.records import Transcript, Word

SAID = "Suction pressure is 118. Head pressure is 345."


def hears(samples: np.ndarray, window: Window) -> list[Heard]:
    words = _words(window.start_s, window.end_s)
    return [Heard(words, window.start_s, window.end_s, -0.2, 0.02, 1.2)]


def transcribe(recording: Recording, ears: object, progress=None) -> Transcript:
    return Transcript(SAID, _words(0.0, recording.duration_s), (), recording.duration_s, "stand-in")


def _words(start_s: float, end_s: float) -> tuple[Word, ...]:
    said = SAID.split()
    step = (end_s - start_s) / len(said)
    return tuple(Word(word, start_s + at * step, start_s + (at + 1) * step, 0.9) for at, word in enumerate(said))


if __name__ == "__main__":
    spoken.recogniser = lambda assistant: hears
    transcript.load_ears = lambda *_: object()
    transcript.transcribe = transcribe
    main()

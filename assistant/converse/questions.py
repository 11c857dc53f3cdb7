"""What a question asks: of which kind, and about what. Whether it is one, the understanding stage says."""

from __future__ import annotations

import re
from dataclasses import dataclass

from assistant.converse.vocabulary import finding_named, kinds, quantities_named
from assistant.understand.patterns import found
from assistant.understand.questions import FILLERS

_OPENS_WITH_WHAT = re.compile(
    rf"^{FILLERS}(?:what (?!about)|how (?:much|many|low|high|long|far|cold|hot|deep|close|big|short)\b|when |who )"
)
_GOES_ON = re.compile(r"^(?:(?:okay|ok|so|um|uh|well|but) )*(?:and|how about|what about|also|same (?:for|question))\b")
_POINTS_BACK = re.compile(r"\b(?:it|that|that one|this one|then|those|one|same)\b")
_PAST = re.compile(r"\b(?:was|were|did|had|got)\b")


@dataclass(frozen=True, slots=True)
class Question:
    """One question, as far as its own words go. What it leaves out comes from what was spoken of before."""

    text: str
    words: str  # prepared by `plain_words`, without those that name a time or a job
    kind: str | None  # a [[kind]] of questions.toml, "value", or None when the words name none
    quantities: tuple[str, ...] = ()
    newest: bool = False  # of several quantities the one said last is meant
    about: str | None = None  # a finding
    goes_on: bool = False  # "and upstairs?", "how about the liquid line?"
    points_back: bool = False  # "was that one in range?"
    past: bool = False  # "was", "did"


def read_question(text: str, words: str) -> Question:
    """The question in `text`; `words` are its plain words without those of time and job."""
    # The parts that say nothing of the quantity would drown it: "how much return am I short" asks no return reading.
    quantities, newest = quantities_named(words)
    kind = kind_of(words)
    if kind is None and quantities and not _GOES_ON.search(words):
        kind = "value"
    return Question(
        text=text,
        words=words,
        kind=kind,
        quantities=quantities,
        newest=newest,
        about=finding_named(words),
        goes_on=bool(_GOES_ON.search(words)),
        points_back=bool(_POINTS_BACK.search(words)),
        past=bool(_PAST.search(words)),
    )


def kind_of(words: str) -> str | None:
    """The kind of question, by the first wording of questions.toml that is found; None when there is none."""
    asks_what = bool(_OPENS_WITH_WHAT.search(words))
    for kind in kinds():
        wordings = kind.say if asks_what else kind.say + kind.yes_no
        if found(wordings, words):
            return kind.name
    return None

"""What a sentence asks: whether it is a question at all, of which kind, and about what."""

from __future__ import annotations

import re
from dataclasses import dataclass

from assistant.converse.patterns import found, plain_words
from assistant.converse.vocabulary import finding_named, kinds, quantities_named

_FILLERS = r"(?:(?:so|okay|ok|and|um|uh|hey|well|now|but|wait|alright|right|also|then|oh|hm|yeah|yes|no|listen|just) )*"
_AUX = "is|was|are|were|am|did|does|do|can|could|will|would|should|has|have"
_WHO = (
    r"(?:i|we|you|it|he|she|they|that|this|those|these|there|the|my|our|his|her|their|everything|anything|anybody|any)"
)
_ASKED_VERB = (
    r"(?:pass|fail|hold|get|come|say|make|drop|look|work|go|read|do|give|call|show|stay|sign|agree|approve|want|answer"
    r"|finish|start|need|have|leak|change|help|improve|freeze|inspect)"
)
_OPENINGS = tuple(
    re.compile(rf"^{_FILLERS}{opening}")
    for opening in (
        r"what (?:about|size|kind|sort|day|date|time|refrigerant|else|color) (?!i |we |a )",
        rf"what (?:{_AUX})\b",
        rf"what (?:\w+ ){{1,4}}(?:{_AUX}) {_WHO}\b",
        rf"how (?:about|{_AUX})\b",
        rf"how (?:\w+ ){{1,4}}(?:{_AUX})\b",
        r"how (?:much|many|big|long) (?:for|of|would|to)\b",
        r"how (?:much|many) (?:\w+ ){1,3}(?:came|went|goes|comes|go|come)\b",
        r"how (?:much|many) (?:came|went|goes|comes)\b",
        r"what (?:needs|happened|changed|failed|broke)\b",
        r"how come\b",
        rf"(?:when|where|why) (?:{_AUX})\b",
        r"why not\b",
        r"who (?:is|was|did|has|are|am|said|approved|signed|does|do|will)\b",
        r"which (?:ones?|jobs?|system|unit|visit|day|way|trade|inspections?|permits?|side|floor|return|test)\b",
        rf"(?:is|was|are|were) (?:{_WHO}|everything|\w+ (?:in range|okay|ok|good|done|low|high))\b",
        r"am i\b",
        r"(?:do|can|could|will|would|should|have) (?:i|we|you|it|he|she|they|that|this|those)\b",
        r"(?:does|has|will|should|would) (?:i|we|it|he|she|they|that|this|the|my|our|a|an|anybody|anything)\b",
        r"did (?:i|we|you|it|he|she|they|that|this|those)\b",
        rf"did (?:the |my |our |his |her )?(?:\w+ ){{1,4}}{_ASKED_VERB}\b",
        r"any (?:co|leaks?|problems|issues|concerns|red flags|word|news|idea)\b",
        r"anything (?:wrong|left|missing|else|i )",
        r"(?:tell|remind|give) me (?:what|how|when|who|whether|if|which|the|my|a rundown|where)\b",
        r"(?:read|say|repeat) (?:that|it|them|this|those|back)\b",
        r"read back\b",
        r"catch me up\b",
        r"compare\b",
    )
)
# Openings like a question's whose sentence still states something: "what's left is the strap".
_STATED = tuple(
    re.compile(rf"^{_FILLERS}{statement}")
    for statement in (
        r"what (?:is|was) (?:\w+ ){1,3}(?:is|was) (?!it|that|this|he|she|the\b.*\b(?:now|today)$)",
        r"what (?:i|we|he|she|they|you) \w+",
        r"what a \b",
        r"(?:when|where|how) (?:i|we|he|she|they|you|the|it)\b",
        r"(?:do|did|does) (?:not|the trick)\b",
        r"have (?:it|that|this|those|the) (?:\w+ )?(?:done|finished|checked|looked|inspected|ready)\b",
        r"(?:do|have) (?:it|that|this|those) (?:tomorrow|\w+day|next|on|when|after|before)\b",
        r"did (?:it|that|this|those) (?:already|too|yesterday|twice|again|this|with|by|in|on)\b",
        r"which (?:is|was)\b",
        r"(?:which|what) (?:one|\w+) (?:i|we) (?:do|did|could|can) not\b",
        r"what is what\b",
    )
)
_TAG = re.compile(
    r"(?:\b(?:right|you know|okay|ok|yeah|huh|see|eh|isn't it|ain't it|alright)|, what,.*)\s*\?+\s*$", re.IGNORECASE
)
_OPENS_WITH_WHAT = re.compile(
    rf"^{_FILLERS}(?:what (?!about)|how (?:much|many|low|high|long|far|cold|hot|deep|close|big|short)\b|when |who )"
)
_GOES_ON = re.compile(r"^(?:(?:okay|ok|so|um|uh|well|but) )*(?:and|how about|what about|also|same (?:for|question))\b")
_POINTS_BACK = re.compile(r"\b(?:it|that|that one|this one|then|those|one|same)\b")
_PAST = re.compile(r"\b(?:was|were|did|had|got)\b")


def is_question(text: str) -> bool:
    """Whether one sentence asks something, with or without a question mark.

    "what's my subcool" and "did it hold" do; "what I did was swap the cap" and "when I got there it was 95" do not.
    """
    words = plain_words(text)
    opens = any(opening.search(words) for opening in _OPENINGS)
    if not words or _TAG.search(text) and not opens:
        return False
    if any(statement.search(words) for statement in _STATED):
        return text.rstrip().endswith("?")
    if text.rstrip().endswith("?"):
        return True
    last = plain_words(re.split(r"[,;.]", text)[-1])  # "took 36 seconds on the two foot dial, what's my input"
    return opens or any(opening.search(last) for opening in _OPENINGS)


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

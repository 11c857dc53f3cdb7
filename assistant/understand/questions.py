"""Which sentences ask something. A recogniser often drops the question mark, and adds some of its own."""

from __future__ import annotations

import re

from assistant.understand.patterns import plain_words

_FILLER = "so|okay|ok|and|um|uh|hey|well|now|but|wait|alright|right|also|then|oh|hm|yeah|yes|no|listen|just"
FILLERS = rf"(?:(?:{_FILLER}) )*"
_AUX = "is|was|are|were|am|did|does|do|can|could|will|would|should|has|have"
_WHO = (
    r"(?:i|we|you|it|he|she|they|that|this|those|these|there|the|my|our|his|her|their|everything|anything|anybody|any)"
)
_ASKED_VERB = (
    r"(?:pass|fail|hold|get|come|say|make|drop|look|work|go|read|do|give|call|show|stay|sign|agree|approve|want|answer"
    r"|finish|start|need|have|leak|change|help|improve|freeze|inspect)"
)


def _begins_with(wordings: tuple[str, ...]) -> re.Pattern[str]:
    """One expression for all, so that a sentence is looked at once."""
    return re.compile(f"^{FILLERS}(?:{'|'.join(wordings)})")


# How a part that only supposes opens: "at 118 on 410A, what's saturation?" measured nothing.
SUPPOSING = frozenset("at with for if on say suppose given assuming between from".split())
# How questions open: the first word, then the rest.
_QUESTIONS = (
    ("what", r" (?:about|size|kind|sort|day|date|time|refrigerant|else|color) (?!i |we |a )"),
    ("what", rf" (?:{_AUX})\b"),
    ("what", rf" (?:\w+ ){{1,4}}(?:{_AUX}) {_WHO}\b"),
    ("how", rf" (?:about|{_AUX})\b"),
    ("how", rf" (?:\w+ ){{1,4}}(?:{_AUX})\b"),
    ("how", r" (?:much|many|big|long) (?:for|of|would|to)\b"),
    ("how", r" (?:much|many) (?:\w+ ){1,3}(?:came|went|goes|comes|go|come)\b"),
    ("how", r" (?:much|many) (?:came|went|goes|comes)\b"),
    ("what", r" (?:needs|happened|changed|failed|broke)\b"),
    ("how", r" (?:much|many) (?:\w+ ){0,3}(?:so far|left|total|altogether|all told|to go)$"),
    ("target", r" superheat (?:for|at|with|if)\b"),
    ("how", r" come\b"),
    ("when|where|why", rf" (?:{_AUX})\b"),
    ("why", r" not\b"),
    ("who", r" (?:is|was|did|has|are|am|said|approved|signed|does|do|will)\b"),
    ("which", r" (?:ones?|jobs?|system|unit|visit|day|way|trade|inspections?|permits?|side|floor|return|test)\b"),
    ("is|was|are|were", rf" (?:{_WHO}|everything|\w+ (?:in range|okay|ok|good|done|low|high))\b"),
    ("am", r" i\b"),
    ("do|can|could|will|would|should|have", r" (?:i|we|you|it|he|she|they|that|this|those)\b"),
    ("does|has|will|should|would", r" (?:i|we|it|he|she|they|that|this|the|my|our|a|an|anybody|anything)\b"),
    ("did", r" (?:i|we|you|it|he|she|they|that|this|those)\b"),
    ("did", rf" (?:the |my |our |his |her )?(?:\w+ ){{1,4}}{_ASKED_VERB}\b"),
    ("any", r" (?:co|leaks?|problems|issues|concerns|red flags|word|news|idea)\b"),
    ("any", r" (?:\w+ ){1,3}(?:i should|i need to|to worry|to know|left|yet)\b"),
    ("anything", r" (?:wrong|left|missing|else|i )"),
    ("tell|remind|give", r" me (?:what|how|when|who|whether|if|which|the|my|a rundown|where)\b"),
    ("read|say|repeat", r" (?:that|it|them|this|those|back)\b"),
    ("read", r" back\b"),
    ("catch", r" me up\b"),
    ("compare", r"\b"),
)
_OPENINGS = _begins_with(tuple(f"(?:{first}){rest}" for first, rest in _QUESTIONS))
# What a sentence must begin with to ask anything, in words as they were said: most are spared a closer look by this.
# A short form may hide the word ("won't" is "will not"), so whatever begins with an apostrophe is looked at.
_FIRST_WORDS = "|".join(dict.fromkeys(["'", "wo", *(first for first, _ in _QUESTIONS)]))
_MAY_OPEN = re.compile(rf"[^a-z0-9']*(?:(?:{_FILLER})(?![a-z0-9'])[^a-z0-9']*)*(?:(?:{_FILLER})'|{_FIRST_WORDS})")
# Openings like a question's whose sentence still states something: "what's left is the strap".
_STATED = _begins_with(
    (
        r"what (?:is|was) (?:\w+ ){1,3}(?:is|was) (?!it|that|this|he|she|the\b.*\b(?:now|today)$)",
        r"what (?:i|we|he|she|they|you) \w+",
        r"what a \b",
        r"(?:when|where|how) (?:i|we|he|she|they|you|the|it)\b",
        r"where (?:was|were) (?:i|we) \w+",
        r"(?:do|did|does) (?:not|the trick)\b",
        r"have (?:it|that|this|those|the) (?:\w+ )?(?:done|finished|checked|looked|inspected|ready)\b",
        r"(?:do|have) (?:it|that|this|those) (?:tomorrow|\w+day|next|on|when|after|before)\b",
        r"did (?:it|that|this|those) (?:already|too|yesterday|twice|again|this|with|by|in|on)\b",
        r"which (?:is|was)\b",
        r"(?:which|what) (?:one|\w+) (?:i|we) (?:do|did|could|can) not\b",
        r"what is what\b",
    )
)
# Put like a question, but asked of the assistant to be written down: "can you remind me to call the inspector?"
_REQUESTED = _begins_with(
    (
        r"(?:can|could|will|would) you (?:please )?"
        r"(?:(?:remind me to|note|log|write|put|add|mark|make|schedule|set|jot|record|take|book)"
        r"|(?:ring|call|phone|text|tell|ask|have|get) (?:the|him|her|them|my|our|somebody))\b",
    )
)
_TAG = re.compile(
    r"(?:\b(?:right|you know|okay|ok|yeah|huh|see|eh|isn't it|ain't it|alright)|, what,.*|that's,? what\b.*)\s*\?+\s*$",
    re.IGNORECASE,
)


def is_question(text: str) -> bool:
    """Whether one sentence asks something, with or without a question mark.

    "what's my subcool" and "did it hold" do; "what I did was swap the cap" and "when I got there it was 95" do not.
    """
    marked = text.rstrip().endswith("?")
    cut = max(map(text.rfind, ",;."))
    behind = text[cut + 1 :].strip() if cut >= 0 else ""  # "took 36 seconds on the two foot dial, what's my input"
    if not marked and not _may_open(text) and not _may_open(behind):
        return False
    words = plain_words(text)
    if _REQUESTED.match(words):
        return False
    opens = bool(_OPENINGS.match(words))
    if marked:
        return bool(words) and (opens or not _TAG.search(text))
    if not (opens or behind) or _STATED.match(words):
        return False
    return opens or bool(_OPENINGS.match(plain_words(behind)))


def _may_open(text: str) -> bool:
    return not text.isascii() or _MAY_OPEN.match(text.lower()) is not None

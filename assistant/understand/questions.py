"""Which sentences ask something. A recogniser often drops the question mark, and adds some of its own."""

from __future__ import annotations

import re

_OPENING = re.compile(
    r"^(?:so|and|okay|ok|um|uh|well|hey|now|alright|but|then|wait|quick question|remind me|,|\s)*"
    r"(?:what(?:'s|'d|'re| is| was| were| did| do| does| size| about| would| should| am| are| have| else| kind| time| date| day)\b"
    r"|how(?:'s|'d| is| was| did| do| does| much| many| long| short| far| about| are| am| come| would| big| low| high| low)\b"
    r"|(?:was|were|is|did|does|do|has|have|can|could|am|are|will|should) (?:the|that|it|i|my|we|you|he|she|they|this|there|our|his|her|anything|anybody|anyone|any|everything|upstairs|downstairs|charge|unit|both)\b"
    r"|(?:when|where|who|which|why)(?:'s|'d|'re| is| was| were| did| do| does| are| am| will| system| unit| one| trade| job| inspection)\b"
    r"|tell me (?:what|how|when|if|about)|read (?:that|it|them|me) back|read back|show me|give me (?:the|my|a)|compare|where was i|what did i forget|am i (?:forgetting|missing|short|good))",
    re.IGNORECASE,
)
_TELLING = re.compile(
    r"\b(?:when i (?:got|was|came|left|get|walked|started|put)|what i (?:did|got|have|want|need|found|think)|is what (?:it|i)|how i )",
    re.IGNORECASE,
)


def is_question(sentence: str) -> bool:
    """Whether a sentence asks. "When I got there it was 95" and "what I did was …" tell."""
    text = sentence.strip()
    if not text or _TELLING.search(text[:40]):
        return False
    if _OPENING.match(text):
        return True
    return text.endswith("?") and not re.search(r"\d", text) and len(text.split()) <= 12

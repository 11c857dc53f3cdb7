"""How like a question's words are to a record's: endings and small words do not matter."""

from __future__ import annotations

import re

from assistant.converse.asking import Asking

_SMALL_WORDS = frozenset(
    "when is was are were did does do will can should the a an i we he she they it be coming come going go back due"
    " to of at on for in what day date time my our you that this supposed get got here there have has so and up how"
    " much many out say said yes no not yet still price cost quote quoted quoting pay paid him her them all told job"
    " each with about some any them".split()
)


def content_words(words: str) -> set[str]:
    """The words of a question that carry what it is about."""
    return {word for word in re.findall(r"[a-z0-9]+", words) if word not in _SMALL_WORDS and len(word) > 2}


def likeness(words: set[str], text: str) -> float:
    """How much of a question's content words a record's text holds, 0 to 1; endings do not matter."""
    stems = {_stem(word) for word in re.findall(r"[a-z0-9]+", text.lower())}
    return sum(_stem(word) in stems for word in words) / len(words) if words else 0.0


def _stem(word: str) -> str:
    for ending in ("ing", "ed", "es", "s", "e"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return word[: -len(ending)]
    return word


def content_asked(asking: Asking) -> set[str]:
    """The question's content words; those of what was spoken of before, when it only says "that"."""
    content = content_words(asking.words)
    if not content and asking.topic and asking.question.points_back:
        return content_words(asking.topic.lower())
    return content

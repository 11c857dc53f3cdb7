"""Wordings as a mechanic can read them, turned into one regular expression.

    how much … short      any words between (at most eight)
    (is|was) it           one or the other
    [still] waiting       may be left out

Whole words only, in text that `plain_words` has prepared.
"""

from __future__ import annotations

import functools
import re

_SHORT_FORMS = (
    (r"\bwon't\b", "will not"),
    (r"\bcan't\b", "can not"),
    (r"\bwhatcha\b", "what do you"),
    (r"\bgonna\b", "going to"),
    (r"\bgotta\b", "got to"),
    (r"n't\b", " not"),
    (r"\b(what|how|when|where|who|why)'d\b", r"\1 did"),
    (r"'d\b", " would"),
    (r"'ll\b", " will"),
    (r"'re\b", " are"),
    (r"'ve\b", " have"),
    (r"'m\b", " am"),
    (r"'s\b", " is"),
    (r"\bwhats\b", "what is"),
    (r"\bhows\b", "how is"),
    (r"\bwhens\b", "when is"),
    (r"\bsub[ -](cool\w*)", r"sub\1"),
    (r"\bsuper[ -](heat)", r"super\1"),
    (r"\bair[ -]flow", "airflow"),
    (r"\bre[ -]check", "recheck"),
)
_NUMBER = r"-?\d+(?:[./]\d+)?[a-z]*"


@functools.lru_cache(maxsize=512)
def plain_words(text: str) -> str:
    """`text` in lower case, short forms written out, without punctuation except inside numbers."""
    text = text.lower().replace("’", "'").replace("–", "-").replace(",000", "000")
    for short, full in _SHORT_FORMS:
        text = re.sub(short, full, text)
    return " ".join(re.findall(rf"{_NUMBER}|[a-z]+", text.replace("-", " ")))


def found(wordings: tuple[str, ...], words: str) -> re.Match[str] | None:
    """Where the first of `wordings` stands in `words` (text from `plain_words`); the longest wording wins a tie."""
    return _compiled(wordings).search(f" {words}")


def all_found(wordings: tuple[str, ...], words: str) -> list[re.Match[str]]:
    """Every place where one of `wordings` stands in `words`."""
    return list(_compiled(wordings).finditer(f" {words}"))


@functools.cache
def _compiled(wordings: tuple[str, ...]) -> re.Pattern[str]:
    longest_first = sorted(wordings, key=len, reverse=True)
    return re.compile("(?:" + "|".join(map(_expression, longest_first)) + r")(?=\s|$)")


def _expression(wording: str) -> str:
    """One wording as a regular expression; each word brings the space before it."""
    parts = []
    for token in re.findall(r"\[[^\]]*\]|\([^)]*\)|\S+", wording):
        if token == "…":
            parts.append(r"(?:\s\S+){0,8}?")
        elif token[0] in "[(":
            choice = "|".join(r"\s" + r"\s".join(map(re.escape, words.split())) for words in token[1:-1].split("|"))
            parts.append(f"(?:{choice})" + ("?" if token[0] == "[" else ""))
        else:
            parts.append(r"\s" + re.escape(token))
    return "".join(parts)

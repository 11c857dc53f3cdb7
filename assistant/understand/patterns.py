"""Wordings as a mechanic can read them, turned into one regular expression.

    how much … short      any words between (at most eight)
    (is|was) it           one or the other
    [still] waiting       may be left out

Whole words only, in text that `plain_words` has prepared.
"""

from __future__ import annotations

import functools
import re

_SHORT_FORMS = tuple(
    (sign, re.compile(short), full)  # only looked for in text that has the sign
    for sign, short, full in (
        ("won't", r"\bwon't\b", "will not"),
        ("can't", r"\bcan't\b", "can not"),
        ("whatcha", r"\bwhatcha\b", "what do you"),
        ("gonna", r"\bgonna\b", "going to"),
        ("gotta", r"\bgotta\b", "got to"),
        ("n't", r"n't\b", " not"),
        ("'d", r"\b(what|how|when|where|who|why)'d\b", r"\1 did"),
        ("'d", r"'d\b", " would"),
        ("'ll", r"'ll\b", " will"),
        ("'re", r"'re\b", " are"),
        ("'ve", r"'ve\b", " have"),
        ("'m", r"'m\b", " am"),
        ("'s", r"'s\b", " is"),
        ("whats", r"\bwhats\b", "what is"),
        ("hows", r"\bhows\b", "how is"),
        ("whens", r"\bwhens\b", "when is"),
        ("cool", r"\bsub[ -](cool\w*)", r"sub\1"),
        ("heat", r"\bsuper[ -](heat)", r"super\1"),
        ("flow", r"\bair[ -]flow", "airflow"),
        ("check", r"\bre[ -]check", "recheck"),
    )
)
_WORD = re.compile(r"-?\d+(?:[./]\d+)?[a-z]*|[a-z]+")


@functools.lru_cache(maxsize=512)
def plain_words(text: str) -> str:
    """`text` in lower case, short forms written out, without punctuation except inside numbers."""
    text = text.lower().replace("’", "'").replace("–", "-").replace(",000", "000")
    for sign, short, full in _SHORT_FORMS:
        if sign in text:
            text = short.sub(full, text)
    return " ".join(_WORD.findall(text.replace("-", " ")))


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

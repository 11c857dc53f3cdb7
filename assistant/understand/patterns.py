"""Wordings as a mechanic can read them, turned into one regular expression.

    how much … short      any words between (at most eight)
    (is|was) it           one or the other
    [still] waiting       may be left out

Whole words only, in text that `plain_words` has prepared.
"""

from __future__ import annotations

import functools
import re

Forms = tuple[tuple[str, re.Pattern[str], str], ...]  # (sign, short form, written out); looked for where the sign is


def _forms(*rows: tuple[str, str, str]) -> Forms:
    return tuple((sign, re.compile(short), full) for sign, short, full in rows)


_WITH_APOSTROPHE = _forms(
    ("won't", r"\bwon't\b", "will not"),
    ("can't", r"\bcan't\b", "can not"),
    ("n't", r"n't\b", " not"),
    ("'d", r"\b(what|how|when|where|who|why)'d\b", r"\1 did"),
    ("'d", r"'d\b", " would"),
    ("'ll", r"'ll\b", " will"),
    ("'re", r"'re\b", " are"),
    ("'ve", r"'ve\b", " have"),
    ("'m", r"'m\b", " am"),
    ("'s", r"'s\b", " is"),
)
_OTHER_FORMS = _forms(
    ("whatcha", r"\bwhatcha\b", "what do you"),
    ("gonna", r"\bgonna\b", "going to"),
    ("gotta", r"\bgotta\b", "got to"),
    ("whats", r"\bwhats\b", "what is"),
    ("hows", r"\bhows\b", "how is"),
    ("whens", r"\bwhens\b", "when is"),
    ("cool", r"\bsub[ -](cool\w*)", r"sub\1"),
    ("heat", r"\bsuper[ -](heat)", r"super\1"),
    ("flow", r"\bair[ -]flow", "airflow"),
    ("check", r"\bre[ -]check", "recheck"),
)
_WORD = re.compile(r"-?\d+(?:[./]\d+)?[a-z]*|[a-z]+")


def _written_out(text: str, forms: Forms) -> str:
    for sign, short, full in forms:
        if sign in text:
            text = short.sub(full, text)
    return text


@functools.lru_cache(maxsize=512)
def plain_words(text: str) -> str:
    """`text` in lower case, short forms written out, without punctuation except inside numbers."""
    text = text.lower().replace("’", "'").replace("–", "-").replace(",000", "000")
    if "'" in text:
        text = _written_out(text, _WITH_APOSTROPHE)
    text = _written_out(text, _OTHER_FORMS)
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

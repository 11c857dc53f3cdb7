"""Text to tokens: a tokenizer made for trade talk, which also mends the recogniser's slips.

A slip ("sub cool", "bee vent") is rewritten to the trade's word before anything else looks at it, but
every token remembers which characters of the original text it came from, so that `said` is always in
the speaker's own words. One pass over the text: the cost grows with its length and no faster.
"""

from __future__ import annotations

import functools
import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from importlib import resources
from typing import NamedTuple

# A leg ("L2"), a word (with "n't" apart), thousands with commas, decimals, plain digits, clitics, then any other sign.
# Most tokens are words, so the second line takes them whole; the one that takes "n't" off is tried where it follows.
_TOKEN = re.compile(
    r"\b[lL][123]\b"  # a leg of the line
    r"|[^\W\d_]++(?!['’][tT]\b)"
    r"|[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?(?![0-9])"
    r"|[0-9]+\.[0-9]+|(?<![0-9.])\.[0-9]+|[0-9]+"
    r"|(?i:[^\W\d_]+?(?=n['’]t\b)|n['’]t\b|['’](?:s|re|ve|ll|d|m|cause|em)\b)"
    r"|[^\W\d_]+"
    r"|[^\s]"
)
# "16-inch", "three-ton": the hyphen before a unit says nothing
_HYPHENATED_UNIT = re.compile(
    r"(?:inch|ton|tun|foot|feet|degree|amp|volt|minute|hour|day|pound|ounce|micron|second|gallon|btu|cfm|psi|percent|year|stor)",
    re.IGNORECASE,
)


_NO_NUMBER_AFTER = (
    r"(?![\s-]+(?:hundred|thousand|point|oh|[0-9]|\w+teen|\w+ty|ten|eleven|twelve"
    r"|one|two|three|four|five|six|seven|eight|nine)\b)"
)


Span = tuple[int, int]  # characters of the original text


@dataclass(slots=True)
class Tokens:
    """A text as numbered tokens, slips mended."""

    text: str  # the original
    tokens: list[str]
    lower: list[str]  # the same in lower case
    offsets: list[Span]  # of the original text, by token; the words of a mended slip all have the slip's

    def spaced(self, at: int) -> bool:
        """Whether a space follows a token."""
        if at + 1 < len(self.offsets) and self.offsets[at] == self.offsets[at + 1]:
            return True
        end = self.offsets[at][1]
        return self.text[end : end + 1].isspace()

    def phrase(self, start: int, end: int) -> str:
        """Tokens start..end in lower case, spaced as they were said."""
        spaces = (" " if at + 1 < end and self.spaced(at) else "" for at in range(start, end))
        return "".join(map("".join, zip(self.lower[start:end], spaces, strict=True)))


@dataclass(frozen=True, slots=True)
class Slip:
    heard: str
    say: str
    example: str
    becomes: str
    no_number_after: bool = False  # "CO two hundred" is carbon monoxide, two hundred
    beside_number: bool = False  # only where a clause or a number ends before it and a digit follows


@functools.cache
def slips() -> tuple[Slip, ...]:
    """The slip table (slips.toml), in its order."""
    rows = load_table("slips.toml")["slip"]
    return tuple(
        Slip(
            heard,
            row["say"],
            row["example"],
            row["becomes"],
            row.get("no_number_after", False),
            row.get("beside_number", False),
        )
        for row in rows
        for heard in row["heard"]
    )


@functools.cache
def load_table(name: str) -> dict:
    """One of the vocabulary tables beside this file."""
    return tomllib.loads(resources.files("assistant.understand").joinpath(name).read_text("utf-8"))


@functools.cache
def _wanted() -> tuple[tuple[Slip, str], ...]:
    """Each slip with its expression, the longest first; the group's name tells which it was."""
    found = []
    for number, slip in enumerate(sorted(slips(), key=lambda slip: -len(slip.heard))):
        body = r"[\s-]+".join(re.escape(word) for word in slip.heard.split())
        if slip.no_number_after:
            body += _NO_NUMBER_AFTER
        if slip.beside_number:
            body = rf"(?:(?<=[0-9,.;:] )|(?<=^)){body}(?=[ ][0-9])"
        found.append((slip, f"(?P<s{number}>{body})"))
    return tuple(found)


def _finder(expressions: Iterable[str]) -> re.Pattern[str]:
    return re.compile(rf"(?<![A-Za-z])(?:{'|'.join(expressions)})(?![\w])", re.IGNORECASE)


@functools.cache
def _any_slip() -> re.Pattern[str]:
    return _finder(expression for _, expression in _wanted())


@functools.cache
def _mended_to() -> dict[str, list[str]]:
    """The tokens a slip gives way to, by its group's name."""
    return {f"s{number}": _TOKEN.findall(slip.say) for number, (slip, _) in enumerate(_wanted())}


class _Opening(NamedTuple):
    """The slips that one token gives away."""

    follow: frozenset[str]  # the tokens that can come next, or their first characters; "" for any
    finder: re.Pattern[str]
    behind_a_digit: bool  # the token is a slip's last, the first being a digit: "2 turn" may stand in "12 turn"


@functools.cache
def _openings() -> dict[str, _Opening]:
    """How a slip can begin: by its first token, or by its last where a digit comes first."""
    found: dict[str, list[tuple[set[str], str, bool]]] = {}
    for slip, expression in _wanted():
        words = [slip.heard[start:end].lower() for start, end in _plain(slip.heard, 0, len(slip.heard))]
        behind = words[0].isdigit()
        if slip.beside_number:
            follow = set("0123456789")
        elif behind or len(words) == 1 or words[1].isdigit():
            follow = {""}
        else:
            follow = {words[1], "-"}
        found.setdefault(words[-1] if behind else words[0], []).append((follow, expression, behind))
    return {
        token: _Opening(
            frozenset().union(*(follow for follow, _, _ in rows)),
            _finder(expression for _, expression, _ in rows),
            any(behind for _, _, behind in rows),
        )
        for token, rows in found.items()
    }


def read_tokens(text: str) -> Tokens:
    """The tokens of `text` after slips are mended."""
    plain = text.replace("’", "'")
    spans = _plain(plain, 0, len(plain))
    tokens = [plain[start:end] for start, end in spans]
    lower = list(map(str.lower, tokens))
    if slipped := _slips_in(plain, spans, lower):
        tokens, spans = _mended(plain, spans, slipped)
        lower = list(map(str.lower, tokens))
    return Tokens(text, tokens, lower, spans)


def _slips_in(text: str, spans: list[Span], words: list[str]) -> list[re.Match[str]]:
    """Every slip, tried where one can begin; text beyond plain letters is searched from end to end."""
    if not text.isascii():
        return list(_any_slip().finditer(text))
    found: list[re.Match[str]] = []
    openings = _openings()
    for at in [at for at, word in enumerate(words) if word in openings]:
        opening, after = openings[words[at]], words[at + 1] if at + 1 < len(words) else ""
        if "" not in opening.follow and after not in opening.follow and after[:1] not in opening.follow:
            continue
        starts = [spans[at][0]]
        if opening.behind_a_digit:
            before = next((i for i in range(at - 1, -1, -1) if words[i] != "-"), at)
            starts.insert(0, spans[before][1] - 1)
        for start in starts:
            if (not found or start >= found[-1].end()) and (match := opening.finder.match(text, start)):
                found.append(match)
                break
    return found


def _mended(text: str, spans: list[Span], slipped: list[re.Match[str]]) -> tuple[list[str], list[Span]]:
    """Tokens and their places, each slip given way to the trade's word."""
    says = _mended_to()
    tokens: list[str] = []
    places: list[Span] = []

    def keep(kept: list[Span]) -> None:
        places.extend(kept)
        tokens.extend(text[start:end] for start, end in kept)

    at = 0
    for match in slipped:
        first, last = match.span()
        begin = at
        while spans[at][1] <= first:
            at += 1
        keep(spans[begin:at] + _plain(text, spans[at][0], first))  # of "14 turn" the "1" is left
        words = says[match.lastgroup]
        tokens += words
        places += [match.span()] * len(words)
        while at < len(spans) and spans[at][0] < last:
            at += 1
        keep(_plain(text, last, spans[at - 1][1]))
    keep(spans[at:])
    return tokens, places


def _plain(text: str, start: int, end: int) -> list[Span]:
    """Where the tokens of text[start:end] stand, as they are."""
    spans = list(map(re.Match.span, _TOKEN.finditer(text, start, end)))
    if "-" not in text:
        return spans
    return [
        (first, last)
        for first, last in spans
        if not (text[first] == "-" and _HYPHENATED_UNIT.match(text, last) and text[first - 1 : first].isalnum())
    ]

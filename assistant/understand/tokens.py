"""Text to tokens: a tokenizer made for trade talk, which also mends the recogniser's slips.

A slip ("sub cool", "bee vent") is rewritten to the trade's word before anything else looks at it, but
every token remembers which characters of the original text it came from, so that `said` is always in
the speaker's own words. One pass over the text: the cost grows with its length and no faster.
"""

from __future__ import annotations

import functools
import re
import tomllib
from dataclasses import dataclass
from importlib import resources

# Thousands with commas, decimals, plain digits, words (with "n't" apart), clitics, then any other sign.
_TOKEN = re.compile(
    r"[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?(?![0-9])"
    r"|[0-9]+\.[0-9]+|(?<![0-9.])\.[0-9]+|[0-9]+"
    r"|[^\W\d_]+?(?=n['’]t\b)|n['’]t\b"
    r"|['’](?:s|re|ve|ll|d|m|cause|em)\b"
    r"|[^\W\d_]+"
    r"|[^\s]",
    re.IGNORECASE,
)
# "16-inch", "three-ton": the hyphen before a unit says nothing
_HYPHENATED_UNIT = re.compile(
    r"(?:inch|ton|foot|feet|degree|amp|volt|minute|hour|day|pound|ounce|micron|second|gallon|btu|cfm|psi|percent|year|stor)",
    re.IGNORECASE,
)


_NO_NUMBER_AFTER = (
    r"(?![\s-]+(?:hundred|thousand|point|oh|[0-9]|\w+teen|\w+ty|ten|eleven|twelve"
    r"|one|two|three|four|five|six|seven|eight|nine)\b)"
)


@dataclass(frozen=True, slots=True)
class Piece:
    """One token and the characters of the original text it stands for."""

    text: str
    start: int
    end: int
    spaced: bool  # whether a space follows


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
def _slip_finder() -> tuple[re.Pattern[str], dict[str, str]]:
    """One alternation of all slips, and the replacement by group name.

    Grouped by first letter, so that at most places only a handful are tried; the longest first among them.
    """
    ordered = sorted(slips(), key=lambda slip: -len(slip.heard))
    by_letter: dict[str, list[str]] = {}
    says = {}
    for number, slip in enumerate(ordered):
        body = r"[\s-]+".join(re.escape(word) for word in slip.heard.split())
        if slip.no_number_after:
            body += _NO_NUMBER_AFTER
        if slip.beside_number:
            body = rf"(?:(?<=[0-9,.;:] )|(?<=^)){body}(?=[ ][0-9])"
        by_letter.setdefault(slip.heard[0].lower(), []).append(f"(?P<s{number}>{body})")
        says[f"s{number}"] = slip.say
    groups = (f"(?={re.escape(letter)})(?:{'|'.join(parts)})" for letter, parts in by_letter.items())
    return re.compile(rf"(?<![A-Za-z])(?:{'|'.join(groups)})(?![\w])", re.IGNORECASE), says


def pieces(text: str) -> list[Piece]:
    """The tokens of `text` after slips are mended."""
    finder, says = _slip_finder()
    found: list[Piece] = []
    at = 0
    for match in finder.finditer(text):
        found += _plain(text, at, match.start())
        mended = _TOKEN.findall(says[match.lastgroup])
        for place, word in enumerate(mended):
            last = place == len(mended) - 1
            found.append(
                Piece(word, match.start(), match.end(), not last or text[match.end() : match.end() + 1].isspace())
            )
        at = match.end()
    return found + _plain(text, at, len(text))


def _plain(text: str, start: int, end: int) -> list[Piece]:
    return [
        Piece(match.group(), match.start(), match.end(), text[match.end() : match.end() + 1].isspace())
        for match in _TOKEN.finditer(text, start, end)
        if not (
            match.group() == "-"
            and _HYPHENATED_UNIT.match(text, match.end())
            and text[match.start() - 1 : match.start()].isalnum()
        )
    ]

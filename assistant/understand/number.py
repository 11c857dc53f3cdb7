"""One number as it was found in a text, and what its words are asked."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Number:
    """A number in the text. `values` are (value, likelihood), the likeliest first."""

    start: int  # first token
    end: int  # one past the last token
    values: tuple[tuple[float, float], ...]
    kind: str = "cardinal"  # cardinal | decimal | fraction | ordinal
    parts: tuple[float, ...] = ()  # the standard cardinals it was put together from
    plain_article: bool = False  # "a half", "an hour": no number word was said
    places: int = 0  # decimals a recogniser wrote it with; 0 for what was typed
    ends: tuple[float, float] | None = None  # of the range it may also be
    scaled: tuple[float, str] | None = None  # the value with a hundred or a thousand left unsaid, and of which unit
    carried: str | None = None  # metric unit of an earlier number of the sentence, which this one may be in too
    led: bool = False  # the word before it is perhaps its hundred: "head for 10"
    rivals: bool = False  # its sounds fit two values; where both fit the quantity, it has to be asked

    @property
    def value(self) -> float:
        return self.values[0][0]


MOST_SIGNS = 20  # of a number in digits; a longer row of them is no value, and soon more than a float holds


def written_in_digits(word: str) -> bool:
    """Only the digits 0 to 9: a superscript or another script's digit is no number we can be sure of."""
    return word.isascii() and word.isdigit() and len(word) <= MOST_SIGNS


def following(words: list[str], at: int) -> str | None:
    return words[at + 1] if at + 1 < len(words) else None

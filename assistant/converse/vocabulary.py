"""What can be asked for, and how each kind of question is put: `vocabulary.toml` and `questions.toml`, read once."""

from __future__ import annotations

import functools
import tomllib
from dataclasses import dataclass
from importlib import resources
from typing import Any

from assistant.understand.patterns import all_found, found

_LEAST_LIKE = 86  # of 100, for a misheard word to count as a quantity's name; common practice, no source


@dataclass(frozen=True, slots=True)
class Asked:
    """One quantity as questions name it."""

    name: str  # the contract's
    short: str  # "subcool": before its value
    full: str  # "liquid line temperature": when it is asked for
    say: tuple[str, ...]
    told_by: tuple[str, ...] = ()  # verbs and turns that mean it where nothing is named: "did i add"
    needs: tuple[str, ...] = ()  # what it is worked out from; quantities, and "refrigerant"
    about: str | None = None  # the finding it belongs to
    role: str | None = None  # "rated" | "target" where it is never measured
    total: bool = False  # several in one job add up
    site: bool = False  # belongs to the site, not to a system


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a verdict can be about."""

    name: str
    title: str
    say: tuple[str, ...]
    concerns: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Several:
    """A word that can mean more than one quantity."""

    say: tuple[str, ...]
    of: tuple[str, ...]
    newest: bool = False


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of question."""

    name: str
    say: tuple[str, ...]
    yes_no: tuple[str, ...] = ()  # only where the sentence does not open with "what" or "how much"
    example: str = ""


def _rows(file: str) -> dict[str, Any]:
    return tomllib.loads(resources.files("assistant.converse").joinpath(file).read_text("utf-8"))


def _frozen(row: dict[str, Any]) -> dict[str, Any]:
    renamed = {"needs" if key == "from" else key: value for key, value in row.items()}
    return {key: tuple(value) if isinstance(value, list) else value for key, value in renamed.items()}


@functools.cache
def asked() -> dict[str, Asked]:
    """Every quantity that can be asked for, by its contract name."""
    return {row["name"]: Asked(**_frozen(row)) for row in _rows("vocabulary.toml")["quantity"]}


@functools.cache
def findings() -> dict[str, Finding]:
    """Every finding that can be asked about, by its contract name."""
    return {row["name"]: Finding(**_frozen(row)) for row in _rows("vocabulary.toml")["about"]}


@functools.cache
def several() -> tuple[Several, ...]:
    """Words for more than one quantity."""
    return tuple(Several(**_frozen(row)) for row in _rows("vocabulary.toml")["several"])


@functools.cache
def kinds() -> tuple[Kind, ...]:
    """The kinds of question, the most particular first."""
    return tuple(Kind(**_frozen(row)) for row in _rows("questions.toml")["kind"])


@functools.cache
def refrigerants() -> dict[str, tuple[str, ...]]:
    """How each refrigerant is named in a question."""
    return {row["name"]: tuple(row["say"]) for row in _rows("vocabulary.toml")["refrigerant"]}


@functools.cache
def generic_words() -> frozenset[str]:
    """Words that add nothing to what a question is about."""
    return frozenset(_rows("vocabulary.toml")["generic"]["words"])


@functools.cache
def not_a_job() -> frozenset[str]:
    """Places on a site, which name no job: "at the coil"."""
    return frozenset(_rows("vocabulary.toml")["places"]["not_a_job"])


def short(quantity: str) -> str:
    """What stands before a value: "subcool"."""
    return asked()[quantity].short if quantity in asked() else quantity.replace("_", " ")


def always_rated(quantity: str) -> bool:
    """Whether its values come from plate or chart alone, so that "rated" before them tells nothing."""
    return quantity == "cooling_capacity" or (quantity in asked() and asked()[quantity].role is not None)


def full(quantity: str) -> str:
    """How a quantity is asked for: "liquid line temperature"."""
    return asked()[quantity].full if quantity in asked() else quantity.replace("_", " ")


def title(about: str) -> str:
    """How a finding is named to people: "pressure test"."""
    return findings()[about].title if about in findings() else about.replace("_", " ")


@dataclass(frozen=True, slots=True)
class _Named:
    """A place in a question where a quantity is named."""

    words: int  # of the wording, without those a gap took in
    start: int
    end: int
    quantity: str


def rank_of(about: str) -> int:
    """How far up a finding stands among those that work hangs on; 0 is first."""
    names = list(findings())
    return names.index(about) if about in names else len(names)


def quantities_named(words: str) -> tuple[tuple[str, ...], bool]:
    """The quantities `words` ask for, and whether the newest of them is meant.

    The wording with the most words wins, of equals the first in the sentence; those joined to it by "and" are
    asked for too. A word for several quantities counts only where none is named by itself.
    """
    for wordings in ("say", "told_by"):
        named = sorted(_places(words, wordings), key=lambda place: (-place.words, place.start))
        if named:
            return _joined_by_and(named, f" {words}"), False
    for row in several():
        if found(row.say, words):
            return row.of, row.newest
    return _misheard(words), False


def _places(words: str, wordings: str) -> list[_Named]:
    refrigerant = found(_all_refrigerants(), words)  # "how much R-22 did I add" asks for refrigerant
    if refrigerant:
        words = f"{f' {words}'[: refrigerant.start()]} refrigerant{f' {words}'[refrigerant.end() :]}".strip()
    places = []
    for row in asked().values():
        mine = getattr(row, wordings)
        plain = tuple(say for say in mine if "…" not in say)
        if not mine:
            continue
        if plain:
            places += [_Named(len(m.group().split()), m.start(), m.end(), row.name) for m in all_found(plain, words)]
        for say in mine:
            if "…" in say:
                fixed = len([token for token in say.split() if token != "…"])
                places += [_Named(fixed, m.start(), m.end(), row.name) for m in all_found((say,), words)]
    return places


@functools.cache
def _all_refrigerants() -> tuple[str, ...]:
    return tuple(
        say
        for wordings in refrigerants().values()
        for say in wordings
        if say.startswith("r ") or any(sign.isdigit() for sign in say)
    )


def _joined_by_and(named: list[_Named], text: str) -> tuple[str, ...]:
    best = named[0]
    quantities = [best.quantity]
    for other in sorted(named[1:], key=lambda place: place.start):
        between = text[best.end : other.start].split()
        if other.start >= best.end and between in (["and"], ["and", "the"], ["and", "my"], ["or"]):
            quantities.append(other.quantity)
    return tuple(dict.fromkeys(quantities))


def _misheard(words: str) -> tuple[str, ...]:
    """A quantity whose one-word name sounds like a long word of the question: "subcoal"."""
    from rapidfuzz import fuzz

    names = {say: row.name for row in asked().values() for say in row.say if " " not in say and len(say) > 5}
    scored = [(fuzz.ratio(word, say), names[say]) for word in words.split() if len(word) > 5 for say in names]
    score, name = max(scored, default=(0.0, ""))
    return (name,) if score >= _LEAST_LIKE else ()


def finding_named(words: str) -> str | None:
    """The finding `words` ask about; the wording with the most words wins, of equals the first in the sentence."""
    best: tuple[int, int, str] | None = None
    for row in findings().values():
        match = found(row.say, words)
        if match:
            rank = (len(match.group().split()), -match.start(), row.name)
            best = rank if best is None or rank[:2] > best[:2] else best
    return best[2] if best else None

"""The tables a mechanic can read: limits, concerns, questions, patterns and trade words.

Read once, when first needed. A limit without a source does not load.
"""

from __future__ import annotations

import functools
import re
import tomllib
from dataclasses import dataclass, field
from importlib import resources
from typing import Any

from assistant.errors import SettingsError
from assistant.records import Concern


@dataclass(frozen=True, slots=True)
class Limit:
    """One row of limits.toml. Of `at`, `within`, `low` and `high`, those the row gives; the rest NaN."""

    name: str
    unit: str
    source: str
    at: float = float("nan")  # one edge [unit]
    within: float = float("nan")  # plus or minus around a target [unit]
    low: float = float("nan")  # edges of a band [unit]
    high: float = float("nan")


@dataclass(frozen=True, slots=True)
class Question:
    """One row of asks.toml."""

    quantity: str
    ask: str
    serves: tuple[str, ...]  # verdicts it helps to reach
    useful: str
    role: str = "measured"  # what a bare answer is: what was measured, or what the plate calls for


@dataclass(frozen=True, slots=True)
class Pattern:
    """One row of diagnosis.toml: the signs of a cause, as {"superheat": "high"}."""

    name: str
    code: str
    must: dict[str, str]
    next: str
    speaks_for: dict[str, str] = field(default_factory=dict)
    speaks_against: dict[str, str] = field(default_factory=dict)


def read_limits(text: str) -> dict[str, Limit]:
    """Limits from TOML text. Raises SettingsError for one without a source, a unit or a value."""
    limits = {}
    for name, row in tomllib.loads(text).items():
        for part in ("source", "unit"):
            if not str(row.get(part, "")).strip():
                raise SettingsError(f"The limit {name!r} in limits.toml has no {part}, so it is not used; add one.")
        if not {"at", "within", "low", "high"} & row.keys():
            raise SettingsError(f"The limit {name!r} in limits.toml has no value: give at, within, or low and high.")
        limits[name] = Limit(name, **row)
    return limits


@functools.cache
def _limits() -> dict[str, Limit]:
    return read_limits(_text("limits.toml"))


def limit(name: str) -> Limit:
    """The limit of that name. Raises KeyError for one that limits.toml does not list."""
    return _limits()[name]


@functools.cache
def questions() -> tuple[Question, ...]:
    """Every question, most useful first."""
    rows = _table("asks.toml")["ask"]
    return tuple(
        Question(row["quantity"], row["ask"], tuple(row["for"]), row["useful"], row.get("role", "measured"))
        for row in rows
    )


@functools.cache
def patterns() -> tuple[Pattern, ...]:
    """Every pattern of diagnosis.toml, in the order it lists them."""
    return tuple(
        Pattern(row["name"], row["code"], row["must"], row["next"], row["for"], row["against"])
        for row in _table("diagnosis.toml")["cause"]
    )


@functools.cache
def concern_rows() -> dict[str, dict[str, Any]]:
    """Every concern's severity, text and caution, by code."""
    return _table("concerns.toml")


def concern(
    code: str, system: str, because: tuple[str, ...] = (), *, severity: str | None = None, **figures: str
) -> Concern:
    """The concern of that code with its text filled in. Raises KeyError for a code concerns.toml does not list."""
    row = concern_rows()[code]
    grave = severity or row["severity"]
    caution = row.get(f"caution_{grave}", row.get("caution"))
    # A quoted sentence brings its own full stop; the concern's text has one already.
    text = row["text"].format(**figures).replace("..", ".")
    return Concern(code, system, grave, text, because, caution)


def speaks_of(topic: str, text: str | None) -> bool:
    """Whether `text` holds one of the topic's words and none that turns it round (trade_words.toml)."""
    if not text:
        return False
    lowered = f" {text.lower()} "
    says, turns = _word_patterns()[topic]
    return bool(says.search(lowered)) and not any(word in lowered for word in turns)


@functools.cache
def _word_patterns() -> dict[str, tuple[re.Pattern[str], tuple[str, ...]]]:
    return {
        topic: (re.compile("|".join(rf"\b{re.escape(word)}" for word in row["say"])), tuple(row["not"]))
        for topic, row in _table("trade_words.toml").items()
    }


def _table(name: str) -> dict[str, Any]:
    return tomllib.loads(_text(name))


def _text(name: str) -> str:
    return resources.files("assistant.judge").joinpath(name).read_text("utf-8")


@functools.cache
def mains() -> tuple[dict[str, Any], ...]:
    """The windows line voltage may be in, where no plate was heard: name, nominal voltages, low and high [V]."""
    table = _table("mains.toml")
    return tuple(dict(row, source=table["source"]) for row in table["mains"])


def refrigerant_facts(name: str) -> dict[str, Any] | None:
    """Safety class, whether it burns and whether it depletes ozone; None for one refrigerants.toml does not list."""
    return _refrigerants().get(name)


@functools.cache
def _refrigerants() -> dict[str, dict[str, Any]]:
    return _table("refrigerants.toml")

"""Which causes fit the pattern of readings, with what speaks for and against each (diagnosis.toml)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Protocol

from assistant.judge.tables import concern, patterns
from assistant.records import Concern


class HasLevel(Protocol):
    """A sign of the pattern: its level ("low", "ok", "high"), its words and the readings behind it."""

    level: str
    words: str
    because: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cause:
    """A cause that fits: every sign it must have was heard and is so."""

    name: str
    code: str
    speaks_for: tuple[str, ...]  # in words
    speaks_against: tuple[str, ...]
    next: str  # the measurement that would tell it from its neighbours
    figures: str  # the signs it must have, in words
    because: tuple[str, ...]  # the readings behind them


# Raised by the pattern alone; the others have a rule of their own (charge, airflow, superheat).
_BY_PATTERN = ("restriction_suspected", "non_condensables_suspected", "condenser_airflow_suspected")


def causes_of(signs: Mapping[str, HasLevel]) -> tuple[Cause, ...]:
    """Every cause that fits, the best supported first."""
    fitting = []
    for pattern in patterns():
        if any(name not in signs or signs[name].level != level for name, level in pattern.must.items()):
            continue
        must = [signs[name] for name in pattern.must]
        cause = Cause(
            name=pattern.name,
            code=pattern.code,
            speaks_for=tuple(s.words for s in must) + _agreeing(signs, pattern.speaks_for),
            speaks_against=_agreeing(signs, pattern.speaks_against),
            next=pattern.next,
            figures=", ".join(s.words for s in must),
            because=tuple(dict.fromkeys(line for s in must for line in s.because)),
        )
        fitting.append(cause)
    # Short air was measured, and nothing else can be trusted before it is mended: it comes first whatever else is off.
    # Then a longer pattern that fits says more than a short one; what speaks against counts double.
    return tuple(sorted(fitting, key=_weight, reverse=True))


def _weight(cause: Cause) -> tuple[bool, int]:
    return cause.code == "airflow_low", len(cause.speaks_for) - 2 * len(cause.speaks_against)


def _agreeing(signs: Mapping[str, HasLevel], wanted: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(signs[name].words for name, level in wanted.items() if name in signs and signs[name].level == level)


def weigh_causes(system: str, causes: tuple[Cause, ...]) -> Iterator[Concern]:
    """A concern for each cause only a pattern can show; nothing where the air is short, which explains it first."""
    if any(cause.code == "airflow_low" for cause in causes):
        return
    for cause in causes:
        if cause.code in _BY_PATTERN and not cause.speaks_against:
            yield concern(cause.code, system, cause.because, figures=cause.figures, next=cause.next)

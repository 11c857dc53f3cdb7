"""Counting: what was found, what was missed, and what was there and should not have been."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Outcome:
    """One note's (or dialogue's) comparison in one part of the log, in words fit to list."""

    part: str  # "readings", "events", …
    found: int = 0
    missed: tuple[str, ...] = ()
    extra: tuple[str, ...] = ()  # there, and not in the gold


@dataclass(slots=True)
class Tally:
    """The sum of many outcomes of one part."""

    found: int = 0
    missed: int = 0
    extra: int = 0

    def add(self, outcome: Outcome) -> None:
        self.found += outcome.found
        self.missed += len(outcome.missed)
        self.extra += len(outcome.extra)

    @property
    def precision(self) -> float | None:
        return _share(self.found, self.found + self.extra)

    @property
    def recall(self) -> float | None:
        return _share(self.found, self.found + self.missed)

    @property
    def f1(self) -> float | None:
        return _share(2 * self.found, 2 * self.found + self.missed + self.extra)


@dataclass(frozen=True, slots=True)
class Listed:
    """What is printed for one note under --verbose."""

    case: str
    text: str
    outcomes: tuple[Outcome, ...]


@dataclass(slots=True)
class Score:
    """A whole run: the tally of every part, and the notes with something to look at."""

    tallies: dict[str, Tally] = field(default_factory=dict)
    listed: list[Listed] = field(default_factory=list)
    notes: int = 0
    crashed: list[str] = field(default_factory=list)  # "d012: ValueError: …"

    def add(self, case: str, text: str, outcomes: Iterable[Outcome]) -> None:
        outcomes = tuple(outcomes)
        for outcome in outcomes:
            self.tallies.setdefault(outcome.part, Tally()).add(outcome)
        if wrong := tuple(o for o in outcomes if o.missed or o.extra):
            self.listed.append(Listed(case, text, wrong))

    def tally(self, part: str) -> Tally:
        return self.tallies.get(part, Tally())


def _share(part: int, whole: int) -> float | None:
    """None where nothing was to be found and nothing was: that is no score at all."""
    return part / whole if whole else None

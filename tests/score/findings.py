"""What follows from a note, as it stands in the log after it: calculations, verdicts and concerns."""

from __future__ import annotations

from typing import Any

from tests.score.lists import brief
from tests.score.tally import Outcome

Row = dict[str, Any]
_SHOWN = ("name", "about", "system", "status", "finding", "value", "unit")


def compare_calculations(logged: list[Row], gold: list[Row]) -> Outcome:
    missed = tuple(brief(want) for want in gold if not any(_is_calculation(row, want) for row in logged))
    return Outcome("calculations", len(gold) - len(missed), missed, _none_wanted(logged, gold))


def compare_verdicts(logged: list[Row], gold: list[Row]) -> Outcome:
    missed = []
    for want in gold:
        if not has_verdict(logged, want):
            stands = [brief(_shown(row)) for row in _latest(logged, want)] or ["none"]
            missed.append(f"{brief(want)}, logged {'; '.join(stands)}")
    return Outcome("verdicts", len(gold) - len(missed), tuple(missed), _none_wanted(logged, gold))


def has_verdict(logged: list[Row], want: Row) -> bool:
    """Whether the verdict that stands on the matter is the one wanted; keys the gold leaves out are free."""
    return any(
        all(row.get(key) == want[key] for key in ("status", "finding") if key in want)
        and set(want.get("needs", ())) <= set(row.get("needs") or ())
        for row in _latest(logged, want)
    )


def compare_concerns(logged: list[Row], gold: dict[str, Any]) -> list[Outcome]:
    """Concerns that must be raised, those that must not, and severities where they are the point."""
    raised = {row["code"] for row in logged}
    outcomes = []
    if (wanted := gold.get("concerns")) is not None:
        missed = tuple(code for code in wanted if code not in raised)
        extra = tuple(sorted(raised)) if not wanted else ()
        outcomes.append(Outcome("concerns", len(wanted) - len(missed), missed, extra))
    if banned := gold.get("not_concerns"):
        false = tuple(code for code in banned if code in raised)
        outcomes.append(Outcome("false concerns", len(banned) - len(false), false))
    if severity := gold.get("severity"):
        worst = {(row["code"], row.get("severity")) for row in logged}
        wrong = tuple(f"{code} {level}" for code, level in severity.items() if (code, level) not in worst)
        outcomes.append(Outcome("severity", len(severity) - len(wrong), wrong))
    return outcomes


def _is_calculation(row: Row, want: Row) -> bool:
    return (
        row["name"] == want["name"]
        and all(row.get(key) == want[key] for key in ("system", "qualifier") if key in want)
        and abs(row["value"] - want["value"]) <= want["plus_minus"] + 1e-9
    )


def _latest(logged: list[Row], want: Row) -> list[Row]:
    """The verdict that stands last on the matter, for each system it could be about."""
    rows = (row for row in logged if row["about"] == want["about"])
    stands = {row.get("system", "main"): row for row in rows}
    return [row for system, row in stands.items() if system == want.get("system", system)]


def _none_wanted(logged: list[Row], gold: list[Row]) -> tuple[str, ...]:
    """An empty gold list means that nothing may be found; otherwise what is beyond it is free."""
    return tuple(brief(_shown(row)) for row in logged) if not gold else ()


def _shown(row: Row) -> Row:
    return {key: row[key] for key in _SHOWN if key in row}

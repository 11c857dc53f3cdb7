"""Readings: what was said and found, missed, filed wrong, or made up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tests.score.alike import same_value
from tests.score.tally import Outcome

Row = dict[str, Any]
# A plate's limit may be logged as a rating or as what is called for.
_LIMITS = {"temperature_rise", "total_static_pressure", "line_voltage", "flame_current"}
_LIMIT_ROLES = {"rated", "target"}
_OF_THE_SITE = {"outdoor_temp", "altitude"}


@dataclass(frozen=True, slots=True)
class Pairing:
    """Which logged reading answers which gold one."""

    found: tuple[tuple[Row, Row], ...]  # logged, gold
    missed: tuple[Row, ...]  # gold
    beyond: tuple[Row, ...]  # logged as current, and in no gold: made up, or filed wrong


def compare(logged: list[Row], gold: list[Row]) -> list[Outcome]:
    """Readings, invented readings, and the accuracy of role and system where quantity and value are right."""
    pairs = pair(logged, gold)
    near = _misfiled(pairs)
    same = [*pairs.found, *near]
    filed = [id(got) for got, _ in near]
    beyond = tuple(describe(row) + (" (said, but filed wrong)" if id(row) in filed else "") for row in pairs.beyond)
    return [
        Outcome("readings", len(pairs.found), tuple(map(describe, pairs.missed)), beyond),
        Outcome("invented", extra=beyond),
        _accuracy("role", same, same_role),
        _accuracy("system", same, same_system),
    ]


def pair(logged: list[Row], gold: list[Row]) -> Pairing:
    """Pair logged and gold readings. What the speaker took back may be logged as retracted, or left out."""
    left = list(logged)
    found, missed = [], []
    for want in sorted(gold, key=lambda row: "qualifier" not in row):  # the most particular chooses first
        if want.get("status") == "retracted":
            continue
        fits = [row for row in left if is_reading(row, want)]
        fits.sort(key=lambda row: row.get("status") == "doubtful")
        if fits:
            left.remove(fits[0])
            found.append((fits[0], want))
        else:
            missed.append(want)
    return Pairing(tuple(found), tuple(missed), tuple(row for row in left if _status(row) == "current"))


def is_reading(row: Row, want: Row, *, doubtful: bool = True) -> bool:
    """Whether a logged reading is the gold one. An impossible value is rightly kept as doubtful."""
    status = want.get("status", "current")
    allowed = {status, "doubtful"} if doubtful and "status" not in want else {status}
    return (
        _same_number(row, want)
        and same_role(row, want)
        and same_system(row, want)
        and _status(row) in allowed
        and ("qualifier" not in want or row.get("qualifier") == want["qualifier"])
        and all(same_value(row.get(end), want[end]) for end in ("low", "high") if end in want)
    )


def same_role(row: Row, want: Row) -> bool:
    role, gold = row.get("role", "measured"), want.get("role", "measured")
    return role == gold or (want["quantity"] in _LIMITS and {role, gold} <= _LIMIT_ROLES)


def same_system(row: Row, want: Row) -> bool:
    return want["quantity"] in _OF_THE_SITE or row.get("system", "main") == want.get("system", "main")


def describe(row: Row) -> str:
    """A reading in one line: "345 psi liquid_pressure measured main"."""
    words = [f"{row['value']:g} {row.get('unit', '')}", row["quantity"], row.get("role", "measured")]
    words += [row.get("system", "main"), row.get("qualifier") or "", "" if _status(row) == "current" else _status(row)]
    return " ".join(word for word in words if word) + (f" <{row['said']}>" if row.get("said") else "")


def _same_number(row: Row, want: Row) -> bool:
    return row["quantity"] == want["quantity"] and same_value(row["value"], want["value"])


def _misfiled(pairs: Pairing) -> list[tuple[Row, Row]]:
    """The missed readings whose quantity and value were logged, with what they were logged as."""
    left, near = list(pairs.beyond), []
    for want in pairs.missed:
        fits = [row for row in left if _same_number(row, want)]
        if fits:
            got = max(fits, key=lambda row: same_role(row, want) + same_system(row, want))
            left.remove(got)
            near.append((got, want))
    return near


def _status(row: Row) -> str:
    return row.get("status", "current")


def _accuracy(part: str, same: list[tuple[Row, Row]], right) -> Outcome:
    wrong = tuple(f"{describe(row)}, not {describe(want)}" for row, want in same if not right(row, want))
    return Outcome(part, len(same) - len(wrong), wrong)

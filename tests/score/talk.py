"""Dialogues: each turn's reply, and the log as it stands after it."""

from __future__ import annotations

from typing import Any

from tests.score.alike import numbers_in, values_in
from tests.score.findings import has_verdict
from tests.score.readings import describe, is_reading

Row = dict[str, Any]


def faults(expect: dict[str, Any], say: str, log: dict[str, Any]) -> list[str]:
    """What is wrong with one turn; empty when it passes."""
    found = [f"no {entry!r} in {say!r}" for entry in expect.get("reply_contains", ()) if not _contains(say, entry)]
    if "reply_number" in expect and (fault := _number_fault(expect["reply_number"], say)):
        found.append(fault)
    for want in expect.get("readings_after", ()):
        if not any(is_reading(row, want, doubtful=False) for row in log["readings"]):
            found.append(f"not in the log: {describe(want)}")
    verdict = expect.get("verdict_after")
    if verdict and not has_verdict(log["verdicts"], verdict):
        found.append(f"no verdict {verdict}")
    return found


def _contains(say: str, entry: str) -> bool:
    """`a|b` accepts either; case is ignored."""
    return any(choice.lower() in say.lower() for choice in entry.split("|"))


def _number_fault(want: dict[str, float] | None, say: str) -> str | None:
    if want is None:
        values = values_in(say)
        return f"states {values} where no value is known: {say!r}" if values else None
    if any(abs(number - want["value"]) <= want["plus_minus"] + 1e-9 for number in numbers_in(say)):
        return None
    return f"no {want['value']:g} (within {want['plus_minus']:g}) in {say!r}"

"""What a note adds besides readings: events, duct runs, agreements, materials, labour, equipment and tasks."""

from __future__ import annotations

from collections.abc import Callable
from operator import eq
from typing import Any

from tests.score.alike import alike, has_keywords, matches, same_moment, same_sizes, same_value
from tests.score.tally import Outcome

Row = dict[str, Any]
Keys = dict[str, Callable[[Any, Any], bool]]


def _price(got: float | None, gold: float | None) -> bool:
    """A gold price of null only says that this note names none; one known from before may be shown."""
    return gold is None or same_value(got, gold)


def _unit(got: str | None, gold: str) -> bool:
    return (got or "ea").lower().rstrip("s.") == gold.lower().rstrip("s.")


# Only the keys of a gold row are compared, each as said here; other keys are free.
EVENT: Keys = {"kind": eq, "trade": eq, "outcome": eq, "when": same_moment, "system": eq, "what": alike}
DUCT_RUN: Keys = {
    "side": eq,
    "count": eq,
    "shape": eq,
    "material": eq,
    "size_in": same_sizes,
    "length_ft": same_value,
    "airflow_cfm": same_value,
    "system": eq,
    "status": eq,
}
AGREEMENT: Keys = {"scope": alike, "by": eq, "status": eq, "price": _price, "when": same_moment}
MATERIAL: Keys = {"item": alike, "quantity": same_value, "unit": _unit, "status": eq, "price": _price}
LABOUR: Keys = {"hours": same_value, "days": same_value, "people": same_value}  # `what` is in nobody's words
EQUIPMENT: Keys = {
    "refrigerant": eq,
    "metering_device": eq,
    "cooling_capacity": same_value,
    "kind": alike,
    "model": eq,
    "serial": eq,
}
LISTS = {
    "events": EVENT,
    "duct_runs": DUCT_RUN,
    "agreements": AGREEMENT,
    "materials": MATERIAL,
    "labour": LABOUR,
}


def compare(part: str, logged: list[Row], gold: list[Row], keys: Keys) -> Outcome:
    """Each gold row is met by at most one logged row; a logged row that meets none is extra."""
    left = list(logged)
    found, missed = 0, []
    for want in sorted(gold, key=len, reverse=True):  # the most particular chooses first
        got = next((row for row in left if matches(row, want, keys)), None)
        if got is None:
            missed.append(brief(want))
        else:
            left.remove(got)
            found += 1
    return Outcome(part, found, tuple(missed), tuple(map(brief, left)))


def compare_equipment(logged: list[Row], gold: Row | list[Row]) -> Outcome:
    """Counted by field, so that a wrong valve does not hide a right refrigerant."""
    found, missed, extra = 0, [], []
    for want in gold if isinstance(gold, list) else [gold]:
        system = want.get("system", "main")
        got: Row = next((row for row in logged if row.get("system", "main") == system), {})
        for key, same in EQUIPMENT.items():
            if key not in want:
                continue
            if same(got.get(key), want[key]):
                found += 1
            else:
                missed.append(f"{system} {key} {want[key]}, logged {got.get(key)}")
                extra += [f"{system} {key} {got[key]}"] if got.get(key) is not None else []
    return Outcome("equipment", found, tuple(missed), tuple(extra))


def compare_tasks(logged: list[Row], gold: list[Row]) -> list[Outcome]:
    """Tasks recalled, and of those the share with the right due date. An empty gold list: there must be none."""
    found, missed, right, wrong = 0, [], 0, []
    left = list(logged)
    for want in gold:
        fits = [row for row in left if _is_task(row, want)]
        if not fits:
            missed.append(brief(want))
            continue
        found += 1
        got = next((row for row in fits if same_moment(row.get("due"), want.get("due"))), None)
        left.remove(got or fits[0])
        if "due" not in want or got:
            right += 1
        else:
            wrong.append(f"{fits[0].get('what')}: due {fits[0].get('due')}, not {want['due']}")
    extra = tuple(brief(row) for row in left) if not gold else ()
    return [Outcome("tasks", found, tuple(missed), extra), Outcome("due", right, tuple(wrong))]


def brief(row: Row) -> str:
    """A row in one line, without what says nothing."""
    skip = {"note", "said", "origin" if row.get("origin") == "said" else ""}
    return " ".join(f"{key}={value}" for key, value in row.items() if value is not None and key not in skip)


def _is_task(row: Row, want: Row) -> bool:
    return (
        has_keywords(row.get("what"), want["keywords"])
        and row.get("status", "open") == want.get("status", "open")
        and ("origin" not in want or row.get("origin") == want["origin"])
        and ("waits_on_keywords" not in want or has_keywords(row.get("waits_on"), want["waits_on_keywords"]))
    )

"""The published values in tests/reference, each row with its source and how good it is."""

from __future__ import annotations

import csv
from pathlib import Path

_FOLDER = Path(__file__).parent.parent / "reference"


def rows(name: str) -> list[dict[str, str]]:
    """All rows of one reference file."""
    with (_FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def row(name: str, item: str, inputs: str | None = None) -> dict[str, str]:
    """The one row of `name` whose item starts with `item` (and whose inputs are `inputs`)."""
    found = [r for r in rows(name) if r["item"].startswith(item) and inputs in (None, r["inputs"])]
    assert len(found) == 1, f"{len(found)} rows of {name} match {item!r} {inputs!r}"
    return found[0]

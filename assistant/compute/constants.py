"""Reads the data files of this stage, and refuses a figure that does not say where it is from."""

from __future__ import annotations

import csv
import functools
import tomllib
from dataclasses import dataclass
from importlib import resources

from assistant.errors import SettingsError


@dataclass(frozen=True, slots=True)
class Constant:
    """One row of constants.toml."""

    name: str
    value: float
    unit: str
    source: str


def read_constants(text: str) -> dict[str, Constant]:
    """Every constant in the TOML `text`, by name. Raises SettingsError for a row without value, unit or source."""
    rows = tomllib.loads(text)
    for name, row in rows.items():
        for field in ("value", "unit", "source"):
            if row.get(field) in (None, ""):
                raise SettingsError(f"The constant {name!r} has no {field}; it is not used without one.")
    return {name: Constant(name, float(row["value"]), row["unit"], row["source"]) for name, row in rows.items()}


@functools.cache
def constants() -> dict[str, Constant]:
    """Every row of constants.toml, by name."""
    return read_constants(resources.files("assistant.compute").joinpath("constants.toml").read_text("utf-8"))


def constant(name: str) -> float:
    """The value of one constant, in the unit constants.toml gives. Raises KeyError for a name that is not there."""
    return constants()[name].value


def read_rows(text: str) -> list[dict[str, str]]:
    """The rows of a CSV `text`, "#" lines left out. Raises SettingsError for a row without its source."""
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    for number, row in enumerate(rows, start=1):
        if not (row.get("source") or "").strip():
            raise SettingsError(f"Row {number} has no source; it is not used without one.")
    return rows


@functools.cache
def rows(name: str) -> list[dict[str, str]]:
    """The rows of the data file `name` beside this one."""
    return read_rows(resources.files("assistant.compute").joinpath(name).read_text("utf-8"))

"""One system's part of the commissioning record: air, charge, static, ducts, heat, current, vacuum."""

from __future__ import annotations

import functools
import math
import tomllib
from collections.abc import Iterable
from importlib import resources
from typing import Any

from assistant.converse import report_words as words
from assistant.converse.history import JobHistory
from assistant.converse.vocabulary import title
from assistant.papers.by_visit import Row, values_by_visit
from assistant.papers.text import full_day, name_of, sentence, visit_days
from assistant.records import Equipment, JobLog, Verdict

_STANDING = {
    "in_range": "in range",
    "pass": "passes",
    "low": "too low",
    "high": "too high",
    "fail": "fails",
    "provisional": "provisional",
    "unknown": "not known",
}
_TONE = {"in_range": "good", "pass": "good", "low": "bad", "high": "bad", "fail": "bad"}
_VISITS_ACROSS = 5  # columns of a table that fit the page
_HEATS = ("furnace", "boiler", "heater", "gas", "burner")


def system_sheet(history: JobHistory, log: JobLog, system: str) -> dict[str, Any]:
    rows = values_by_visit(history, system)
    parts, missing, placed = [], [], set()
    for section in _sections():
        part = _part(history, log, system, section, rows)
        placed |= {id(row) for row in _rows_of(section, rows)}
        if part["verdicts"] or part["tables"] or part["ducts"]:
            parts.append(part)
        elif section["expected"] == "always" or _burns(log, system):
            missing.append(section["title"].lower())
    plate = ("cooling_capacity",)  # in the line that names the system
    rest = [row for row in rows if id(row) not in placed and not row.worked_out and row.name not in plate]
    if rest:
        parts.append({"title": "Other values", "verdicts": [], "ducts": [], "tables": tables(rest), "methods": []})
    equipment = next((e for e in log.equipment if e.system == system), None)
    return {
        "name": sentence(system) if name_of(system) else "System",
        "described": words.equipment(equipment) if equipment else "",
        "lacking": _lacking(equipment),
        "parts": parts,
        "missing": missing,
    }


def _lacking(equipment: Equipment | None) -> list[str]:
    wanted = (("refrigerant", "refrigerant"), ("metering_device", "metering device"), ("cooling_capacity", "size"))
    return [name for field, name in wanted if not (equipment and getattr(equipment, field))]


def _burns(log: JobLog, system: str) -> bool:
    kinds = " ".join(e.kind or "" for e in log.equipment if e.system == system).lower()
    return any(word in kinds for word in _HEATS)


def _part(history: JobHistory, log: JobLog, system: str, section: dict, rows: tuple[Row, ...]) -> dict[str, Any]:
    runs = [r for r in log.duct_runs if r.system == system] if section.get("duct_runs") else []
    days = visit_days(log)
    return {
        "title": section["title"],
        "verdicts": [_verdict(history, v) for v in log.verdicts if v.system == system and v.about in section["about"]],
        "ducts": [[full_day(days.get(run.note)), words.duct_run(run)] for run in runs],
        "tables": tables(_rows_of(section, rows)),
        "methods": list(
            dict.fromkeys(
                f"{words.title(c.name)}: {c.method}."
                for c in log.calculations
                if runs and c.system == system and c.name in section["worked_out"]
            )
        ),
    }


def _rows_of(section: dict, rows: tuple[Row, ...]) -> list[Row]:
    """The rows of a section: in the section's order, what was told before what it comes to."""
    told, made = list(section["quantities"]), list(section["worked_out"])
    mine = [r for r in rows if r.name in (made if r.worked_out else told)]
    return sorted(mine, key=lambda r: (r.worked_out, (made if r.worked_out else told).index(r.name)))


def _verdict(history: JobHistory, verdict: Verdict) -> dict[str, Any]:
    return {
        "about": sentence(title(verdict.about)),
        "standing": _standing(verdict),
        "tone": _TONE.get(verdict.status, verdict.status),
        "because": f"{sentence(verdict.because)}.",
        "earlier": _earlier(history, verdict),
        "needs": [words.title(name) for name in verdict.needs],
    }


def _standing(verdict: Verdict) -> str:
    by_itself = f" (by itself {_STANDING.get(verdict.finding, verdict.finding)})" if verdict.finding else ""
    return _STANDING.get(verdict.status, verdict.status) + by_itself


def _earlier(history: JobHistory, verdict: Verdict) -> str:
    """How the same finding stood after earlier visits, where that was something else: "August 19: provisional"."""
    told = []
    for visit in history.visits()[:-1]:
        then = next(
            (v for v in history.logs[visit.last].verdicts if (v.about, v.system) == (verdict.about, verdict.system)),
            None,
        )
        if then and then.status != verdict.status and (not told or told[-1][1] != _standing(then)):
            told.append((visit.date, _standing(then)))
    return "; ".join(f"{full_day(date)}: {standing}" for date, standing in told)


def tables(rows: Iterable[Row]) -> list[dict[str, Any]]:
    """Rows under the visits that have any of them; a job of many visits gets one table after the other."""
    rows = list(rows)
    dates = sorted({date for row in rows for date in row.cells})
    tables = []
    for across in _even(dates, _VISITS_ACROSS):
        mine = [row for row in rows if any(date in row.cells for date in across)]
        tables.append({"days": [full_day(date) for date in across], "rows": [_across(row, across) for row in mine]})
    return tables


def _even(dates: list[str], most: int) -> list[list[str]]:
    """`dates` in as few runs of at most `most` as there have to be, none much shorter than another."""
    runs = math.ceil(len(dates) / most)
    size = math.ceil(len(dates) / runs) if runs else 1
    return [dates[first : first + size] for first in range(0, len(dates), size)]


def _across(row: Row, dates: list[str]) -> dict[str, Any]:
    cells = [row.cells.get(date) for date in dates]
    return {
        "label": row.label,
        "worked_out": row.worked_out,
        "cells": [f"{cell.text}{f' ({cell.changed})' if cell.changed else ''}" if cell else "" for cell in cells],
    }


@functools.cache
def _sections() -> list[dict]:
    text = resources.files("assistant.papers").joinpath("record_sections.toml").read_text("utf-8")
    return tomllib.loads(text)["section"]

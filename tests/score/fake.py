"""An assistant that knows the answers: it logs exactly the gold, or the gold spoilt in one way.

It proves the scorer, not the assistant: the gold must score full marks, and each way of spoiling it less.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from tests.score.cases import Set, Turn

Row = dict[str, Any]
Spoil = Callable[[Row, Row], None]  # changes a reply's note and log in place


@dataclass(frozen=True, slots=True)
class Reply:
    note: Row
    log: Row
    say: str


@dataclass(slots=True)
class KnowsTheGold:
    """Answers each text of a set as its gold wants. `spoil` gets the note and the log before they are handed out."""

    cases: Set
    spoil: Spoil = lambda note, log: None
    say: Callable[[str], str] = str
    told: int = 0
    readings: list[Row] = field(default_factory=list)

    def tell(self, *, text: str, job: str, date: date) -> Reply:
        self.told += 1
        gold = next((case.gold for case in self.cases.cases if (case.text, case.job) == (text, job)), None)
        if gold is not None:
            note, log = self._note_and_log(gold)
            self.spoil(note, log)
            return Reply(note, log, "")
        turns = (turn for dialogue in self.cases.dialogues for turn in dialogue.turns if dialogue.job == job)
        return self._answer(next(turn for turn in turns if turn.say == text))

    def _note_and_log(self, gold: Row) -> tuple[Row, Row]:
        name = f"note {self.told}"
        said = [{"system": "main", "status": "current", **row, "note": name} for row in gold["readings"]]
        equipment = gold.get("equipment", [])
        note: Row = {
            "id": name,
            "readings": [{**row, "status": "current"} for row in said],  # a note alone does not know what follows
            "equipment": equipment if isinstance(equipment, list) else [equipment],
        }
        for part in ("events", "duct_runs", "agreements", "materials", "labour"):
            note[part] = copy.deepcopy(gold.get(part, []))
        tasks = [{**row, "what": " ".join(row["keywords"]), "waits_on": _waits(row)} for row in gold.get("tasks", [])]
        severity = gold.get("severity", {})
        self.readings += said
        log = {
            "readings": copy.deepcopy(self.readings),
            "tasks": tasks,
            "calculations": copy.deepcopy(gold.get("calculations", [])),
            "verdicts": copy.deepcopy(gold.get("verdicts", [])),
            "concerns": [{"code": code, "severity": severity.get(code)} for code in gold.get("concerns", [])],
        }
        return note, log

    def _answer(self, turn: Turn) -> Reply:
        expect = turn.expect
        words = [entry.split("|")[0] for entry in expect.get("reply_contains", ())]
        if number := expect.get("reply_number"):
            words.append(f"{number['value']:g}")
        self.readings = expect.get("readings_after", [])
        verdicts = [expect["verdict_after"]] if "verdict_after" in expect else []
        return Reply({}, {"readings": self.readings, "verdicts": verdicts}, self.say(" ".join(words)))


def _waits(row: Row) -> str | None:
    return " ".join(row["waits_on_keywords"]) if "waits_on_keywords" in row else None

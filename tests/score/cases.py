"""The sets of notes and dialogues that are scored, and how they are read."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from assistant.records import Transcript, Unclear, Word

_HERE = Path(__file__).parent
SETS = {
    "corpus": (_HERE.parent / "corpus" / "notes.jsonl", _HERE.parent / "corpus" / "dialogues.jsonl"),
    "heldout": (_HERE / "heldout.jsonl", _HERE / "heldout_dialogues.jsonl"),
    "blind": (_HERE / "blind.jsonl", _HERE / "blind_dialogues.jsonl"),
    "fresh": (_HERE / "fresh.jsonl",),
    "jobs_a": (_HERE / "jobs_a.jsonl", _HERE / "jobs_a_dialogues.jsonl"),
    "jobs_b": (_HERE / "jobs_b.jsonl", _HERE / "jobs_b_dialogues.jsonl"),
    "jobs_c": (_HERE / "jobs_c.jsonl", _HERE / "jobs_c_dialogues.jsonl"),
    "jobs_d": (_HERE / "jobs_d.jsonl", _HERE / "jobs_d_dialogues.jsonl"),
    "jobs_e": (_HERE / "jobs_e.jsonl", _HERE / "jobs_e_dialogues.jsonl"),
    "jobs_f": (_HERE / "jobs_f.jsonl", _HERE / "jobs_f_dialogues.jsonl"),
    "jobs_g": (_HERE / "jobs_g.jsonl", _HERE / "jobs_g_dialogues.jsonl"),
    "jobs_h": (_HERE / "jobs_h.jsonl", _HERE / "jobs_h_dialogues.jsonl"),
}


@dataclass(frozen=True, slots=True)
class Case:
    """One note and what a careful listener would have written down."""

    id: str
    job: str
    date: str  # ISO
    text: str
    gold: dict[str, Any]
    after: tuple[str, ...] = ()  # ids of the job's earlier notes, oldest first
    heard: Transcript | None = None  # what the recogniser made of it, where the note was spoken


@dataclass(frozen=True, slots=True)
class Turn:
    say: str
    expect: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Dialogue:
    id: str
    job: str
    date: str
    turns: tuple[Turn, ...]
    after: tuple[str, ...] = ()  # notes heard before it


@dataclass(frozen=True, slots=True)
class Set:
    cases: tuple[Case, ...]
    dialogues: tuple[Dialogue, ...]

    def jobs(self) -> dict[str, list[Case]]:
        """The notes of each job in the order they were told."""
        jobs: dict[str, list[Case]] = {}
        for case in self.cases:
            jobs.setdefault(case.job, []).append(case)
        return jobs


def load(name: str) -> Set:
    """A set by name ("corpus", "heldout", "blind"), or the rows of a JSON Lines file; rows with turns are dialogues."""
    paths = SETS.get(name) or (Path(name),)
    rows = [json.loads(line) for path in paths for line in path.read_text("utf-8").splitlines() if line.strip()]
    return Set(
        tuple(_case(row) for row in rows if "turns" not in row),
        tuple(_dialogue(row) for row in rows if "turns" in row),
    )


def heard(cases: Set, folder: Path) -> Set:
    """The notes that have a transcript in `folder`, with it in place of their text; no dialogues.

    `<id>.json` is a transcript with each word's times and probability, as `--keep` leaves it; `<id>.txt` words alone.
    A note is kept only if the earlier notes it builds on are there too.
    """
    there = {path.stem for path in folder.iterdir() if path.suffix in (".json", ".txt")}
    kept = [case for case in cases.cases if case.id in there and there.issuperset(case.after)]
    return Set(tuple(_with_what_was_heard(case, folder) for case in kept), ())


def _with_what_was_heard(case: Case, folder: Path) -> Case:
    whole = folder / f"{case.id}.json"
    if not whole.is_file():
        return replace(case, text=(folder / f"{case.id}.txt").read_text("utf-8").strip())
    row = json.loads(whole.read_text("utf-8"))
    words = tuple(Word(**word) for word in row["words"])
    unclear = tuple(Unclear(**cut) for cut in row["unclear"])
    heard = Transcript(row["text"], words, unclear, row["duration_s"], row["model"])
    return replace(case, text=heard.text, heard=heard)


def _case(row: dict[str, Any]) -> Case:
    after = tuple((row.get("context") or {}).get("after", ()))
    return Case(row["id"], row["job"], row["date"], row["text"], row["gold"], after)


def _dialogue(row: dict[str, Any]) -> Dialogue:
    turns = tuple(Turn(turn["say"], turn["expect"]) for turn in row["turns"])
    return Dialogue(row["id"], row["job"], row["date"], turns, tuple(row.get("after", ())))

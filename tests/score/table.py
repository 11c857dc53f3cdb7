"""A score, for people (a table and what was missed) and for programs (JSON)."""

from __future__ import annotations

from typing import Any

from rich.console import Console
from rich.table import Table

from tests.score.tally import Score, Tally

# part, its title, and which figures are meaningful for it
_ROWS = (
    ("readings", "readings", "precision recall f1"),
    ("invented", "  invented (current, beyond the gold)", ""),
    ("role", "  role right", "recall"),
    ("system", "  system right", "recall"),
    ("equipment", "equipment, by field", "precision recall f1"),
    ("events", "events", "precision recall f1"),
    ("duct_runs", "duct runs", "precision recall f1"),
    ("tasks", "tasks", "recall"),
    ("due", "  due date right", "recall"),
    ("agreements", "agreements", "precision recall f1"),
    ("materials", "materials", "precision recall f1"),
    ("labour", "labour", "precision recall f1"),
    ("calculations", "calculations", "recall"),
    ("verdicts", "verdicts", "recall"),
    ("concerns", "concerns raised", "recall"),
    ("severity", "  severity right", "recall"),
    ("false concerns", "  false concerns kept away", "recall"),
    ("dialogues", "dialogues passed", "recall"),
    ("turns", "  turns passed", "recall"),
)
_SNIPPET = 90  # characters of a note's text beside what was missed


def show(score: Score, console: Console, *, verbose: bool = False) -> None:
    """The table; with `verbose`, first every miss with its note. Invented readings and crashes always."""
    if verbose:
        _show_misses(score, console)
    table = Table("", "found", "missed", "beyond", "precision", "recall", "F1", title=f"{score.notes} notes")
    for column in table.columns[1:]:
        column.justify = "right"
    for part, title, figures in _ROWS:
        if part in score.tallies:
            table.add_row(title, *_cells(score.tally(part), figures))
    console.print(table)
    for line in invented(score):
        console.print(f"invented: {line}", markup=False, highlight=False, soft_wrap=True)
    for line in score.crashed:
        console.print(f"crashed: {line}", markup=False, highlight=False, soft_wrap=True)


def plain(score: Score) -> dict[str, Any]:
    """The same figures as JSON types; shares are 0 to 1, null where there was nothing to find."""
    figures = {
        part: {
            "found": tally.found,
            "missed": tally.missed,
            "beyond": tally.extra,
            **{name: getattr(tally, name) for name in wanted.split()},
        }
        for part, _, wanted in _ROWS
        if (tally := score.tallies.get(part))
    }
    return {"notes": score.notes, "parts": figures, "invented": invented(score), "crashed": score.crashed}


def invented(score: Score) -> list[str]:
    """Each current reading that is in no gold, with its note."""
    return [
        f"{listed.case}: {reading}"
        for listed in score.listed
        for outcome in listed.outcomes
        if outcome.part == "invented"
        for reading in outcome.extra
    ]


def _show_misses(score: Score, console: Console) -> None:
    for listed in score.listed:
        console.print(f"{listed.case}  {listed.text[:_SNIPPET]}", markup=False, highlight=False, style="bold")
        for outcome in listed.outcomes:
            if outcome.part in ("invented", "dialogues"):  # told again by readings and turns
                continue
            for mark, lines in (("-", outcome.missed), ("+", outcome.extra)):
                for line in lines:
                    console.print(f"  {mark} {outcome.part}: {line}", markup=False, highlight=False, soft_wrap=True)


def _cells(tally: Tally, figures: str) -> list[str]:
    shares = [getattr(tally, name) if name in figures.split() else None for name in ("precision", "recall", "f1")]
    counts = [str(tally.found), str(tally.missed), str(tally.extra)]
    return counts + ["" if share is None else f"{share:.3f}" for share in shares]

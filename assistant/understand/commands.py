""" "New job at Marlow's bakery" and "go back to the bakery job": which job the talk is about from here on."""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass

from assistant.understand.tokens import load_table


@dataclass(frozen=True, slots=True)
class JobChange:
    name: str  # as it was said: "Marlow's bakery"
    is_new: bool


@functools.cache
def _patterns() -> tuple[re.Pattern[str], re.Pattern[str]]:
    table = load_table("commands.toml")
    lead = r"^(?:okay|ok|alright|so|and|now|um|uh|,|\s)*"
    new, back = ("|".join(sorted(map(re.escape, table[kind]), key=len, reverse=True)) for kind in ("new", "back"))
    return (
        re.compile(rf"{lead}(?:{new})\s+(?P<name>[^,.;?!]+)", re.IGNORECASE),
        re.compile(rf"{lead}(?:{back})\s+(?P<name>[^,.;?!]+?)\s+job\b", re.IGNORECASE),
    )


def job_change(text: str) -> JobChange | None:
    """The job a note opens or goes back to by its first words; None for every other note."""
    for is_new, pattern in zip((True, False), _patterns(), strict=True):
        found = pattern.match(text)
        if found:
            name = re.sub(r"^the\s+", "", found["name"].strip(), flags=re.IGNORECASE)
            return JobChange(name, is_new) if name else None
    return None

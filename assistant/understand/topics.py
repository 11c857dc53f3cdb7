"""What is being talked about, sentence by sentence."""

from __future__ import annotations

import functools
from dataclasses import dataclass

from spacy.matcher import PhraseMatcher

from assistant.understand.context import Context
from assistant.understand.passage import Passage, as_doc, vocabulary
from assistant.understand.tokens import load_table

TESTS = {"test_pressure": "pressure_test", "vacuum_level": "evacuation"}  # the qualifier of test_duration


@dataclass(frozen=True, slots=True)
class Topic:
    name: str
    favours: frozenset[str]
    bare: str | None  # the quantity a number alone belongs to, for a test in progress
    carried: bool  # from an earlier note, not yet taken up in this one
    held: bool  # a word that says the test is standing was heard


@functools.cache
def _rows() -> dict[str, dict]:
    return {row["name"]: row for row in load_table("topics.toml")["topic"]}


@functools.cache
def _matcher() -> PhraseMatcher:
    matcher = PhraseMatcher(vocabulary(), attr="LOWER")
    for name, row in _rows().items():
        matcher.add(name, [as_doc(word) for word in row["words"]])
        if "hold" in row:
            matcher.add(f"hold {name}", [as_doc(word) for word in row["hold"]])
    return matcher


def topics_by_sentence(passage: Passage, context: Context) -> list[Topic | None]:
    """The topic in force in each sentence; a test carries over from the job's last note until something else is said."""
    raised = [(passage.doc.vocab.strings[label], start) for label, start, _ in _matcher()(passage.doc)]
    current = _topic(context.carried_topic(), carried=True, held=False)
    found: list[Topic | None] = []
    for start, end in passage.sentences:
        named = [name for name, at in sorted(raised, key=lambda pair: pair[1]) if start <= at < end and not name.startswith("hold ")]
        tests = [name for name in named if "bare" in _rows()[name]]
        if tests:
            current = _topic(tests[-1], carried=False, held=bool(current and current.held and current.name == tests[-1]))
        elif named:
            current = _topic(named[-1], carried=False, held=False)
        if current and current.bare and any(start <= at < end for name, at in raised if name == f"hold {current.name}"):
            current = _topic(current.name, carried=False, held=True)
        found.append(current)
    return found


def _topic(name: str | None, *, carried: bool, held: bool) -> Topic | None:
    if name is None:
        return None
    row = _rows()[name]
    return Topic(name, frozenset(row["favours"]), row.get("bare"), carried, held)

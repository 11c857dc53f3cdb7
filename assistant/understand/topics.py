"""What is being talked about, word by word."""

from __future__ import annotations

import bisect
import functools
from dataclasses import dataclass, replace

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


def _start(change: tuple[int, Topic | None]) -> int:
    return change[0]


class Topics:
    """The topic in force at each token. A test carries over from the last note until something else is said."""

    def __init__(self, changes: list[tuple[int, Topic | None]], holds: dict[str, list[int]], passage: Passage):
        self._changes, self._holds, self._passage = changes, holds, passage

    def at(self, token: int) -> Topic | None:
        """The topic at a token, and whether a word that says the test is standing has been heard since it came up.

        A word later in the same sentence counts too: "ten minutes, and it held".
        """
        place = bisect.bisect_right(self._changes, token, key=_start) - 1
        topic = self._changes[place][1]
        if topic is None or topic.bare is None:
            return topic
        while place and (before := self._changes[place - 1][1]) and before.name == topic.name:
            place -= 1
        since = self._changes[place][0]
        end = self._passage.sentences[self._passage.sentence_of(min(token, len(self._passage.doc) - 1))][1]
        opened = self._passage.sentences[self._passage.sentence_of(min(since, len(self._passage.doc) - 1))][0]
        held = any(opened <= at < end for at in self._holds.get(topic.name, ()))
        return replace(topic, held=held)

    def favoured(self, sentence: int) -> frozenset[str]:
        """Quantities favoured anywhere in a sentence."""
        start, end = self._passage.sentences[sentence]
        first, last = (bisect.bisect_left(self._changes, token, key=_start) for token in (start, end))
        named = [topic for _, topic in self._changes[first:last] if topic]
        return frozenset().union(*(topic.favours for topic in named or [t for t in [self.at(start)] if t]))

    def end_carried(self, token: int) -> None:
        """Once other values come up, a test left over from an earlier note is no longer the subject."""
        if (topic := self.at(token)) and topic.carried:
            end = self._passage.sentences[self._passage.sentence_of(token)][1]
            self._changes = sorted([*self._changes, (end, None)], key=lambda change: change[0])


def find_topics(passage: Passage, context: Context) -> Topics:
    """Where topics are raised, in order, after what the last note left standing."""
    changes: list[tuple[int, Topic | None]] = [(0, _topic(context.carried_topic(), carried=True))]
    holds: dict[str, list[int]] = {}
    spans = sorted((start, passage.doc.vocab.strings[label]) for label, start, _ in _matcher()(passage.doc))
    for start, name in spans:
        if name.startswith("hold "):
            holds.setdefault(name.removeprefix("hold "), []).append(start)
        else:
            changes.append((start, _topic(name, carried=False)))
    return Topics(_tests_last(changes), holds, passage)


def _tests_last(changes: list[tuple[int, Topic | None]]) -> list[tuple[int, Topic | None]]:
    """Where a word raises two topics at once, the test counts."""
    return sorted(changes, key=lambda change: (change[0], bool(change[1] and change[1].bare)))


def _topic(name: str | None, *, carried: bool) -> Topic | None:
    if name is None:
        return None
    row = _rows()[name]
    return Topic(name, frozenset(row["favours"]), row.get("bare"), carried, held=False)

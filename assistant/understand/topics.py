"""What is being talked about, word by word."""

from __future__ import annotations

import bisect
import functools
from dataclasses import dataclass, replace

from assistant.understand.context import Context
from assistant.understand.lexicon import Spans, Wordings, wordings
from assistant.understand.passage import Passage
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


_RAISED: dict[str, Wordings] = {name: wordings(row["words"]) for name, row in _rows().items()}
_BESIDE_ANOTHER = {name: wordings(row["beside_another"]) for name, row in _rows().items() if "beside_another" in row}
_HELD: dict[str, Wordings] = {name: wordings(row["hold"]) for name, row in _rows().items() if "hold" in row}

RAISED_BY = frozenset({*_RAISED.values(), *_HELD.values()})  # the lists of wordings that raise or hold a topic


def _start(change: tuple[int, Topic | None]) -> int:
    return change[0]


class Topics:
    """The topic in force at each token. A test carries over from the last note until something else is said."""

    def __init__(self, changes: list[tuple[int, Topic | None]], holds: dict[str, list[int]], passage: Passage):
        self._holds, self._passage = holds, passage
        self._raised = any(topic for _, topic in changes)
        self._change(changes)

    def _change(self, changes: list[tuple[int, Topic | None]]) -> None:
        """Keep the changes, and for each the token since which its topic has been the one, however often raised."""
        self._changes, self._since = changes, []
        before: Topic | None = None
        for token, topic in changes:
            goes_on = topic and before and topic.name == before.name
            self._since.append(self._since[-1] if goes_on else token)
            before = topic

    def at(self, token: int) -> Topic | None:
        """The topic at a token, and whether a word that says the test is standing has been heard since it came up.

        A word later in the same sentence counts too: "ten minutes, and it held".
        """
        place = bisect.bisect_right(self._changes, token, key=_start) - 1
        topic = self._changes[place][1]
        if topic is None or topic.bare is None:
            return topic
        since = self._since[place]
        end = self._passage.sentences[self._passage.sentence_of(min(token, len(self._passage.lower) - 1))][1]
        opened = self._passage.sentences[self._passage.sentence_of(min(since, len(self._passage.lower) - 1))][0]
        holds = self._holds.get(topic.name, [])
        held = bisect.bisect_left(holds, opened) < bisect.bisect_left(holds, end)
        return replace(topic, held=held) if held else topic

    def favoured(self, sentence: int) -> frozenset[str]:
        """Quantities favoured anywhere in a sentence."""
        if not self._raised:
            return frozenset()
        start, end = self._passage.sentences[sentence]
        first, last = (bisect.bisect_left(self._changes, token, key=_start) for token in (start, end))
        named = [topic for _, topic in self._changes[first:last] if topic]
        return frozenset().union(*(topic.favours for topic in named or [t for t in [self.at(start)] if t]))

    def end_carried(self, token: int) -> None:
        """Once other values come up, a test left over from an earlier note is no longer the subject."""
        if (topic := self.at(token)) and topic.carried:
            end = self._passage.sentences[self._passage.sentence_of(token)][1]
            self._change(sorted([*self._changes, (end, None)], key=_start))


def find_topics(passage: Passage, context: Context) -> Topics:
    """Where topics are raised, in order, after what the last note left standing."""
    changes: list[tuple[int, Topic | None]] = [(0, _topic(context.carried_topic(), carried=True))]
    said = [(name, passage.wordings[says]) for name, says in _RAISED.items() if says in passage.wordings]
    said += [(name, _beside_another(passage, name)) for name in _BESIDE_ANOTHER]
    raised = ((start, name) for name, spans in said for start, _ in spans if not _of_another(passage, name, start))
    changes += [(start, _topic(name, carried=False)) for start, name in sorted(raised)]
    holds = {name: [a for a, _ in passage.wordings[says]] for name, says in _HELD.items() if says in passage.wordings}
    return Topics(_tests_last(changes), holds, passage)


def _beside_another(passage: Passage, name: str) -> Spans:
    """ "Pumped it to three thirty, then with the pump valved off …": alone, it may have been nitrogen."""
    raising = {passage.sentence_of(start) for start, _ in passage.wordings.get(_RAISED[name], ())}
    stood = min((start for start, _ in passage.wordings.get(_HELD["pressure_test"], ())), default=len(passage.lower))
    found = []
    for start, end in passage.wordings.get(_BESIDE_ANOTHER[name], ()):
        place = passage.sentence_of(start)
        valve = not set(_rows()[name]["valve"]).isdisjoint(passage.words(end, passage.sentences[place][1]))
        if place in raising or valve and stood < passage.sentences[place][0]:
            found.append((start, end))
    return found


def _of_another(passage: Passage, name: str, start: int) -> bool:
    """ "The heat pump got to two ninety" is no vacuum pump."""
    return start > 0 and passage.lower[start - 1] in _rows()[name].get("not_behind", ())


def _tests_last(changes: list[tuple[int, Topic | None]]) -> list[tuple[int, Topic | None]]:
    """Where a word raises two topics at once, the test counts."""
    return sorted(changes, key=lambda change: (change[0], bool(change[1] and change[1].bare)))


@functools.cache
def _topic(name: str | None, *, carried: bool) -> Topic | None:
    if name is None:
        return None
    row = _rows()[name]
    return Topic(name, frozenset(row["favours"]), row.get("bare"), carried, held=False)

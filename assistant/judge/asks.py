"""The questions the assistant still has, most useful first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from assistant.judge.doubts import ask_about, ask_to_settle, conflicts, doubtful
from assistant.judge.facts import Facts
from assistant.judge.tables import questions
from assistant.records import Ask, JobLog, Verdict


def asks_of(job: JobLog, systems: Iterable[Facts], verdicts: Iterable[Verdict]) -> tuple[Ask, ...]:
    """Doubtful values first, then values that disagree, then what the verdicts need, in the order of asks.toml."""
    systems, verdicts = list(systems), list(verdicts)
    asks = [ask_about(reading) for reading in doubtful(job)]
    asks += [ask_to_settle(*pair) for facts in systems for pair in conflicts(facts)]
    asks += _needed(systems, verdicts)
    first: dict[tuple[str, str], Ask] = {}
    for ask in asks:
        first.setdefault((ask.quantity, ask.system), ask)
    return tuple(first.values())


def _needed(systems: list[Facts], verdicts: list[Verdict]) -> Iterator[Ask]:
    """What was talked about last is asked about first: the last system with a reading comes before the others."""
    latest = sorted(systems, key=_last_said, reverse=True)
    several = len([f for f in systems if f.spoken]) > 1
    for facts in latest:
        for question in questions():
            wanted = [v for v in verdicts if v.system == facts.system and question.quantity in v.needs]
            if any(v.about in question.serves for v in wanted):
                where = f"{facts.system.capitalize()}: " if several and facts.system != "main" else ""
                yield Ask(question.quantity, where + question.ask, facts.system, question.role)


def _last_said(facts: Facts) -> tuple[int, int]:
    said = (readings[-1] for readings in facts.spoken.values() if readings[-1].system == facts.system)
    return max((facts.at(r) for r in said), default=(-1, -1))

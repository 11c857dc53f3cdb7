"""Where work can hurt someone: first fire, hoses on the wrong ports; and what was said that nobody settled."""

from __future__ import annotations

import re
from collections.abc import Iterator

from assistant.judge.facts import Facts, evidence
from assistant.judge.tables import concern, limit, speaks_of
from assistant.records import Concern

_COUNTED = re.compile(
    r"\d|\b(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|twenty|thirty|forty|fifty|sixty|seventy"
    r"|eighty|ninety|hundred|thousand|point)\b",
    re.IGNORECASE,
)


def weigh_safety(facts: Facts) -> Iterator[Concern]:
    yield from _first_fire(facts)
    yield from _hoses(facts)
    for remark in facts.remarks:
        if speaks_of("code", remark.text):
            yield concern("code_question", facts.system, (remark.text,), figures=remark.text)
        elif speaks_of("left_a_value", remark.text) and _COUNTED.search(remark.text):
            what = f"A value was said that could not be placed: {remark.text}"
            yield concern("not_understood", facts.system, (remark.text,), what=what)


def _first_fire(facts: Facts) -> Iterator[Concern]:
    """From the moment a first fire is planned until the visit after it; and while an alarm is still covered."""
    last = len(facts.job.visits) - 1
    fires = [e for e in facts.events if e.kind == "first_fire"]
    fired = [e for e in fires if e.outcome != "scheduled"]
    planned = [e.said or "first fire is planned" for e in fires if e.outcome == "scheduled"]
    planned += [t.what for t in facts.tasks if t.status == "open" and speaks_of("first_fire", t.what)]
    alarms = [t.what for t in facts.tasks if t.status == "open" and speaks_of("smoke_alarm", t.what)]
    covered = [what for what in alarms if speaks_of("covered", what)]
    today = [e for e in fired if facts.visit(e.note) == last]
    because = tuple(covered) + tuple(e.said or "first fire was today" for e in today)
    if not fired:
        because += tuple(planned)
    if because:
        words = "; an alarm is still covered" if covered else ""
        yield concern("smoke_alarm_risk", facts.system, because, covered=words)


def _hoses(facts: Facts) -> Iterator[Concern]:
    suction, head = facts.current("suction_pressure"), facts.current("liquid_pressure")
    if suction is None or head is None or facts.visit(suction.note) != facts.visit(head.note):
        return
    if suction.value > head.value * (1 + limit("level_pressures").within / 100):
        figures = f"suction {suction.value:g}, head {head.value:g} psi"
        yield concern("hoses_swapped", facts.system, evidence(suction, head), figures=figures)

"""The nitrogen test: did it hold, with the weather taken out."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.judge.facts import Facts, evidence, inputs_of, shown
from assistant.judge.tables import concern, limit
from assistant.records import Calculation, Concern, Reading, Verdict


def weigh_pressure_test(facts: Facts) -> Iterator[Verdict | Concern]:
    """The last test. A higher reading after a lower one is a new test, not a gain."""
    last = facts.measured("test_pressure")
    told = [e for e in facts.events if e.kind == "pressure_test" and e.outcome in ("passed", "failed")]
    event = told[-1] if told else None
    if last is None:
        if event:
            status = {"passed": "pass", "failed": "fail"}[event.outcome or ""]
            because = f"said to have {event.outcome}; the pressure was not said"
            yield Verdict("pressure_test", facts.system, status, because)
            if status == "fail":
                yield concern("pressure_test_lost", facts.system, (event.said,) if event.said else (), figures=because)
        return
    if event and facts.place(event.note) < facts.place(last.note):
        event = None  # that was the test before
    start = _start(facts, last)
    hold = _hold(facts, last)
    proof = evidence(start, last, hold)
    lost = start.value - last.value if start else 0.0
    reads = limit("pressure_drop_percent").at / 100 * (start or last).value
    corrected = _corrected(facts, start, last)
    over = f" over {shown(hold.value, 'min')}" if hold else ""
    figures = f"{start.value:g} to {shown(last.value, 'psi')}{over}" if start else f"{shown(last.value, 'psi')}{over}"
    if corrected:
        lost, reads = corrected.value, max(reads, corrected.plus_minus)
        figures += f", {lost:.1f} psi of it not explained by temperature"
        proof += inputs_of(corrected)
    said = event.outcome if event else None
    if lost > reads and said == "passed" and not corrected and lost <= _by_weather(last):
        because = f"{figures}: said to have passed, and cooling could explain it; the temperatures were not said"
        yield Verdict("pressure_test", facts.system, "unknown", because, last.value, needs=("outdoor_temp",))
    elif said == "failed" or (lost > reads and (corrected or said == "passed" or lost > _by_weather(last))):
        yield Verdict("pressure_test", facts.system, "fail", figures, last.value, start and start.value)
        yield concern("pressure_test_lost", facts.system, proof, figures=figures)
    elif lost > reads:
        because = f"{figures}: more than the needle can be misread, but cooling could explain it"
        yield Verdict("pressure_test", facts.system, "unknown", because, last.value, needs=("outdoor_temp",))
    elif said == "passed" or (start and hold):
        words = "held" if start or hold else "said to have held"
        yield Verdict("pressure_test", facts.system, "pass", f"{words} {figures}", last.value, start and start.value)
    elif start:
        because = f"{figures}: the same again, but after how long was not said"
        yield Verdict("pressure_test", facts.system, "unknown", because, last.value, needs=("test_duration",))
    else:
        because = f"{figures}: not read again yet"
        yield Verdict("pressure_test", facts.system, "unknown", because, last.value, needs=("test_pressure",))


def _start(facts: Facts, last: Reading) -> Reading | None:
    """The reading before the last, where the last is not above it."""
    earlier = [r for r in facts.history("test_pressure") if facts.at(r) < facts.at(last)]
    if not earlier or earlier[-1].value < last.value:
        return None
    return earlier[-1]


def _hold(facts: Facts, last: Reading) -> Reading | None:
    duration = facts.current("test_duration", qualifier="pressure_test")
    return duration if duration and facts.place(duration.note) >= facts.place(last.note) else None


def _corrected(facts: Facts, start: Reading | None, last: Reading) -> Calculation | None:
    """The drop with the temperature taken out, where it was worked out from these very readings."""
    drop = facts.calculation("pressure_drop")
    if drop is None or start is None:
        return None
    used = {(r.note, r.position) for r in drop.inputs if r.quantity == "test_pressure"}
    with_temps = any(r.quantity == "outdoor_temp" for r in drop.inputs)
    return drop if with_temps and (last.note, last.position) in used else None


def _by_weather(last: Reading) -> float:
    """The most a cooling pipe would explain [psi]."""
    return limit("pressure_drop_by_weather").at / 100 * last.value

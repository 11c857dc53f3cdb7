"""Air comes before charge: how much air there is per ton, and whether a shortage was mended since."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from assistant.judge.facts import BEFORE_ALL, Facts, Moment, evidence, shown
from assistant.judge.tables import concern, limit, speaks_of
from assistant.records import Concern, DuctRun, Reading, Verdict


@dataclass(frozen=True, slots=True)
class Air:
    """Where a system's air stands.

    state: "unmeasured" | "short" | "mended" (was short, something was done, not measured since) | "in_order"
    """

    state: str = "unmeasured"
    reading: Reading | None = None  # the last measurement, at the system or its return
    per_ton: float | None = None  # of that reading [cfm/ton]; None without a tonnage
    short: Reading | None = None  # the last measurement that was short
    short_per_ton: float | None = None
    mended_by: str | None = None  # what was done about it, in words
    in_order_since: Moment = BEFORE_ALL  # charge readings taken before this were taken on short air


def air_of(facts: Facts) -> Air:
    """The state of the air, followed from the first note to the last.

    A shortage carries over to later visits until the air is measured again or something is done about it
    (contract, "Agreed limits").
    """
    air = Air()
    for moment, step in sorted(_steps(facts), key=lambda pair: pair[0]):
        air = _measured_again(facts, air, moment, step) if isinstance(step, Reading) else _mended(air, moment, step)
    return air


def _steps(facts: Facts) -> Iterator[tuple[Moment, Reading | str]]:
    """Every measurement, and everything done about the air; in one note, what was done comes first."""
    systems = facts.history("system_airflow")
    mends = list(_mends(facts))
    for reading in systems:
        yield facts.at(reading), reading
    for reading in facts.history("return_airflow"):
        # Where the system's own air was measured on the same visit, and nothing was done in between, that rules.
        rival = [s for s in systems if facts.visit(s.note) == facts.visit(reading.note)]
        if not any(_nothing_between(facts, s, reading, mends) for s in rival):
            yield facts.at(reading), reading
    for place, words in mends:
        yield (place, -1), words


def _nothing_between(facts: Facts, one: Reading, other: Reading, mends: list[tuple[int, str]]) -> bool:
    first, last = sorted((facts.place(one.note), facts.place(other.note)))
    return not any(first < place <= last for place, _ in mends)


def _mends(facts: Facts) -> Iterator[tuple[int, str]]:
    """(place of the note, what was done): a duct run added, a filter or blower replaced, static back in range.

    A task that was done is not enough: a task does not tell when, and readings from before would be let through.
    """
    for run in facts.job.duct_runs:
        if run.system == facts.system and run.status == "added":
            yield facts.place(run.note), f"{run_in_words(run)} was added"
    for event in facts.events:
        if event.kind == "part_replaced" and speaks_of("air_side", event.what or event.said):
            yield facts.place(event.note), f"{event.what or event.said} was replaced"
    rated = facts.plate("total_static_pressure")
    most = rated.value if rated else limit("total_static").at
    statics = facts.history("total_static_pressure")
    for before, after in zip(statics, statics[1:], strict=False):
        if before.value > most >= after.value:
            static = shown(after.value, after.unit)
            yield facts.place(after.note), f"total static came down from {before.value:g} to {static}"


def run_in_words(run: DuctRun) -> str:
    """ "one 16 in round flex return" """
    count = {1: "one", 2: "two", 3: "three"}.get(run.count, str(run.count))
    size = " by ".join(f"{side:g}" for side in run.size_in)
    parts = [count, f"{size} in" if size else "", run.material or "", run.side]
    return " ".join(part for part in parts if part)


def _measured_again(facts: Facts, air: Air, moment: Moment, reading: Reading) -> Air:
    tons = facts.tons
    per_ton = reading.value / tons if tons else None
    if per_ton is None:
        return replace(air, reading=reading, per_ton=None)
    if per_ton < limit("airflow_per_ton_low").at:
        return Air("short", reading, per_ton, short=reading, short_per_ton=per_ton)
    if air.state != "short":
        return replace(air, state="in_order", reading=reading, per_ton=per_ton)
    # What brought the air back was not said. On a later visit it was done before this visit's readings;
    # in a later note of the same visit, between the notes; in the same note, just before this value.
    assert air.short is not None
    if facts.visit(air.short.note) != facts.visit(reading.note):
        since = (min(p for p, v in enumerate(facts.visit_of_place) if v == facts.visit(reading.note)), -1)
    elif air.short.note != reading.note:
        since = (moment[0], -1)
    else:
        since = moment
    return replace(air, state="in_order", reading=reading, per_ton=per_ton, in_order_since=since)


def _mended(air: Air, moment: Moment, words: str) -> Air:
    if air.state not in ("short", "mended"):
        return air
    since = moment if air.state == "short" else air.in_order_since
    return replace(air, state="mended", mended_by=words, in_order_since=since)


def weigh_airflow(facts: Facts, air: Air, charge_visit: int | None) -> Iterator[Verdict | Concern]:
    """The verdict on the air.

    charge_visit: the last visit on which the charge was read, None for never. A charge is waiting for the air, so
    air that was not measured, or was short on an earlier visit, is asked for.
    """
    low, high = limit("airflow_per_ton_low").at, limit("airflow_per_ton_high").at
    target = facts.current("target_airflow_per_ton", "target", "rated", "measured")
    nominal = target.value if target else limit("airflow_per_ton_nominal").at
    if air.reading is None:
        if charge_visit is not None:
            because = "airflow not measured, so it is not known whether the charge was checked on enough air"
            yield Verdict("airflow", facts.system, "unknown", because, target=nominal, needs=("system_airflow",))
        return
    flow = shown(air.reading.value, "cfm")
    if air.per_ton is None:
        because = f"{flow}, but the tonnage was not said"
        yield Verdict("airflow", facts.system, "unknown", because, needs=("cooling_capacity",))
        return
    figures = f"{flow} on {facts.tons:g} ton is {shown(air.per_ton, 'cfm/ton')}"
    proof = evidence(air.reading)
    if air.state == "mended":
        because = f"{figures}; since then {air.mended_by}, and it was not measured again"
        needs = (air.reading.quantity,)
        yield Verdict("airflow", facts.system, "unknown", because, air.per_ton, nominal, needs=needs)
    elif air.state == "short":
        because = f"{figures}, below {low:g}{_within_error(facts, air, low)}"
        again = charge_visit is not None and charge_visit > facts.visit(air.reading.note)
        needs = (air.reading.quantity,) if again else ()
        yield Verdict("airflow", facts.system, "low", because, air.per_ton, nominal, needs=needs)
        yield concern("airflow_low", facts.system, proof, figures=because)
    elif air.per_ton > max(high, nominal):
        because = f"{figures}, above {max(high, nominal):g}"
        yield Verdict("airflow", facts.system, "high", because, air.per_ton, nominal)
        yield concern("airflow_high", facts.system, proof, figures=because)
    else:
        because = f"{figures}, {low:g} or more{_within_error(facts, air, low)}{_change(facts, air)}"
        yield Verdict("airflow", facts.system, "in_range", because, air.per_ton, nominal)


def _within_error(facts: Facts, air: Air, edge: float) -> str:
    worked_out = facts.calculation("airflow_per_ton")
    if worked_out is None or air.per_ton is None or abs(worked_out.value - air.per_ton) > 1:
        return ""
    if abs(air.per_ton - edge) > worked_out.plus_minus:
        return ""
    return f", though within its own ±{worked_out.plus_minus:.0f} of the line"


def _change(facts: Facts, air: Air) -> str:
    """Before and after, once a shortage was mended and measured."""
    if air.short is None or air.reading is None:
        return ""
    before = f"{air.short.value:g} cfm on {facts.day_of(air.short.note)}"
    done = f" before {air.mended_by}" if air.mended_by else ""
    return f"; it was {before}{done}, so {air.reading.value - air.short.value:+.0f} cfm"

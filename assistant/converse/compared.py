"""How two visits compare: what was measured on both, and which findings changed."""

from __future__ import annotations

from dataclasses import replace

from assistant.converse.asking import Asking, Told, found_values, system_name, verdict_on, visit_of
from assistant.converse.speech import amount, day, joined, listed, number
from assistant.converse.vocabulary import short, title
from assistant.records import Answer, Calculation, Reading, Verdict

_COMPARED = (
    "subcooling", "superheat", "return_airflow", "system_airflow", "total_static_pressure", "suction_pressure",
    "liquid_pressure", "temperature_split", "temperature_rise", "carbon_monoxide", "vacuum_level",
)  # fmt: skip
_MOST = 4  # values an ear can follow in one answer
_STATUS = {"in_range": "in range", "pass": "good", "fail": "no good"}


def compare_answer(asking: Asking) -> Told:
    """Then and now, of the asked quantity or of those that tell most; the visits are named by their dates."""
    visits = asking.history.visits()
    if len(visits) < 2:
        return Told(Answer(joined("There has been only one visit, so there is nothing to compare it with")))
    named = asking.visit if asking.visit is not None and asking.visit < len(visits) - 1 else None
    quantities = asking.quantities or _COMPARED
    texts: list[str] = []
    evidence: list[Reading | Calculation | Verdict] = []
    dates: set[str] = set()
    for system in asking.systems:
        for quantity in quantities:
            pair = _pair(asking, quantity, system, named)
            if pair and len(texts) < _MOST:
                before, now = pair
                evidence += pair
                dates.add(visits[visit_of(before, asking.history)].date)
                texts.append(_change(quantity, before, now, system, asking))
    changed = _verdicts(asking, named, evidence) if not asking.quantities else []
    if not texts and not changed:
        what = short(quantities[0]) if asking.quantities else "the same value"
        return Told(Answer(joined(f"I have no two visits with {what} to compare")))
    since = f"Since {listed(day(date) for date in sorted(dates))}: " if dates else ""
    say = joined(f"{since}{listed(texts)}", listed(changed))
    value, unit = _difference(evidence) if len(texts) == 1 else (None, None)
    return Told(Answer(say, value, unit, tuple(evidence)), quantity=asking.quantities[0] if asking.quantities else None)


def _pair(
    asking: Asking, quantity: str, system: str, named: int | None
) -> tuple[Reading | Calculation, Reading | Calculation] | None:
    """The newest value of a quantity and the one of an earlier visit: the named one, else the first that has it."""
    count = len(asking.history.visits())
    found = {
        visit: found_values(replace(asking, visit=visit, visit_said=True), quantity, system) for visit in range(count)
    }
    having = [visit for visit, records in found.items() if records]
    then = named if named in having else having[0] if having else None
    if then is None or named is not None and then != named or having[-1] == then:
        return None
    return found[then][0], found[having[-1]][0]


def _change(
    quantity: str, before: Reading | Calculation, now: Reading | Calculation, system: str, asking: Asking
) -> str:
    where = f"{system_name(system)} " if len(asking.systems) > 1 or asking.single else ""
    name = short(getattr(now, "quantity", getattr(now, "name", quantity)))
    # Of the rounded values, so that the difference told is that of the values told.
    difference = float(number(now.value, now.unit)) - float(number(before.value, before.unit))
    if number(before.value, before.unit) == number(now.value, now.unit):
        return f"{where}{name} still {amount(now.value, now.unit)}"
    direction = "up" if difference > 0 else "down"
    by = number(abs(difference), now.unit)
    return f"{where}{name} {direction} {by}, from {number(before.value, before.unit)} to {amount(now.value, now.unit)}"


def _difference(evidence: list[Reading | Calculation | Verdict]) -> tuple[float | None, str | None]:
    before, now = evidence[0], evidence[1]
    return round(now.value - before.value, 6), getattr(now, "unit", None)


def _verdicts(asking: Asking, named: int | None, evidence: list) -> list[str]:
    """Findings that are not what they were."""
    then = asking.history.log_after_visit(named if named is not None else 0)
    texts = []
    for verdict in asking.history.logs[-1].verdicts:
        earlier = verdict_on(then, verdict.about, verdict.system)
        if earlier and earlier.status != verdict.status:
            where = f"{system_name(verdict.system)} " if system_name(verdict.system) else ""
            texts.append(f"the {where}{title(verdict.about)} was {_word(earlier)}, now {_word(verdict)}")
            evidence += [earlier, verdict]
    return texts


def _word(verdict: Verdict) -> str:
    return _STATUS.get(verdict.status, verdict.status)

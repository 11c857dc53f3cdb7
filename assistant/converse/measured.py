"""Answers that are values: what was measured or worked out, and what it should be."""

from __future__ import annotations

import re
from dataclasses import replace

from assistant.converse.asking import (
    Asking,
    Told,
    charge_quantity,
    doubted,
    equipment_of,
    evidence_readings,
    found_values,
    missing_for,
    on_system,
    system_name,
    verdict_on,
    visit_of,
)
from assistant.converse.speech import (
    amount,
    evidence_text,
    joined,
    listed,
    named,
    needed,
    said_when,
    sentence,
    span,
    without_digits,
)
from assistant.converse.vocabulary import asked, full, short
from assistant.records import Answer, Calculation, Reading

_EARLIER = re.compile(
    r"\b(?:before|start(?:ed)?(?: out)?|began|begin|pull(?:ed)?(?: it| that)?(?: all the way)? down|at first"
    r"|originally|initially|from what|old (?:one|cap|capacitor|part|motor)|how (?:low|deep)|lowest|deepest)\b"
)
_PART = re.compile(r"\b(herm|fan|run|start)\b")
_TEST = {
    "pressure_test": re.compile(r"\b(?:nitrogen|pressure|leak)\b"),
    "evacuation": re.compile(r"\b(?:vacuum|evacuat\w*|micron\w*|isolated|valved)\b"),
}


def value_answer(asking: Asking) -> Told:
    """The value of each asked quantity, its evidence behind it; what is missing where there is none."""
    parts: list[str] = []
    evidence: list[Reading | Calculation] = []
    first: Reading | Calculation | None = None
    quantities = _newest_only(asking) if asking.question.newest else asking.quantities
    for quantity in quantities:
        for system in _systems_with(asking, quantity):
            records = _narrowed(asking, quantity, found_values(asking, quantity, system))
            if not records:
                continue
            first = first or records[0]
            parts.append(_value_text(asking, quantity, records, system))
            evidence.extend(records)
    if not evidence:
        beside = _beside(asking, quantities[0])
        return value_answer(replace(asking, quantities=(beside,))) if beside else _no_value(asking, quantities)
    value = _total(evidence) if asked().get(quantities[0]) and asked()[quantities[0]].total else first.value
    readings = evidence_readings(evidence)
    only_reading = len(readings) == 1 and isinstance(evidence[0], Reading)
    source = said_when(readings[0], asking.history) if only_reading else ""
    behind = "" if only_reading else _from(readings, evidence, asking)
    say = joined(f"{listed(parts)}{', ' + source if source else ''}", behind)
    systems = {record.system for record in evidence}
    return Told(
        Answer(say, value, first.unit, tuple(dict.fromkeys([*evidence, *readings]))),
        quantity=quantities[0],
        about=asked()[quantities[0]].about if quantities[0] in asked() else None,
        system=systems.pop() if len(systems) == 1 and "site" not in systems else None,
    )


def _beside(asking: Asking, quantity: str) -> str | None:
    """Another quantity of the same finding, where none was named and the one spoken of has no value any more."""
    if asking.question.quantities or _about(quantity) in (None, "charge"):
        return None
    others = (row.name for row in asked().values() if row.about == _about(quantity) and row.name != quantity)
    return next((name for name in others if any(found_values(asking, name, system) for system in asking.systems)), None)


def _from(readings: list[Reading], evidence: list[Reading | Calculation], asking: Asking) -> str:
    if all(isinstance(record, Reading) for record in evidence):
        return sentence(listed(dict.fromkeys(said_when(reading, asking.history) for reading in readings)))
    text = evidence_text(readings, asking.history)
    return f"From {text}" if text else ""


def _newest_only(asking: Asking) -> tuple[str, ...]:
    """Of quantities that share a word ("what did it hold at"), the one that was said last."""
    readings = [
        r
        for r in asking.log.readings
        if r.quantity in asking.quantities and r.status == "current" and r.role in ("measured", "estimated")
    ]
    newest = asking.history.newest(readings)
    return (newest.quantity,) if newest else asking.quantities[:1]


def _systems_with(asking: Asking, quantity: str) -> tuple[str, ...]:
    """The asked systems; of several only those that have the quantity, and a site's value once."""
    if asked().get(quantity) and asked()[quantity].site:
        return ("site",)
    return asking.systems


def _narrowed(asking: Asking, quantity: str, records: list[Reading | Calculation]) -> list[Reading | Calculation]:
    """The records a question's further words single out: a capacitor's side, a test, an earlier value, all of a sum."""
    if not records:
        return []
    log, record = asking.log, records[0]
    part = _PART.search(asking.words)
    if part and quantity.startswith("capacit"):
        return [each for each in records if each.qualifier == part.group(1)] or records
    if quantity == "test_duration":
        test = next((name for name, words in _TEST.items() if words.search(asking.words)), None)
        same = [r for r in log.readings if r.quantity == quantity and r.status == "current" and r.qualifier == test]
        return same[-1:] or records
    if asked().get(quantity) and asked()[quantity].total:
        return _all_of(asking, quantity, record)
    if _EARLIER.search(asking.words):
        return (_earlier(asking, record) if isinstance(record, Reading) else []) or _on_an_earlier_visit(
            asking, quantity, record
        )
    return records


def _on_an_earlier_visit(asking: Asking, quantity: str, record: Reading | Calculation) -> list[Reading | Calculation]:
    """The value of the visit before: "what was it before?"; the present one where there is none."""
    if not asking.visit_said:
        for visit in range(visit_of(record, asking.history) - 1, -1, -1):
            found = found_values(replace(asking, visit=visit, visit_said=True), quantity, record.system)
            if found:
                return found
    return [record]


def _all_of(asking: Asking, quantity: str, record: Reading | Calculation) -> list[Reading | Calculation]:
    visit = asking.visit if asking.visit_said else None
    return [
        r
        for r in asking.log.readings
        if r.quantity == quantity
        and r.status == "current"
        and r.role in ("measured", "estimated")
        and on_system(r.system, record.system)
        and (visit is None or visit_of(r, asking.history) == visit)
    ] or [record]


def _earlier(asking: Asking, record: Reading) -> list[Reading | Calculation]:
    """What stood before `record` on the same visit: "what did it pull down to" before it was valved off."""
    before = [
        r
        for r in asking.log.readings
        if (r.quantity, r.system, r.role, r.qualifier)
        == (record.quantity, record.system, record.role, record.qualifier)
        and r.status == "superseded"
        and visit_of(r, asking.history) == visit_of(record, asking.history)
    ]
    return before[-1:]


def _value_text(asking: Asking, quantity: str, records: list[Reading | Calculation], system: str) -> str:
    where = system_name(system) if len(asking.systems) > 1 or asking.single else ""
    row = asked().get(quantity)
    if row and row.total and len(records) > 1:
        return f"{where} {row.short} {amount(_total(records), records[0].unit)} in all".strip()
    texts = [_with_role(record) for record in records]
    return f"{where} {listed(texts)}".strip()


def _with_role(record: Reading | Calculation) -> str:
    """ "subcool 9.7 degrees"; a guess is told as one."""
    if isinstance(record, Reading) and record.role == "estimated":
        return f"{short(record.quantity)} about {span(record)}, an estimate"
    if isinstance(record, Reading) and record.status == "superseded" and record.quantity == "capacitance":
        return f"{named(record)} on the old part"
    return named(record)


def _total(records: list[Reading | Calculation]) -> float:
    return sum(record.value for record in records)


def _no_value(asking: Asking, quantities: tuple[str, ...]) -> Told:
    """Says plainly that there is no value, and what it would need. No figure stands in such an answer."""
    quantity = quantities[0]
    system = asking.systems[0]
    where = (
        f" for {without_digits(system)}" if system_name(system) and (asking.single or len(asking.systems) == 1) else ""
    )
    then = " from that visit" if asking.visit is not None and asking.visit_said else ""
    uncertain = doubted(asking.log, quantity, system)
    if uncertain:
        say = joined(
            f"The {full(quantity)}{where} is in doubt: it can't be right the way I heard it, so I'm not using it",
            "Say it once more and I'll take that",
        )
        return Told(Answer(say, evidence=(uncertain,)), quantity=quantity, about=_about(quantity), system=_one(asking))
    missing = missing_for(asking.log, quantity, system) if not then else list(_needs(quantity))
    doubts = [need for need in _needs(quantity) if doubted(asking.log, need, system)]
    if asked().get(quantity) and asked()[quantity].needs and (missing or doubts):
        in_doubt = f"; the {listed(map(full, doubts))} as I heard it is in doubt" if doubts else ""
        say = joined(
            f"I haven't got the {full(quantity)}{where}{then}: it would need {needed(missing or doubts)}{in_doubt}"
        )
    else:
        say = joined(f"I haven't got the {full(quantity)}{where}{then}: it was not measured, or not said")
    return Told(Answer(say), quantity=quantity, about=_about(quantity), system=_one(asking))


def _needs(quantity: str) -> tuple[str, ...]:
    return asked()[quantity].needs if quantity in asked() else ()


def _about(quantity: str) -> str | None:
    return asked()[quantity].about if quantity in asked() else None


def _one(asking: Asking) -> str | None:
    return asking.systems[0] if asking.single else None


# ---------------------------------------------------------------- what it should be


# A target asked by its own name, or by that of what is missing to it.
_SAME_TARGET = {
    "target_superheat": "superheat",
    "airflow_target": "system_airflow",
    "airflow_shortfall": "system_airflow",
    "return_airflow_shortfall": "return_airflow",
    "supply_airflow_shortfall": "supply_airflow",
}


def target_answer(asking: Asking) -> Told:
    """What plate, chart or table calls for; what it would need where nobody said and nothing gives it."""
    quantity = asking.quantities[0] if asking.quantities else None
    parts, evidence, values = [], [], []
    for system in asking.systems:
        wanted = quantity or charge_quantity(asking.log, system)
        wanted = _SAME_TARGET.get(wanted, wanted)
        if wanted in ("subcooling", "superheat") and not asking.question.quantities and asking.question.goes_on:
            wanted = charge_quantity(asking.log, system)  # "and downstairs?" may be charged by the other one
        found = _target(asking, wanted, system) or _target_beside(asking, wanted, system)
        if found is None:
            continue
        text, value, unit, records = found
        where = f"{system_name(system)} " if len(asking.systems) > 1 or asking.single else ""
        parts.append(f"{where}{text}")
        values.append((value, unit))
        evidence.extend(records)
    system = asking.systems[0]
    wanted = quantity or charge_quantity(asking.log, system)
    wanted = _SAME_TARGET.get(wanted, wanted)
    if not parts:
        return _no_target(asking, wanted, system)
    readings = evidence_readings([record for record in evidence if isinstance(record, Reading | Calculation)])
    behind = evidence_text(readings, asking.history)
    value, unit = values[0]
    one_said = len(evidence) == 1 and isinstance(evidence[0], Reading)
    source = f", {said_when(evidence[0], asking.history)}" if one_said else ""
    say = joined(f"{listed(parts)}{source}", f"From {behind}" if behind and not one_said else "")
    return Told(Answer(say, value, unit, tuple(evidence)), quantity=wanted, about=_about(wanted), system=_one(asking))


def _target(asking: Asking, quantity: str, system: str) -> tuple[str, float, str, list] | None:
    """Words, value, unit and evidence of what a quantity should be."""
    log, history = asking.log, asking.history
    said = [
        r
        for r in log.readings
        if r.status == "current"
        and r.role in ("target", "rated")
        and on_system(r.system, system)
        and (r.quantity == quantity or (quantity == "superheat" and r.quantity == "target_superheat"))
    ]
    if said:
        latest = {r.qualifier: r for r in sorted(said, key=lambda r: (history.order(r.note), r.position))}
        newest = history.newest(said)
        of_parts = quantity == "capacitance" and len(latest) > 1  # a dual capacitor has a rating for each side
        chosen = list(latest.values()) if of_parts else [newest]
        text = listed(f"{'rated' if r.role == 'rated' else 'target'} {_plainly(r)}" for r in chosen)
        return text, chosen[0].value, chosen[0].unit, chosen
    worked_out = {"superheat": "target_superheat", "system_airflow": "airflow_target"}.get(quantity)
    calculated = next((c for c in log.calculations if c.name == worked_out and on_system(c.system, system)), None)
    if calculated:
        return f"{short(calculated.name)} {span(calculated)}", calculated.value, calculated.unit, [calculated]
    verdict = verdict_on(log, _about(quantity) or "", system)
    own = [each.value for each in found_values(asking, quantity, system)]
    # A verdict's target is in the unit of its value, so it is this quantity's only where the value is.
    if (
        verdict
        and verdict.target is not None
        and verdict.value is not None
        and own
        and abs(own[0] - verdict.value) < 1e-6
    ):
        unit = found_values(asking, quantity, system)[0].unit
        return f"target {short(quantity)} {amount(verdict.target, unit)}", verdict.target, unit, [verdict]
    return None


def _target_beside(asking: Asking, quantity: str, system: str) -> tuple[str, float, str, list] | None:
    """The target of the finding a quantity belongs to: a filter's drop has none, its total static has."""
    about = _about(quantity)
    if about in (None, "charge"):
        return None  # a superheat target is none for a subcooling
    others = (row.name for row in asked().values() if row.about == about and row.name != quantity)
    return next((found for name in others if (found := _target(asking, name, system))), None)


def _plainly(reading: Reading) -> str:
    part = f"{reading.qualifier} " if reading.qualifier and reading.quantity == "capacitance" else ""
    return f"{part}{short(reading.quantity)} {span(reading)}"


def _no_target(asking: Asking, quantity: str, system: str) -> Told:
    where = f" for {without_digits(system)}" if system_name(system) and asking.single else ""
    equipment = equipment_of(asking.log, system)
    if quantity == "superheat" and not (equipment and equipment.metering_device in ("txv", "eev")):
        missing = missing_for(asking.log, "target_superheat", system) or ["return_wet_bulb", "outdoor_temp"]
        both = len(missing) == len(asked()["target_superheat"].needs)
        table = "" if both else ", or those readings lie outside the table"
        say = joined(f"I can't say what the superheat should be{where} yet: it would need {needed(missing)}{table}")
    elif quantity == "superheat":
        say = joined(
            f"Nobody gave a superheat to aim for{where}", "With an expansion valve the charge goes by subcooling"
        )
    elif quantity == "subcooling":
        say = joined(f"I haven't got a target subcooling{where}: it would need the nameplate's or the chart's figure")
    else:
        say = joined(
            f"I haven't got a target for the {full(quantity)}{where}: "
            "it would need the figure from the plate or the book"
        )
    return Told(Answer(say), quantity=quantity, about=_about(quantity), system=_one(asking))

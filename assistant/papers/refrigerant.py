"""The refrigerant record: what went in and out of each system, in whose words, and what is not on record."""

from __future__ import annotations

import functools
import tomllib
from dataclasses import dataclass
from importlib import resources

from assistant.compute.leak_rate import RefrigerantFacts, refrigerant_facts
from assistant.errors import SettingsError, UnknownRefrigerant
from assistant.papers.csv_text import csv_text
from assistant.papers.text import visit_days
from assistant.records import JobLog, Reading

_WAY = {"refrigerant_added": 1.0, "refrigerant_recovered": -1.0}
_WHAT = {"refrigerant_added": "added", "refrigerant_recovered": "recovered", "factory_charge": "factory charge"}
# A record of refrigerant usually names these. Notes have no field for them, so they are never filled in.
_NEVER_HEARD = ("the cylinder it came from or went to", "the technician's certification number")
_LOCAL = "State, city and maker may ask for more; the licensed person decides."
COLUMNS = (
    "job", "row", "date", "system", "refrigerant", "what", "amount_lb", "counted", "running_lb", "role", "status",
    "said", "note", "start_s", "remark",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Moved:
    """One amount that was told."""

    date: str | None  # ISO date of the visit
    system: str
    refrigerant: str | None  # as the system's plate or the speaker named it
    what: str  # added | recovered | factory charge
    amount: float  # lb
    running: float | None  # lb added less recovered in this system so far; None where the amount is not counted
    role: str
    status: str
    said: str
    note: str
    start_s: float | None
    remark: str  # why it is not counted, if it is not


@dataclass(frozen=True, slots=True)
class SystemTotal:
    """What one system's refrigerant comes to."""

    system: str
    refrigerant: str | None
    added: float  # lb
    recovered: float  # lb
    charge: float | None  # lb, factory charge and what was added, where that could be worked out
    not_recorded: tuple[str, ...]
    rules: tuple[RecordRule, ...]  # that may apply


@dataclass(frozen=True, slots=True)
class RecordRule:
    """One row of refrigerant_rules.toml."""

    name: str
    asks: str
    source: str


@dataclass(frozen=True, slots=True)
class RefrigerantRecord:
    moved: tuple[Moved, ...]
    totals: tuple[SystemTotal, ...]


def refrigerant_record(log: JobLog) -> RefrigerantRecord:
    """Every amount added, recovered and stamped at the factory, in the order told, and each system's total [lb].

    Counted is what was measured and stands. Doubtful and estimated amounts are listed and not counted; what was
    taken back is left out.
    """
    order, days = log.note_order(), visit_days(log)
    names = {e.system: e.refrigerant for e in log.equipment}
    told = [r for r in log.readings if r.quantity in _WHAT and r.status != "retracted" and r.role != "target"]
    running: dict[str, float] = {}
    moved = []
    for r in sorted(told, key=lambda r: (order.get(r.note, -1), r.position)):
        remark = _not_counted(r)
        if not remark and r.quantity in _WAY:
            running[r.system] = running.get(r.system, 0.0) + _WAY[r.quantity] * r.value
        moved.append(
            Moved(
                days.get(r.note),
                r.system,
                names.get(r.system),
                _WHAT[r.quantity],
                r.value,
                running.get(r.system) if not remark and r.quantity in _WAY else None,
                r.role,
                r.status,
                r.said,
                r.note,
                r.start_s,
                remark,
            )  # fmt: skip
        )
    systems = dict.fromkeys(m.system for m in moved)
    return RefrigerantRecord(tuple(moved), tuple(_total(log, system, moved) for system in systems))


def _not_counted(reading: Reading) -> str:
    if reading.status == "doubtful":
        return "doubtful, not counted"
    if reading.status == "superseded":
        return "told again later, not counted"
    if reading.role == "estimated":
        return "estimated, not counted"
    if reading.unit != "lb":
        return f"told in {reading.unit}, not counted"
    if reading.quantity == "factory_charge":
        return ""
    return "" if reading.role == "measured" else f"{reading.role}, not counted"


def _total(log: JobLog, system: str, moved: list[Moved]) -> SystemTotal:
    mine = [m for m in moved if m.system == system]
    counted = {
        what: sum((m.amount for m in mine if m.what == what and not m.remark), 0.0) for what in ("added", "recovered")
    }
    name = next((m.refrigerant for m in mine if m.refrigerant), None)
    charge = next((c.value for c in log.calculations if (c.name, c.system) == ("total_charge", system)), None)
    lacking = [
        *([] if name else ["which refrigerant"]),
        *([] if any(m.what == "factory charge" for m in mine) else ["the factory charge"]),
        *([] if log.job.customer else ["the owner or operator"]),
        *_NEVER_HEARD,
    ]
    last = log.visits[-1].date if log.visits else ""
    rules = _may_apply(name, charge, counted["recovered"] > 0, last)
    return SystemTotal(system, name, counted["added"], counted["recovered"], charge, tuple(lacking), rules)


def _may_apply(name: str | None, charge: float | None, recovered: bool, on: str) -> tuple[RecordRule, ...]:
    """Rules whose every condition that can be told holds. Without a refrigerant or a full charge: none is named."""
    try:
        facts = refrigerant_facts(name) if name else None
    except UnknownRefrigerant:
        facts = None
    if facts is None or charge is None:
        return ()
    return tuple(
        RecordRule(row["name"], row["asks"], row["source"])
        for row in record_rules()
        if _holds(row, facts, charge, recovered, on)
    )


def _holds(row: dict, facts: RefrigerantFacts, charge: float, recovered: bool, on: str) -> bool:
    return (
        on >= row["from"]
        and charge >= row.get("charge_from", 0)
        and charge > row.get("charge_above", 0)
        and charge < row.get("charge_below", float("inf"))
        and row.get("ozone_depleting") in (None, facts.ozone_depleting)
        and facts.gwp > row.get("gwp_above", 0)
        and (recovered or not row.get("only_if_recovered"))
    )


@functools.cache
def record_rules() -> tuple[dict, ...]:
    """The rows of refrigerant_rules.toml. Raises SettingsError for one without a source."""
    rows = tomllib.loads(resources.files("assistant.papers").joinpath("refrigerant_rules.toml").read_text("utf-8"))
    if not all(row.get("source") for row in rows["rule"]):
        raise SettingsError("A record-keeping rule without a source is not used.")
    return tuple(rows["rule"])


def refrigerant_csv(log: JobLog) -> str:
    """`refrigerant_record` as one table: a row for each amount; then each system's totals, gaps and rules.

    `row` tells them apart: amount | total | not recorded | rule. `csv_text` tells how it is written.
    """
    record = refrigerant_record(log)
    rows: list[list[object]] = [
        [log.job.id, "amount", m.date, m.system, m.refrigerant, m.what, m.amount, "no" if m.remark else "yes",
         m.running, m.role, m.status, m.said, m.note, m.start_s, m.remark]
        for m in record.moved
    ]  # fmt: skip
    for total in record.totals:
        rows += [[log.job.id, *row] for row in _summary(total)]
    return csv_text(COLUMNS, rows)


def _summary(total: SystemTotal) -> list[list[object]]:
    def row(kind: str, what: str, amount: float | None = None, remark: str = "") -> list[object]:
        return [kind, None, total.system, total.refrigerant, what, amount, *[None] * 7, remark]

    rows = [row("total", "added", total.added), row("total", "recovered", total.recovered)]
    if total.charge is not None:
        rows.append(row("total", "charge", total.charge, "factory charge and what was added"))
    rows += [row("not recorded", each) for each in total.not_recorded]
    rows += [row("rule", rule.name, None, f"may apply: {rule.asks} ({rule.source})") for rule in total.rules]
    rows.append(row("rule", "local rules", None, _LOCAL))
    return rows

"""What goes on the bill: agreed extra work, material and hours, each with a price only where one was said."""

from __future__ import annotations

from dataclasses import astuple, dataclass, fields

from assistant.papers.csv_text import csv_text
from assistant.papers.text import clean, visit_days
from assistant.records import JobLog


@dataclass(frozen=True, slots=True)
class InvoiceLine:
    """One line of a bill, as it was told."""

    kind: str  # work | material | labour
    date: str | None  # ISO date of the visit it was told on; of the answer for agreed work
    item: str
    quantity: float | None
    unit: str | None  # "ea", "ft", "lb" …; "h" or "days" for labour
    people: int | None  # who worked those hours together, if it was said
    status: str  # of work: approved; of material: used | needed | ordered; of labour: worked
    price: float | None  # [dollars] as it was said; None: no price was said
    system: str | None
    note: str


def invoice_lines(log: JobLog) -> tuple[InvoiceLine, ...]:
    """Approved extra work, then material used, ordered and needed, then hours, each in the order it was told.

    Nothing is added up or multiplied: whether a price was for one or for all was not always said. Work that was
    offered and not approved is left to the proposal.
    """
    days = visit_days(log)
    work = [
        InvoiceLine("work", a.when or days.get(a.note), clean(a.scope), None, None, None, a.status, a.price,
                    a.system, a.note)
        for a in log.agreements
        if a.status == "approved"
    ]  # fmt: skip
    rank = {"used": 0, "ordered": 1, "needed": 2}
    material = [
        InvoiceLine("material", days.get(m.note), clean(m.item), m.quantity, m.unit, None, m.status, m.price,
                    None, m.note)
        for m in sorted(log.materials, key=lambda m: rank.get(m.status, 3))
    ]  # fmt: skip
    labour = [
        InvoiceLine("labour", days.get(each.note), clean(each.what), amount, unit, each.people, "worked", None,
                    None, each.note)
        for each in log.labour
        for amount, unit in _spent(each.hours, each.days)
    ]  # fmt: skip
    return (*work, *material, *labour)


def _spent(hours: float | None, days: float | None) -> list[tuple[float | None, str | None]]:
    told = [(amount, unit) for amount, unit in ((hours, "h"), (days, "days")) if amount is not None]
    return told or [(None, None)]


def invoice_csv(log: JobLog) -> str:
    """`invoice_lines` as a table; `csv_text` tells how it is written."""
    names = [f.name for f in fields(InvoiceLine)]
    return csv_text(["job", *names], ([log.job.id, *astuple(line)] for line in invoice_lines(log)))

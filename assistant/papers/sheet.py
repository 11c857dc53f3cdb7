"""What a commissioning record says, as plain data for the page to set: every sentence and cell, nothing else."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

from assistant.converse import report_words as words
from assistant.converse.history import JobHistory
from assistant.papers.by_visit import changed_by_hand, values_by_visit
from assistant.papers.refrigerant import refrigerant_record
from assistant.papers.system_sheet import system_sheet, tables
from assistant.papers.text import ADVICE, amount, clean, dollars, full_day, job_title, name_of, span, visit_days
from assistant.records import Agreement, Concern, Event, JobLog, Reading, Task


def record_sheet(history: JobHistory) -> dict[str, Any]:
    """The commissioning record of a job as JSON types: clean texts (`text.clean`) and lists of them."""
    log = history.latest
    if log is None:
        return _cleaned({"title": "", "short": "", "advice": ADVICE, "nothing": True})
    days = visit_days(log)
    systems = log.systems_described()
    several = len(systems) > 1
    return _cleaned(
        {
            "title": job_title(log),
            "short": textwrap.shorten(job_title(log), 50, placeholder="…"),  # in the foot of each page
            "nothing": False,
            "advice": ADVICE,
            "visited": words.days(log.visits[0].date, log.visits[-1].date) if log.visits else "",
            "visits": [each for visit in log.visits if (each := _visit(log, visit.date, visit.notes))["what"]],
            "stop": [_concern(c, several) for c in log.concerns if c.severity == "stop"],
            "attention": [_concern(c, several) for c in log.concerns if c.severity == "attention"],
            "info": [_concern(c, several) for c in log.concerns if c.severity == "info"],
            "site": tables(values_by_visit(history, "site")),
            "systems": [system_sheet(history, log, system) for system in systems],
            "permits": [row for kind in ("permit", "inspection") for row in _official(log, kind)],
            "agreements": [_agreement(a) for a in log.agreements],
            "refrigerant": [
                [
                    full_day(m.date),
                    name_of(m.system) or "the system",
                    m.refrigerant or "not said",
                    m.what,
                    words.value(m.amount, "lb"),
                ]
                for m in refrigerant_record(log).moved
                if not m.remark and m.what != "factory charge"
            ],
            "tasks": [_task(t) for t in log.tasks if t.status == "open"],
            "asks": [_where(a.system, several) + a.text for a in log.asks],
            "doubtful": [
                [full_day(days.get(r.note)), _named(r), f'"{r.said}"', words.standing(r).split(": ", 1)[-1]]
                for r in log.readings
                if r.status == "doubtful"
            ],
            "corrections": [*_corrections(log, days)],
        }
    )


def _cleaned(value: Any) -> Any:
    if isinstance(value, str):
        return clean(value)
    if isinstance(value, dict):
        return {name: _cleaned(each) for name, each in value.items()}
    return [_cleaned(each) for each in value] if isinstance(value, (list, tuple)) else value


def _where(system: str, several: bool) -> str:
    return f"{name_of(system)}: " if several and name_of(system) else ""


def _named(reading: Reading) -> str:
    where = f"{name_of(reading.system)}: " if name_of(reading.system) else ""
    return where + words.title(reading.quantity, reading.qualifier)


def _visit(log: JobLog, date: str, notes: tuple[str, ...]) -> dict[str, Any]:
    happened = [e for e in log.events if e.note in notes]
    return {"day": full_day(date), "what": list(dict.fromkeys(_happened(e, date) for e in happened))}


def _happened(event: Event, visited: str) -> str:
    """ "studio: first fire at 6:20 pm", "part replaced (contactor)"; the day where it is another than the visit's."""
    where = f"{name_of(event.system)}: " if name_of(event.system) else ""
    when = full_day(event.when)
    if event.when and event.when[:10] == visited:
        when = when.partition(" at ")[2] and f"at {when.partition(' at ')[2]}"
    named = (event.trade or "").replace("_", " "), event.kind.replace("_", " "), when
    told = " ".join(each for each in named if each)
    more = ", ".join(each for each in (event.what, event.outcome) if each)
    return f"{where}{told}{f' ({more})' if more else ''}"


def _official(log: JobLog, kind: str) -> list[list[str]]:
    """Every permit or inspection as it was told, one line for the same thing told twice."""
    order, days = log.note_order(), visit_days(log)
    told: dict[tuple, list[str]] = {}
    for event in sorted((e for e in log.events if e.kind == kind), key=lambda e: order.get(e.note, -1)):
        trade = (event.trade or "trade not said").replace("_", " ")
        outcome = (event.outcome or "no outcome told").replace("_", " ")
        when = full_day(event.when) or f"told {full_day(days.get(event.note))}"
        told.setdefault((event.trade, event.outcome, event.when, event.system), [kind, trade, outcome, when])
    return list(told.values())


def _agreement(agreement: Agreement) -> list[str]:
    price = dollars(agreement.price) if agreement.price is not None else "no price told"
    return [
        _where(agreement.system, True) + agreement.scope, f"{agreement.status}, {agreement.by}",
        full_day(agreement.when), price,
    ]  # fmt: skip


def _task(task: Task) -> str:
    facts = [f"due {full_day(task.due)}" if task.due else "", f"waits on {task.waits_on}" if task.waits_on else ""]
    more = "; ".join(fact for fact in facts if fact)
    return f"{_where(task.system, True)}{task.what}{f' ({more})' if more else ''}"


def _concern(concern: Concern, several: bool) -> dict[str, Any]:
    return {
        "text": _where(concern.system, several) + concern.text,
        "because": "; ".join(concern.because),
        "caution": concern.caution or "",
    }


def _corrections(log: JobLog, days: dict[str, str]) -> Iterator[list[str]]:
    """Each value a person changed: said on, which, as heard, as it is now, by whom; those without a reading last."""
    for r in log.readings:
        if made := r.correction:
            done = changed_by_hand(r)
            now = "discarded" if made.action == "discard" else span(r)
            by = f"{done} by {made.by}, {full_day(made.at[:10])}"
            yield [full_day(days.get(r.note)), _named(r), amount(made.was, made.was_unit), now, by]
    for lost in log.corrections:
        if not lost.found:
            by = (
                f"by {lost.by}, {full_day(lost.at[:10])}; of no effect, the value is not read from those words any more"
            )
            named = words.title(lost.quantity)
            yield [full_day(days.get(lost.note)), named, amount(lost.was, lost.was_unit), "nothing", by]

"""What inspectors and owners have still to say: of the whole job, not of one system."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.judge.facts import day_in_words
from assistant.judge.tables import concern
from assistant.records import Concern, Event, JobLog


def weigh_inspections(job: JobLog) -> Iterator[Concern]:
    """Each trade's last result and what is still to come. A pass closes that trade's earlier failures and dates."""
    failed, still_open = inspections_left(job)
    for event in failed:
        because = (event.said,) if event.said else ()
        yield concern("inspection_failed", event.system, because, trade=_named(event.trade or ""))
    for event in still_open:
        because = (event.said,) if event.said else ()
        when = _when(job, event)
        yield concern("inspection_open", event.system, because, trade=_named(event.trade or ""), when=when)


def inspections_left(job: JobLog) -> tuple[tuple[Event, ...], tuple[Event, ...]]:
    """Each trade whose last word is not a pass: those that failed and those still to come; a trade may be in both."""
    failed: dict[str, Event] = {}
    still_open: dict[str, Event] = {}
    for event in _in_order(job):
        trade = event.trade or ""
        if event.outcome == "passed":
            _close(failed, trade)
            _close(still_open, trade)
        elif event.outcome == "failed":
            failed[trade] = event
            still_open.pop(trade, None)
        elif event.outcome in ("scheduled", "partial") or (event.outcome is None and event.when):
            still_open[trade] = event
    return tuple(failed.values()), tuple(still_open.values())


def _in_order(job: JobLog) -> list[Event]:
    order = job.note_order()
    return sorted((e for e in job.events if e.kind == "inspection"), key=lambda e: order.get(e.note, -1))


def _close(book: dict[str, Event], trade: str) -> None:
    """A pass of a trade closes that trade; one that named no trade closes the only one there is."""
    if trade in book:
        del book[trade]
    elif (not trade or "" in book) and len(book) == 1:
        book.clear()


def _named(trade: str) -> str:
    return trade.replace("_", " ") or "pending"


def _when(job: JobLog, event: Event) -> str:
    """ ", set for 25 September", and that no result was heard once a later visit has come."""
    if event.outcome == "partial":
        return ", passed in part"
    if event.when is None:
        return ""
    day = day_in_words(event.when)
    last_visit = job.visits[-1].date if job.visits else ""
    return f", it was set for {day} and no result was heard" if event.when[:10] < last_visit else f", set for {day}"


def weigh_agreements(job: JobLog) -> Iterator[Concern]:
    """Work offered and not answered. The last word on a scope counts."""
    last = {(a.system, a.scope.casefold()): a for a in job.agreements}
    for agreement in last.values():
        if agreement.status in ("pending", "quoted"):
            price = f", {agreement.price:,.0f} dollars" if agreement.price is not None else ""
            because = (f"{agreement.scope}{price}",)
            yield concern("approval_pending", agreement.system, because, by=agreement.by, scope=agreement.scope)

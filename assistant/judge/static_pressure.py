"""Total external static against the rating, and what the filter takes of it."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.judge.facts import Facts, evidence, inputs_of, shown
from assistant.judge.tables import concern, limit, speaks_of
from assistant.records import Concern, Reading, Verdict


def weigh_static(facts: Facts) -> Iterator[Verdict | Concern]:
    yield from _total(facts)
    yield from _filter(facts)


def _total(facts: Facts) -> Iterator[Verdict | Concern]:
    worked_out, spoken = facts.calculation("total_static_pressure"), facts.measured("total_static_pressure")
    if worked_out and not (spoken and facts.at(spoken) > facts.when(worked_out)):
        value, proof = worked_out.value, inputs_of(worked_out)
    elif spoken:
        value, proof = spoken.value, evidence(spoken)
    else:
        return
    rated = facts.plate("total_static_pressure")
    most = rated.value if rated else limit("total_static").at
    whose = "rated" if rated else "no rating heard"
    figures = f"{shown(value, 'inH2O')} against {most:g} ({whose})"
    # Two readings of 0.01 inH2O each stand behind a sum, so a sum on the line is not over it.
    status = "high" if round(value, 3) > most else "in_range"
    yield Verdict("static", facts.system, status, f"total static {figures}{_change(facts, value)}", value, most)
    if status == "high":
        yield concern("static_pressure_high", facts.system, proof + evidence(rated), figures=figures)


def _change(facts: Facts, value: float) -> str:
    """What it was on the visit before, where it was spoken there and has changed."""
    heard = facts.history("total_static_pressure")
    earlier = [r for r in heard if facts.visit(r.note) < facts.visit(heard[-1].note)]
    if not earlier or earlier[-1].value == value:
        return ""
    return f"; it was {earlier[-1].value:g} on {facts.day_of(earlier[-1].note)}"


def _eased(facts: Facts, drop: Reading) -> bool:
    """Whether total static was read again on a later visit and is in order."""
    total, rated = facts.measured("total_static_pressure"), facts.plate("total_static_pressure")
    most = rated.value if rated else limit("total_static").at
    return bool(total and total.value <= most and facts.visit(total.note) > facts.visit(drop.note))


def _filter(facts: Facts) -> Iterator[Concern]:
    """A filter that takes too much, or was said to be dirty, and was not changed in a later note."""
    changed = facts.replaced_at("filter")
    drop, most = facts.measured("filter_pressure_drop"), limit("filter_drop").at
    if drop and drop.value > most and facts.place(drop.note) > changed and not _eased(facts, drop):
        figures = f"{shown(drop.value, drop.unit)} across it, more than {most:g}"
        yield concern("filter_dirty", facts.system, evidence(drop), figures=figures)
        return
    said = [(e.note, e.what or e.said) for e in facts.events if e.kind == "failure_found"]
    said += [(r.note, r.text) for r in facts.remarks]
    about_it = [(note, text) for note, text in said if speaks_of("filter", text) and speaks_of("dirty", text)]
    dirty = [text for note, text in about_it if facts.place(note) > changed]
    if dirty:
        yield concern("filter_dirty", facts.system, tuple(dirty), figures=dirty[-1])

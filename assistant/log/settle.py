"""A note joins its job: the log is a fold over the notes, and this is one step of it.

Pure. What a note takes back is retracted, what it says anew on the same visit supersedes, what was
proposed becomes added, and open tasks that are told as finished are closed. Nothing is ever removed.
"""

from __future__ import annotations

import re
from dataclasses import fields, replace

from assistant.log.tasks import settle_tasks
from assistant.records import ADDING_UP, Agreement, DuctRun, Equipment, Job, JobLog, Note, Reading, Visit


def start_job(job: str, site: str | None = None, customer: str | None = None) -> JobLog:
    """A job nothing has been said about yet."""
    return JobLog(Job(job, site, customer))


def settle(job: JobLog, note: Note) -> JobLog:
    """`job` after `note`: everything but calculations, verdicts, concerns and asks, which are worked out anew."""
    visits = _visits(job.visits, note)
    job = replace(job, visits=visits, job=replace(job.job, site=note.site or job.job.site))
    agreements = _agreements(job.agreements, note)
    return replace(
        job,
        equipment=_equipment(job.equipment, note.equipment),
        readings=_readings(job, note),
        duct_runs=_duct_runs(job.duct_runs, note.duct_runs),
        events=job.events + tuple(e for e in note.events if e not in job.events),
        tasks=settle_tasks(job.tasks, note),
        agreements=agreements,
        materials=job.materials + note.materials,
        labour=job.labour + note.labour,
        remarks=job.remarks + note.remarks,
        system=note.system or job.system,
    )


def _visits(visits: tuple[Visit, ...], note: Note) -> tuple[Visit, ...]:
    """Notes of one day are one visit; visits in the order of their days."""
    known = {visit.date: visit for visit in visits}
    today = known.get(note.date, Visit(note.date))
    if note.id not in today.notes:
        known[note.date] = replace(today, notes=(*today.notes, note.id))
    return tuple(known[day] for day in sorted(known))


def _readings(job: JobLog, note: Note) -> tuple[Reading, ...]:
    today = next(set(visit.notes) for visit in job.visits if visit.date == note.date)
    taken_back = {(r.note, r.position, r.quantity) for r in note.retractions}
    fresh = {_key(r) for r in note.readings if r.status == "current" and r.quantity not in ADDING_UP}
    new_capacitor = any(e.kind == "part_replaced" and "cap" in (e.what or "").lower() for e in note.events)

    def is_superseded(reading: Reading) -> bool:
        if reading.status == "doubtful":
            return _key(reading) in fresh
        again = reading.note in today and _key(reading) in fresh
        return reading.status == "current" and (again or (new_capacitor and reading.quantity == "capacitance"))

    kept = []
    for reading in job.readings:
        if (reading.note, reading.position, reading.quantity) in taken_back:
            reading = replace(reading, status="retracted")
        elif is_superseded(reading):
            reading = replace(reading, status="superseded")
        kept.append(reading)
    return (*kept, *note.readings)


def _key(reading: Reading) -> tuple:
    return reading.quantity, reading.role, reading.qualifier, reading.system


def _equipment(known: tuple[Equipment, ...], said: tuple[Equipment, ...]) -> tuple[Equipment, ...]:
    """What is said later wins, field by field."""
    merged = {e.system: e for e in known}
    for new in said:
        old = merged.get(new.system, new)
        told = {f.name: getattr(new, f.name) for f in fields(new) if getattr(new, f.name) is not None}
        merged[new.system] = replace(old, **told)
    return tuple(merged.values())


def _duct_runs(known: tuple[DuctRun, ...], said: tuple[DuctRun, ...]) -> tuple[DuctRun, ...]:
    """A run told again is the same run: proposed becomes added, existing gains a length or an airflow."""
    runs = list(known)
    for new in said:
        place = next((i for i, old in enumerate(runs) if _same_run(old, new)), None)
        if place is None:
            runs.append(new)
            continue
        old = runs[place]
        runs[place] = replace(
            new,
            count=max(old.count, new.count) if new.status == old.status else new.count,
            length_ft=new.length_ft or old.length_ft,
            airflow_cfm=new.airflow_cfm or old.airflow_cfm,
            material=new.material or old.material,
            status=old.status if new.status in ("existing", "proposed") and old.status == "added" else new.status,
            note=old.note if old.status == "added" else new.note,  # when it was put in, not when it was last spoken of
        )
    return tuple(runs)


def _same_run(old: DuctRun, new: DuctRun) -> bool:
    same = (old.side, old.size_in, old.system, old.shape) == (new.side, new.size_in, new.system, new.shape)
    follows = {
        "proposed": {"proposed", "added"},
        "existing": {"existing", "removed"},
        "added": {"added", "existing", "removed"},
    }
    return same and new.status in follows.get(old.status, {old.status})


def _agreements(known: tuple[Agreement, ...], note: Note) -> tuple[Agreement, ...]:
    """A later answer to the same scope replaces its status; the price stays unless a new one is said."""
    agreed = list(known)
    for new in note.agreements:
        place = next((i for i, old in enumerate(agreed) if same_scope(old.scope, new.scope)), None)
        if place is None:
            agreed.append(new)
        else:
            old = agreed[place]
            agreed[place] = replace(new, scope=old.scope, price=new.price if new.price is not None else old.price)
    return tuple(agreed)


def same_scope(one: str, other: str) -> bool:
    """Two wordings of the same work: most of the shorter one's words are in the longer."""
    a, b = (
        set(re.findall(r"[a-z0-9]+", text.lower())) - {"the", "a", "an", "of", "in", "one", "more", "and", "for"}
        for text in (one, other)
    )
    return bool(a and b) and len(a & b) / min(len(a), len(b)) >= 0.6

"""One question with everything it is answered from, and how its records are found there."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from assistant.converse.history import JobHistory
from assistant.converse.questions import Question
from assistant.converse.vocabulary import asked
from assistant.records import Answer, Calculation, Equipment, JobLog, Reading, Verdict

# Where a quantity was not measured itself, another that stands for it, the nearest first.
_STANDS_FOR = {"system_airflow": ("return_airflow", "supply_airflow")}
_RATED_WORDS = re.compile(r"\b(?:rated|rla|nameplate|plate|sticker|rating|label|covered|included)\b")
_PLATE_VALUES = frozenset({"cooling_capacity", "heating_output", "target_airflow_per_ton"})


@dataclass(frozen=True, slots=True)
class Told:
    """An answer, and what the talk is about after it."""

    answer: Answer
    quantity: str | None = None
    about: str | None = None
    system: str | None = None
    topic: str | None = None  # the words of the task, event or agreement told of


@dataclass(frozen=True, slots=True)
class Asking:
    """A question about one job."""

    question: Question
    job: str
    history: JobHistory
    today: str
    visit: int | None  # None: the job as it stands
    visit_said: bool  # the question itself named the visit, so another visit's value is no answer
    systems: tuple[str, ...]  # those the answer is about; several when none was singled out
    quantities: tuple[str, ...] = ()
    about: str | None = None
    topic: str | None = None  # what "that" stands for, in the words of a task, event or agreement
    single: bool = False  # one system was singled out, now or before

    @property
    def log(self) -> JobLog:
        """The log the question is about: as it stands, or at the end of the visit it names."""
        return self.history.logs[-1] if self.visit is None else self.history.log_after_visit(self.visit)

    @property
    def words(self) -> str:
        return self.question.words


def inputs_of(record: Reading | Calculation) -> tuple[Reading, ...]:
    """The readings a record rests on: itself, or what it was worked out from."""
    return (record,) if isinstance(record, Reading) else record.inputs


def visit_of(record: Reading | Calculation, history: JobHistory) -> int:
    """The visit of the newest reading a record rests on; -1 when that is not known."""
    visits = [history.visit_of(reading.note) for reading in inputs_of(record)]
    return max((visit for visit in visits if visit is not None), default=-1)


def on_system(record_system: str, system: str) -> bool:
    """Whether a record is about `system`; the site's values are everybody's."""
    return "site" in (record_system, system) or record_system == system


def system_name(system: str) -> str:
    """ "upstairs" in a sentence; nothing for the only system."""
    return "" if system in ("main", "site") else system


def equipment_of(log: JobLog, system: str) -> Equipment | None:
    return next((each for each in log.equipment if each.system == system), None)


def found_values(asking: Asking, quantity: str, system: str) -> list[Reading | Calculation]:
    """What is known of a quantity at the asked time, the best first; several only with different qualifiers.

    A computed value stands before a spoken one of the same visit, because it rules the verdict.
    """
    for name in (quantity, *_STANDS_FOR.get(quantity, ())):
        records = _known(asking, name, system)
        if asking.visit_said and asking.visit is not None:
            records = [each for each in records if visit_of(each, asking.history) == asking.visit]
        if records:
            return _newest_of_each(records, asking.history)
    return _replaced(asking, quantity, system)


def _replaced(asking: Asking, quantity: str, system: str) -> list[Reading | Calculation]:
    """Values of a part that was replaced since: superseded, with none that stands in their place."""
    visit = asking.visit if asking.visit_said else None
    old = [
        r
        for r in asking.log.readings
        if r.quantity == quantity
        and r.status == "superseded"
        and r.role == "measured"
        and on_system(r.system, system)
        and (visit is None or visit_of(r, asking.history) == visit)
    ]
    return _newest_of_each(list(old), asking.history) if old else []


def _known(asking: Asking, quantity: str, system: str) -> list[Reading | Calculation]:
    log, row = asking.log, asked().get(quantity)
    rated = bool(_RATED_WORDS.search(asking.words)) or (row is not None and row.role is not None)
    if rated:
        roles: tuple[str, ...] = ("rated", "target")
    elif quantity in _PLATE_VALUES:
        roles = ("measured", "estimated", "rated", "target")
    else:
        roles = ("measured", "estimated")
    readings = [
        r
        for r in log.readings
        if r.quantity == quantity and r.status == "current" and r.role in roles and on_system(r.system, system)
    ]
    worked_out = [c for c in log.calculations if c.name == quantity and on_system(c.system, system) and not rated]
    return [*worked_out, *readings]


def _newest_of_each(records: list[Reading | Calculation], history: JobHistory) -> list[Reading | Calculation]:
    """The newest record for each qualifier; of one visit the computed one."""

    def age(record: Reading | Calculation) -> tuple[int, int, int, int]:
        newest = history.newest(list(inputs_of(record)))
        place = (history.order(newest.note), newest.position) if newest else (-1, 0)
        return (visit_of(record, history), isinstance(record, Calculation), *place)

    best: dict[str | None, Reading | Calculation] = {}
    for record in sorted(records, key=age):
        best[record.qualifier] = record
    # A meter's dial and a test's name tell what was measured, they do not make two answers of it.
    several = len(best) > 1 and all(
        getattr(r, "quantity", getattr(r, "name", "")).startswith("capacit") for r in best.values()
    )
    return list(best.values()) if several else [max(best.values(), key=age)] if best else []


def verdict_on(log: JobLog, about: str, system: str) -> Verdict | None:
    return next((v for v in log.verdicts if v.about == about and on_system(v.system, system)), None)


def missing_for(log: JobLog, quantity: str, system: str) -> list[str]:
    """What a quantity still needs, as the contract's names, "refrigerant" among them."""
    row = asked().get(quantity)
    known = {
        r.quantity for r in log.readings if r.status == "current" and r.role != "target" and on_system(r.system, system)
    }
    known |= {c.name for c in log.calculations if on_system(c.system, system)}
    equipment = equipment_of(log, system)
    if equipment and equipment.refrigerant:
        known.add("refrigerant")
    if equipment and equipment.cooling_capacity:
        known.add("cooling_capacity")
    return [need for need in (row.needs if row else ()) if need not in known]


def doubted(log: JobLog, quantity: str, system: str) -> Reading | None:
    """A reading of the quantity that is kept, asked about and not used; None when there is none."""
    return next(
        (r for r in log.readings if r.quantity == quantity and r.status == "doubtful" and on_system(r.system, system)),
        None,
    )


def evidence_readings(records: Iterable[Reading | Calculation]) -> list[Reading]:
    """The readings behind records, each once, in order."""
    return list(dict.fromkeys(reading for record in records for reading in inputs_of(record)))


def charge_quantity(log: JobLog, system: str) -> str:
    """What the charge goes by: superheat with a fixed orifice or a capillary, else subcooling (common practice)."""
    equipment = equipment_of(log, system)
    by_superheat = equipment is not None and equipment.metering_device in ("fixed_orifice", "capillary")
    return "superheat" if by_superheat else "subcooling"

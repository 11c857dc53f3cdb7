"""What is known of one system of a job, and when each thing was said."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date

from assistant.judge.tables import speaks_of
from assistant.records import Calculation, Equipment, Event, JobLog, Reading, Remark, Task
from assistant.units import quantities

Moment = tuple[int, int]  # the note's place in the job, the place in the note [characters]
BEFORE_ALL: Moment = (-1, -1)
_OF_THE_SITE = {"outdoor_temp", "altitude"}
_NOT_A_TEST = _OF_THE_SITE | {"cooling_capacity"}  # may come from any visit without making a value stale

_SHOWN = {
    "degF": "°F",
    "delta_degF": "°F",
    "percent": "%",
    "cfm/ton": "cfm per ton",
    "microampere": "µA",
    "microfarad": "µF",
}


@dataclass(frozen=True, slots=True)
class Facts:
    """One system's share of a job, oldest first. Made by `facts_of`."""

    job: JobLog
    system: str
    order: dict[str, int]  # each note's place in the job
    visits: dict[str, int]  # each note's visit
    visit_of_place: tuple[int, ...]  # the visit of the first note, the second, and so on
    equipment: Equipment
    events: tuple[Event, ...]
    tasks: tuple[Task, ...]
    remarks: tuple[Remark, ...]  # of a job with one system; else they belong to the job, under "main"
    calculations: dict[tuple[str, str | None], Calculation]
    spoken: dict[str, list[Reading]] = field(default_factory=dict)  # by quantity; retracted and doubtful left out

    def at(self, reading: Reading) -> Moment:
        """When a reading was said."""
        return (self.order.get(reading.note, -1), reading.position)

    def place(self, note: str) -> int:
        """The note's place in the job; -1 for a note the job does not list."""
        return self.order.get(note, -1)

    def history(self, quantity: str, role: str = "measured", qualifier: str | None = None) -> list[Reading]:
        """Every usable reading of it, superseded ones too, oldest first."""
        heard = self.spoken.get(quantity, ())
        return [r for r in heard if r.role == role and (qualifier is None or r.qualifier == qualifier)]

    def current(self, quantity: str, *roles: str, qualifier: str | None = None) -> Reading | None:
        """The last one said that still stands, of the first of `roles` that has one ("measured" if none is named)."""
        for role in roles or ("measured",):
            for reading in reversed(self.history(quantity, role, qualifier)):
                if reading.status == "current":
                    return reading
        return None

    def measured(self, quantity: str) -> Reading | None:
        """The last value of it: measured, or the speaker's estimate where nothing was measured."""
        return self.current(quantity, "measured", "estimated")

    def plate(self, quantity: str) -> Reading | None:
        """What nameplate, chart or design gives for it: the later of a target and a rating."""
        found = [r for r in (self.current(quantity, "target"), self.current(quantity, "rated")) if r]
        return max(found, key=self.at, default=None)

    def calculation(self, name: str, qualifier: str | None = None) -> Calculation | None:
        return self.calculations.get((name, qualifier))

    def when(self, calculation: Calculation) -> Moment:
        """When the last of its measured inputs was said."""
        return max((self.at(r) for r in _measured(calculation)), default=BEFORE_ALL)

    def visit_of(self, calculation: Calculation) -> int:
        """The visit its measured inputs were read on, the site's own weather included; -1 for none."""
        return max((self.visit(r.note) for r in calculation.inputs if r.role == "measured"), default=-1)

    def since(self, calculation: Calculation) -> Moment:
        """When the first of its measured inputs was said."""
        return min((self.at(r) for r in _measured(calculation)), default=BEFORE_ALL)

    def visit(self, note: str) -> int:
        return self.visits.get(note, -1)

    def visit_at(self, moment: Moment) -> int:
        """The visit a moment belongs to."""
        return self.visit_of_place[moment[0]] if moment[0] >= 0 else -1

    def day_of(self, note: str) -> str:
        """The day of the note's visit in words, "12 May"; "an earlier visit" if the job does not list the note."""
        visit = self.visit(note)
        return day_in_words(self.job.visits[visit].date) if visit >= 0 else "an earlier visit"

    def replaced_at(self, topic: str) -> int:
        """The place of the last note in which a part of that topic (trade_words.toml) was replaced; -1 for none."""
        changes = (e for e in self.events if e.kind == "part_replaced" and speaks_of(topic, e.what or e.said))
        return max((self.place(e.note) for e in changes), default=-1)

    def pumps_heat(self, visit: int) -> bool:
        """Whether a heat pump was heating on that visit: its supply air was warmer than its return."""
        rise = self.calculation("temperature_rise")
        heating = rise is not None and rise.value > 0 and self.visit_of(rise) == visit
        return heating and speaks_of("heat_pump", self.equipment.kind)

    @property
    def tons(self) -> float | None:
        """Cooling capacity [ton], as its own equipment has it or as it was said."""
        said = self.current("cooling_capacity", "rated", "measured", "estimated", "target")
        return self.equipment.cooling_capacity or (said.value if said else None)


def systems_of(job: JobLog) -> tuple[str, ...]:
    """Every system something was said of; "main" too where the job itself has events, tasks or remarks."""
    named = dict.fromkeys(job.systems())
    named.update(dict.fromkeys(item.system for item in (*job.duct_runs, *job.events, *job.tasks)))
    if job.remarks and len(named) != 1:
        named["main"] = None
    return tuple(name for name in named if name != "site")


def facts_of(job: JobLog) -> Iterator[Facts]:
    """The facts of each system of the job."""
    systems = systems_of(job)
    home = systems[0] if len(systems) == 1 else "main"
    order = job.note_order()
    visits = {note: number for number, visit in enumerate(job.visits) for note in visit.notes}
    usable = [r for r in job.readings if r.status in ("current", "superseded")]
    usable.sort(key=lambda r: (order.get(r.note, -1), r.position))
    for system in systems:
        facts = Facts(
            job=job,
            system=system,
            order=order,
            visits=visits,
            visit_of_place=tuple(number for number, visit in enumerate(job.visits) for _ in visit.notes),
            equipment=_known_equipment(job.equipment, system),
            events=tuple(e for e in job.events if e.system == system),
            tasks=tuple(t for t in job.tasks if t.system == system),
            remarks=job.remarks if system == home else (),
            calculations={(c.name, c.qualifier): c for c in job.calculations if c.system in (system, "site")},
        )
        for reading in usable:
            if reading.system == system or reading.quantity in _OF_THE_SITE:
                facts.spoken.setdefault(reading.quantity, []).append(reading)
        yield facts


def _known_equipment(equipment: Iterable[Equipment], system: str) -> Equipment:
    """All that was said of the system, a later word replacing an earlier one."""
    known: dict[str, object] = {}
    for item in equipment:
        if item.system == system:
            names = ("refrigerant", "metering_device", "cooling_capacity", "kind", "model", "serial", "note")
            known.update({name: getattr(item, name) for name in names if getattr(item, name)})
    return Equipment(system=system, **known)


def _measured(calculation: Calculation) -> Iterator[Reading]:
    return (r for r in calculation.inputs if r.role in ("measured", "estimated") and r.quantity not in _NOT_A_TEST)


def day_in_words(when: str) -> str:
    """An ISO date or date-time as people say it: "25 September", "25 September at 10:00"."""
    day = date.fromisoformat(when[:10])
    clock = f" at {when[11:16]}" if len(when) > 10 else ""
    return f"{day.day} {day:%B}{clock}"


_DIGITS = {"inH2O": 2, "lb": 4, "cfm": 0, "micron": 0, "Btu/h": 0, "ppm": 0}


def shown(value: float, unit: str) -> str:
    """A value as a mechanic writes it: "9.7 °F", "0.82 inH2O", "300 cfm per ton"."""
    rounded = f"{value:.{_DIGITS.get(unit, 1)}f}"
    text = rounded.rstrip("0").rstrip(".") if "." in rounded else rounded
    return f"{'0' if text == '-0' else text} {_SHOWN.get(unit, unit)}"


def told(reading: Reading) -> str:
    """A reading as evidence, in figures and in the speaker's words."""
    known = quantities().get(reading.quantity)
    title = known.title if known else reading.quantity.replace("_", " ")
    which = f" ({reading.qualifier})" if reading.qualifier else ""
    ranged = reading.low is not None and reading.high is not None
    value = f"{reading.low:g} to {reading.high:g}" if ranged else f"{reading.value:g}"
    role = "" if reading.role == "measured" else f" ({reading.role})"
    words = f', said "{reading.said}"' if reading.said else ""
    if reading.correction and reading.correction.action == "correct":
        words = f', corrected by {reading.correction.by}, heard as "{reading.said}"'
    return f"{title}{which} {value} {_SHOWN.get(reading.unit, reading.unit)}{role}{words}"


def evidence(*readings: Reading | None) -> tuple[str, ...]:
    """The readings there are, each as text, none twice."""
    return tuple(dict.fromkeys(told(r) for r in readings if r is not None))


def inputs_of(calculation: Calculation | None) -> tuple[str, ...]:
    return evidence(*calculation.inputs) if calculation else ()

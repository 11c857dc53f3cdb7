"""Which readings may feed a calculation.

Only current ones; measured ones, except where a plate speaks (capacity, factory charge, heating value) or
nobody measured (capacity, line set, altitude). What is combined comes from one visit: Monday's pressure
and Wednesday's temperature were never true together. Plates and targets carry over to every visit.
"""

from __future__ import annotations

from collections.abc import Iterable

from assistant.compute.altitude import atmosphere
from assistant.errors import OutOfRange
from assistant.records import Equipment, JobLog, Reading

_OF_THE_SITE = ("outdoor_temp", "altitude")  # true for every system of the job
_SURE_FIRST = ("measured", "rated", "target")


class Facts:
    """One system of a job as it stands now."""

    def __init__(self, job: JobLog, system: str):
        self.job, self.system = job, system
        self._visits = {note: number for number, visit in enumerate(job.visits) for note in visit.notes}
        order = job.note_order()
        mine = (r for r in job.readings if r.system in (system, "site") or r.quantity in _OF_THE_SITE)
        kept = sorted(mine, key=lambda r: (order.get(r.note, -1), r.position))
        self._newest_of: dict[str, dict[int, Reading]] = {}
        self._by_quantity: dict[str, list[Reading]] = {}
        for reading in kept:
            self._by_quantity.setdefault(reading.quantity, []).append(reading)

    # ------------------------------------------------------------------ readings

    def history(self, quantity: str) -> list[Reading]:
        """All measured readings that were once true, oldest first: current ones, and superseded ones never doubted."""
        return [
            r
            for r in self._by_quantity.get(quantity, ())
            if r.role == "measured" and (r.status == "current" or (r.status == "superseded" and r.doubt is None))
        ]

    def current(self, quantity: str, roles: Iterable[str] = ("measured",)) -> list[Reading]:
        """The current readings of these roles, oldest first, whatever their qualifier."""
        return [r for r in self._by_quantity.get(quantity, ()) if r.status == "current" and r.role in roles]

    def latest(self, quantity: str, *, visit: int | None = None) -> Reading | None:
        """The newest current measured reading without a qualifier, of one visit if `visit` is given."""
        by_visit = self._newest(quantity)
        return by_visit.get(max(by_visit, default=-1) if visit is None else visit)

    def together(self, *quantities: str) -> tuple[Reading, ...] | None:
        """The newest readings of all `quantities`, from the newest visit that has them all."""
        newest = [self._newest(quantity) for quantity in quantities]
        shared = set.intersection(*(set(by_visit) for by_visit in newest))
        return tuple(by_visit[max(shared)] for by_visit in newest) if shared else None

    def _newest(self, quantity: str) -> dict[int, Reading]:
        """The newest plain reading of each visit, kept because every rule asks again."""
        if quantity not in self._newest_of:
            plain = (r for r in self.current(quantity) if r.qualifier is None)
            self._newest_of[quantity] = {self.visit(r): r for r in plain}
        return self._newest_of[quantity]

    def plate(self, quantity: str, roles: Iterable[str] = _SURE_FIRST) -> Reading | None:
        """The newest reading of a fact that holds for every visit, the surest role first."""
        for role in roles:
            for reading in reversed(self.current(quantity, (role,))):
                if reading.qualifier is None:
                    return reading
        return None

    def visit(self, reading: Reading) -> int:
        """The number of the reading's visit; -1 for a note that is in none, so that it is never the newest."""
        return self._visits.get(reading.note, -1)

    # ------------------------------------------------------------------ equipment

    @property
    def equipment(self) -> list[Equipment]:
        """What was said of this system, newest first."""
        return [e for e in reversed(self.job.equipment) if e.system == self.system]

    @property
    def refrigerant(self) -> str | None:
        return next((e.refrigerant for e in self.equipment if e.refrigerant), None)

    @property
    def metering_device(self) -> str | None:
        return next((e.metering_device for e in self.equipment if e.metering_device), None)

    def cooling_capacity(self) -> tuple[float, tuple[Reading, ...]] | None:
        """System size [ton] and the reading it was said in, if it was; what was only guessed comes last."""
        said = self.plate("cooling_capacity", ("rated", "measured", "target"))
        if said:
            return said.value, (said,)
        guessed = self.plate("cooling_capacity", ("estimated",))
        known = next((e.cooling_capacity for e in self.equipment if e.cooling_capacity), None)
        if known and not (guessed and guessed.value == known):
            return known, ()
        return (guessed.value, (guessed,)) if guessed else None

    def altitude(self) -> tuple[float, tuple[Reading, ...]]:
        """Height of the site [ft], 0 unless it was said; "about a mile up" is better than sea level."""
        said = self.plate("altitude", (*_SURE_FIRST, "estimated"))
        return (said.value, (said,)) if said else (0.0, ())

    def atmosphere(self) -> tuple[float, tuple[Reading, ...]]:
        """Air pressure at the site [psi absolute]; sea level unless an altitude was said."""
        height, said = self.altitude()
        try:
            return atmosphere(height), said
        except OutOfRange:
            return atmosphere(), ()

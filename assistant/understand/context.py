"""What the listener already knows when a note begins: the job so far."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from datetime import date

from assistant.records import Ask, Equipment, JobLog, Reading, Transcript


@dataclass(frozen=True)
class Context:
    """What was known before the note; what is worked out of it is worked out once."""

    note: str  # id of the note being read
    date: date
    transcript: Transcript
    job: JobLog

    def equipment(self, system: str) -> Equipment | None:
        return next((e for e in self.job.equipment if e.system == system), None)

    def known_systems(self) -> tuple[str, ...]:
        """Systems told apart before this note; empty while there is only the one."""
        return self._known_systems

    @functools.cached_property
    def _known_systems(self) -> tuple[str, ...]:
        return tuple(name for name in dict.fromkeys((*self.job.systems(), self.job.system)) if name != "main")

    def last_system(self) -> str:
        """The system last talked about, in an earlier note."""
        return self.job.system

    def last_readings(self) -> tuple[Reading, ...]:
        """Current readings of earlier notes, the latest last."""
        return self._last_readings

    @functools.cached_property
    def _last_readings(self) -> tuple[Reading, ...]:
        order = self.job.note_order()
        current = [r for r in self.job.readings if r.status in ("current", "doubtful")]
        return tuple(sorted(current, key=lambda r: (order.get(r.note, -1), r.position)))

    def open_question(self) -> Ask | None:
        return self.job.asks[0] if self.job.asks else None

    def carried_topic(self) -> str | None:
        """A test still going on when the last note ended: "pressure_test", "evacuation" or None."""
        tests = {"pressure_test": "pressure_test", "evacuation": "evacuation"}
        last = self.last_readings()
        if last and last[-1].quantity in ("test_pressure", "vacuum_level", "test_duration"):
            return (
                "pressure_test"
                if last[-1].quantity == "test_pressure" or last[-1].qualifier == "pressure_test"
                else "evacuation"
            )
        if not self.job.events:
            return None
        order = self.job.note_order()
        latest = max(order.values(), default=-1)
        going = [
            e.kind
            for e in self.job.events
            if e.kind in tests and order.get(e.note) == latest and e.outcome in (None, "started")
        ]
        return going[-1] if going else None

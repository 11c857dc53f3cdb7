"""How every job stands and what it leaves to do, worked out again only for jobs whose log has changed."""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace

from api.attention import Standing, standing
from api.task_view import TaskRow, in_order, tasks_of
from assistant import Assistant


@dataclass(frozen=True, slots=True)
class _Known:
    version: str
    today: str
    standing: Standing
    tasks: tuple[TaskRow, ...]


class AllJobs:
    """Every job of an assistant, as the lists of the office show them. Safe from several threads."""

    def __init__(self, assistant: Assistant):
        self._assistant = assistant
        self._lock = threading.Lock()
        self._known: dict[str, _Known] = {}

    def standings(self, today: str) -> list[Standing]:
        """How every job stands on `today` (ISO date), the one told last first."""
        waiting: dict[str, int] = {}
        for note in self._assistant.waiting():
            job = self._assistant.note_told(note).job
            waiting[job] = waiting.get(job, 0) + 1
        return [replace(each.standing, unheard=waiting.get(name, 0)) for name, each in self._now(today).items()]

    def tasks(self, today: str, job: str = "") -> list[TaskRow]:
        """The tasks of all jobs, or of one by its name, the most pressing first."""
        known = self._now(today)
        chosen = [known[job]] if job in known else [] if job else known.values()
        return in_order(row for each in chosen for row in each.tasks)

    def _now(self, today: str) -> dict[str, _Known]:
        versions = self._assistant.versions()
        with self._lock:
            kept = self._known
        now = {}
        for job, version in versions.items():
            known = kept.get(job)
            if known is None or (known.version, known.today) != (version, today):
                log = self._assistant.job_log(job)
                known = _Known(version, today, standing(log, today), tuple(tasks_of(log, today)))
            now[job] = known
        with self._lock:
            self._known = now
        return now

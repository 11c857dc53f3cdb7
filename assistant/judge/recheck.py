"""The task the program derives itself: check the charge again once the air is mended."""

from __future__ import annotations

from dataclasses import replace

from assistant.judge.airflow import Air
from assistant.judge.facts import Facts
from assistant.judge.found import found, method_of
from assistant.judge.tables import speaks_of
from assistant.records import Task, Verdict


def with_rechecks(facts: Facts, tasks: tuple[Task, ...], air: Air, charge: Verdict | None) -> tuple[Task, ...]:
    """`tasks` with this system's recheck opened, closed or dropped. Done twice, nothing more changes."""
    if charge is None or charge.status == "unknown":
        return tasks
    ours = [t for t in tasks if _is_recheck(facts, t) and t.status == "open"]
    if charge.status == "provisional":
        said = [t for t in ours if t.origin == "said"]
        if said:  # the speaker's own task takes the place of the derived one
            return tuple(t for t in tasks if t not in ours or t.origin == "said")
        return tasks if ours else (*tasks, _new_task(facts, air))
    return tuple(_settled(facts, t) if t in ours else t for t in tasks)


def _is_recheck(facts: Facts, task: Task) -> bool:
    same_system = task.system == facts.system or (task.system == "main" and facts.system not in task.what)
    return same_system and "charge" in task.what.lower() and speaks_of("recheck", task.what)


def _settled(facts: Facts, task: Task) -> Task:
    """Done, where the charge was read in a note after the task's; a derived one without cause any more is dropped."""
    method = method_of(facts)
    value = found(facts, method) if method else None
    if value and value.first[0] > facts.place(task.note):
        return replace(task, status="done", due=None)  # nothing is due any more
    return replace(task, status="dropped") if task.origin == "inferred" else task


def _new_task(facts: Facts, air: Air) -> Task:
    """Named for what is short: the return where the return was measured or is known to be the narrow side."""
    returns = [r for r in facts.job.duct_runs if r.system == facts.system and r.side == "return"]
    is_return = bool(returns) or (air.short is not None and air.short.quantity == "return_airflow")
    mended = air.state in ("mended", "in_order")
    if mended:
        moment, waits_on = "now that the air is mended", None
    elif is_return:
        moment, waits_on = "once the return is enlarged", "the return to be enlarged"
    else:
        moment, waits_on = "once the airflow is mended", "the airflow to be mended"
    where = "" if facts.system == "main" else f" {facts.system}"
    last_note = max(facts.order, key=facts.place, default="")
    what = f"recheck the charge{where} {moment}"
    return Task(what, waits_on=waits_on, origin="inferred", system=facts.system, note=last_note)

"""Return and supply duct: do they carry what the tonnage needs, and will they sweat."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.judge.airflow import run_in_words
from assistant.judge.facts import Facts, evidence, shown
from assistant.judge.tables import concern, limit, speaks_of
from assistant.records import Concern, DuctRun, Reading, Verdict


def weigh_ducts(facts: Facts) -> Iterator[Verdict | Concern]:
    for side in ("return", "supply"):
        yield from _side(facts, side)
    yield from _sweating(facts)


def _side(facts: Facts, side: str) -> Iterator[Verdict | Concern]:
    flow, tons = facts.current(f"{side}_airflow"), facts.tons
    about = f"{side}_duct"
    if flow is None:
        return
    if tons is None:
        because = f"{shown(flow.value, 'cfm')} at the {side}, but the tonnage was not said"
        yield Verdict(about, facts.system, "unknown", because, flow.value, needs=("cooling_capacity",))
        return
    per_ton, low = flow.value / tons, limit("airflow_per_ton_low").at
    target = facts.current("target_airflow_per_ton", "target", "rated", "measured")
    wanted = (target.value if target else limit("airflow_per_ton_nominal").at) * tons
    if side == "supply" and per_ton < limit("one_register_per_ton").at:
        return
    added = _added_since(facts, side, flow)
    figures = f"{shown(flow.value, 'cfm')} at the {side}, {wanted:.0f} wanted for {tons:g} ton"
    if added and per_ton < low:
        because = f"{figures}; since then {added} was added, and it was not measured again"
        yield Verdict(about, facts.system, "unknown", because, flow.value, wanted, needs=(f"{side}_airflow",))
    elif per_ton < low:
        because = f"{figures}, {shown(wanted - flow.value, 'cfm')} short"
        yield Verdict(about, facts.system, "low", because, flow.value, wanted)
        runs = tuple(f"{run_in_words(r)} ({r.said})" if r.said else run_in_words(r) for r in _existing(facts, side))
        yield concern(f"{side}_undersized", facts.system, evidence(flow) + runs, figures=because)
    else:
        yield Verdict(about, facts.system, "in_range", figures, flow.value, wanted)


def _added_since(facts: Facts, side: str, flow: Reading) -> str | None:
    """The run that was added in a note after the measurement's."""
    for run in reversed(facts.job.duct_runs):
        ours = run.system == facts.system and run.side == side and run.status == "added"
        if ours and facts.place(run.note) > facts.place(flow.note):
            return run_in_words(run)
    return None


def _existing(facts: Facts, side: str) -> list[DuctRun]:
    return [r for r in facts.job.duct_runs if r.system == facts.system and r.side == side and r.status == "existing"]


def _sweating(facts: Facts) -> Iterator[Concern]:
    """Said to sweat or to have lost its wrap, and not said to be wrapped since."""
    wrapped = [t for t in facts.tasks if t.status == "done" and speaks_of("moisture_on_duct", t.what)]
    done = max((facts.place(t.note) for t in wrapped), default=-1)
    signs = [t.what for t in facts.tasks if t.status == "open" and speaks_of("moisture_on_duct", t.what)]
    said = [(e.note, e.what or e.said) for e in facts.events if e.kind == "failure_found"]
    said += [(r.note, r.text) for r in facts.remarks if "sweat" in r.text.lower()]
    signs += [words for note, words in said if speaks_of("moisture_on_duct", words) and facts.place(note) > done]
    if signs:
        yield concern("duct_sweating_risk", facts.system, tuple(signs), figures=signs[0])

"""Carbon monoxide in the flue and in the room, and burners that must not run."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.judge.facts import Facts, evidence, inputs_of
from assistant.judge.tables import concern, limit, speaks_of
from assistant.records import Concern, Verdict

Reason = tuple[str, tuple[str, ...]]  # words, and the readings behind them


def weigh_combustion(facts: Facts) -> Iterator[Verdict | Concern]:
    """Flue, room, and what was said; every reason to stop in one concern."""
    stops: list[Reason] = []
    yield from _flue(facts, stops)
    yield from _room(facts, stops)
    stops += [(words, (words,)) for words in _said_unsafe(facts)]
    if stops:
        because = tuple(dict.fromkeys(line for _, lines in stops for line in lines))
        yield concern("combustion_safety", facts.system, because, figures="; ".join(w.rstrip(".") for w, _ in stops))


def _flue(facts: Facts, stops: list[Reason]) -> Iterator[Verdict | Concern]:
    measured, oxygen = facts.measured("carbon_monoxide"), facts.measured("oxygen")
    if measured is None:
        return
    air_free = facts.calculation("carbon_monoxide_air_free")
    diluted = oxygen is not None and oxygen.value > limit("flue_oxygen_usable").at
    if air_free and measured in air_free.inputs and not diluted:
        value, proof = air_free.value, inputs_of(air_free)
        figures = f"{measured.value:.0f} ppm, {value:.0f} air-free"
    else:
        value, proof = measured.value, evidence(measured, oxygen)
        figures = f"{value:.0f} ppm as measured"
    notice, stop = limit("carbon_monoxide_attention").at, limit("carbon_monoxide_stop").at
    needs = () if oxygen else ("oxygen",)
    if value > notice and facts.measured("ambient_carbon_monoxide") is None:
        needs = ("ambient_carbon_monoxide", *needs)
    status = "high" if value > notice else "in_range"
    because = f"carbon monoxide {figures} against {notice:g}"
    yield Verdict("combustion", facts.system, status, because, value, notice, needs=needs)
    if value > stop:
        stops.append((f"flue carbon monoxide {figures}", proof))
    if status == "high":
        severity = "stop" if value > stop else None
        yield concern("carbon_monoxide_high", facts.system, proof, severity=severity, figures=figures)


def _room(facts: Facts, stops: list[Reason]) -> Iterator[Verdict | Concern]:
    room = facts.measured("ambient_carbon_monoxide")
    if room is None:
        return
    notice, stop = limit("room_carbon_monoxide_attention").at, limit("room_carbon_monoxide_stop").at
    figures = f"{room.value:g} ppm"
    status = "high" if room.value > notice else "in_range"
    yield Verdict("room_air", facts.system, status, f"room carbon monoxide {figures}", room.value, notice)
    if room.value > stop:
        stops.append((f"room carbon monoxide {figures}", evidence(room)))
    if status == "high":
        severity = "stop" if room.value > stop else None
        yield concern("ambient_carbon_monoxide_high", facts.system, evidence(room), severity=severity, figures=figures)


def _said_unsafe(facts: Facts) -> list[str]:
    """What was said about a burner that must not run, unless it was started again in a later note."""
    said = [(e.note, e.what or e.said) for e in facts.events if e.kind in ("failure_found", "shutdown")]
    said += [(t.note, t.what) for t in facts.tasks if t.status == "open"]
    said += [(r.note, r.text) for r in facts.remarks]
    started = max((facts.place(e.note) for e in facts.events if e.kind in ("startup", "first_fire")), default=-1)
    return [words for note, words in said if speaks_of("unsafe_burner", words) and facts.place(note) > started]

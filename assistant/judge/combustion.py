"""Carbon monoxide, in the flue and in the room."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.judge.facts import Facts, evidence, inputs_of
from assistant.judge.tables import concern, limit
from assistant.records import Concern, Verdict


def weigh_combustion(facts: Facts) -> Iterator[Verdict | Concern]:
    yield from _flue(facts)
    yield from _room(facts)


def _flue(facts: Facts) -> Iterator[Verdict | Concern]:
    measured, oxygen = facts.measured("carbon_monoxide"), facts.measured("oxygen")
    if measured is None:
        return
    air_free = facts.calculation("carbon_monoxide_air_free")
    diluted = oxygen is not None and oxygen.value > limit("flue_oxygen_usable").at
    if air_free and not diluted and air_free.value >= measured.value:
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
        yield concern("carbon_monoxide_high", facts.system, proof, severity="stop", figures=figures)
        yield concern("combustion_safety", facts.system, proof, figures=f"flue carbon monoxide {figures}")
    elif value > notice:
        yield concern("carbon_monoxide_high", facts.system, proof, figures=figures)


def _room(facts: Facts) -> Iterator[Verdict | Concern]:
    room = facts.measured("ambient_carbon_monoxide")
    if room is None:
        return
    notice, stop = limit("room_carbon_monoxide_attention").at, limit("room_carbon_monoxide_stop").at
    figures = f"{room.value:g} ppm"
    status = "high" if room.value > notice else "in_range"
    yield Verdict("room_air", facts.system, status, f"room carbon monoxide {figures}", room.value, notice)
    if status == "high":
        severity = "stop" if room.value > stop else None
        yield concern("ambient_carbon_monoxide_high", facts.system, evidence(room), severity=severity, figures=figures)
    if room.value > stop:
        yield concern("combustion_safety", facts.system, evidence(room), figures=f"room carbon monoxide {figures}")

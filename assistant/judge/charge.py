"""Is the charge right: subcooling for a valve, superheat for a fixed orifice, and only on enough air."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.judge.airflow import Air
from assistant.judge.conflicts import conflicts, moved_since
from assistant.judge.diagnosis import Cause
from assistant.judge.facts import Facts, day_in_words, evidence, shown
from assistant.judge.found import MADE_OF, Found, Target, charge_visit, found, method_of, target_of
from assistant.judge.tables import concern, limit
from assistant.records import Concern, Verdict

_BOTH_PRESSURES = ("suction_pressure", "liquid_pressure")


def weigh_charge(facts: Facts, air: Air, causes: tuple[Cause, ...]) -> Iterator[Verdict | Concern]:
    """The verdict on the charge: unknown with what it needs, provisional on short air, else the finding."""
    if charge_visit(facts) is None:
        return
    method = method_of(facts)
    value = found(facts, method) if method else None
    target = target_of(facts, method, value) if method else None
    unable = _why_not(facts, method, value, target)
    if unable or method is None or value is None or target is None:
        because, needs = unable or ("nothing to judge it by yet", ())
        numbers = (value.value if value else None, target.value if target else None)
        yield Verdict("charge", facts.system, "unknown", because, *numbers, needs=needs)
        yield concern("charge_unverified", facts.system, value.because if value else (), why=because)
        return
    yield from _judged(facts, air, causes, method, value, target)


def _judged(
    facts: Facts, air: Air, causes: tuple[Cause, ...], method: str, value: Found, target: Target
) -> Iterator[Verdict | Concern]:
    tolerance = max(limit(f"{method}_tolerance").within, target.half)
    difference = value.value - target.value
    figures = f"{value.words} against {target.value:.3g} ±{tolerance:g} ({target.words})"
    edge = abs(abs(difference) - tolerance)
    if edge <= value.plus_minus + target.plus_minus:
        figures += f", but that is within its own ±{value.plus_minus + target.plus_minus:.1f} of the edge"
    if facts.visit_at(value.last) < len(facts.job.visits) - 1:
        figures += f", read on {day_in_words(facts.job.visits[facts.visit_at(value.last)].date)}"
    figures += _just_started(facts, value)
    spoken = facts.measured(method)
    if spoken and not value.words.endswith("spoken") and any(pair[0] == spoken for pair in conflicts(facts)):
        figures += f"; {spoken.value:g} as spoken disagrees"
    if facts.equipment.metering_device is None:
        figures += "; the metering device was not said"
    # More superheat than wanted is too little charge; more subcooling is too much.
    high, low = ("low", "high") if method == "superheat" else ("high", "low")
    finding = "in_range" if abs(difference) <= tolerance else high if difference > 0 else low
    numbers = (value.value, target.value, tolerance)
    short = _on_short_air(facts, air, value)
    restricted = (c for c in causes if c.code == "restriction_suspected" and not c.speaks_against)
    blocked = next(restricted, None)
    if short:
        because = f"{figures}; but {short}"
        yield Verdict("charge", facts.system, "provisional", because, *numbers, finding=finding)
        proof = value.because + evidence(air.short)
        then = "Mend the air first" if air.state == "short" else "Check it again"
        then += "; leave the charge alone until then."
        yield concern("charge_provisional", facts.system, proof, why=short, next=then)
    elif blocked:
        because = f"{figures}; left open, because {blocked.figures} looks like a restriction"
        yield Verdict("charge", facts.system, "unknown", because, *numbers)
        yield concern("charge_unverified", facts.system, value.because, why="it looks like a restriction")
    else:
        if air.state in ("unmeasured", "mended"):
            figures += f"; the air was not measured{' since it was mended' if air.state == 'mended' else ''}"
        yield Verdict("charge", facts.system, finding, figures, *numbers)
        if finding != "in_range":
            yield concern(f"charge_{finding}", facts.system, value.because, figures=figures)


def _just_started(facts: Facts, value: Found) -> str:
    """A word on steady state, where the unit was started in the very note the readings are from."""
    started = [e for e in facts.events if e.kind == "startup" and facts.place(e.note) == value.last[0]]
    if not started:
        return ""
    return f"; it was started in the same note, and readings count after {limit('steady_state').at:g} min of running"


def _on_short_air(facts: Facts, air: Air, value: Found) -> str | None:
    """Why the readings do not count yet; None where the air was in order, or was never measured."""
    if air.short is None or air.short_per_ton is None:
        return None
    low = limit("airflow_per_ton_low").at
    was = f"{shown(air.short_per_ton, 'cfm/ton')} measured on {facts.day_of(air.short.note)}"
    if air.state == "short":
        return f"the air is short: {was}, below {low:g}"
    if value.first < air.in_order_since:
        mended = f"since then {air.mended_by}" if air.mended_by else "the air is in order since"
        return f"it was read on short air ({was}, below {low:g}); {mended}"
    return None


def _why_not(
    facts: Facts, method: str | None, value: Found | None, target: Target | None
) -> tuple[str, tuple[str, ...]] | None:
    """Why there is no verdict, and the quantities that would give one; None where there is one."""
    suction, head = facts.current("suction_pressure"), facts.current("liquid_pressure")
    if suction and head and facts.visit(suction.note) == facts.visit(head.note):
        level = limit("level_pressures").within / 100 * head.value
        if abs(suction.value - head.value) <= level:
            return "suction and head are level, so the compressor was not pumping", _BOTH_PRESSURES
        if suction.value > head.value:
            return "suction reads above head, so the hoses look swapped", _BOTH_PRESSURES
    needs = _missing(facts, method, value, target)
    if needs:
        names = [_in_words(name, method) for name in needs]
        listed = " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))
        return f"{listed} not heard yet", needs
    if value is None:
        return f"{method} could not be worked out from what was said", ()
    outdoor, coldest = facts.current("outdoor_temp"), limit("charge_outdoor").at
    now = facts.visit_at(value.last)
    if outdoor and outdoor.value < coldest and facts.visit(outdoor.note) == now:
        cold = f"{outdoor.value:g} °F outside is below {coldest:g}"
        return f"{cold}, where this check does not apply; weigh the charge in", ()
    if facts.pumps_heat(now):
        return "it was heating, and this check is for cooling; go by the maker's heating chart", ()
    if target is None:
        return "no valid test at this wet bulb and outdoor temperature; warm the building or come back", ()
    if method == "superheat" and target.value < limit("least_target_superheat").at:
        return f"a target of {target.value:.1f} °F is too low to test by; warm the building or come back", ()
    return None


def _missing(facts: Facts, method: str | None, value: Found | None, target: Target | None) -> tuple[str, ...]:
    needs = []
    if value is None and facts.equipment.refrigerant is None:
        needs.append("refrigerant")
    if method is None:
        return (*needs, "metering_device")
    if value is None:
        latest = _latest_visit(facts, MADE_OF[method])
        for name in MADE_OF[method]:
            reading = facts.current(name)
            if not _read_on(facts, name, latest) or (reading and moved_since(facts, facts.at(reading))):
                needs.append(name)
    if method == "subcooling" and target is None:
        needs.append("subcooling")
    if method == "superheat" and target is None:
        visit = facts.visit_at(value.last) if value else _latest_visit(facts, MADE_OF[method])
        needs += [name for name in ("return_wet_bulb", "outdoor_temp") if not _read_on(facts, name, visit)]
    return tuple(needs)


def _read_on(facts: Facts, name: str, visit: int) -> bool:
    reading = facts.current(name)
    return reading is not None and facts.visit(reading.note) == visit


def _latest_visit(facts: Facts, names: tuple[str, ...]) -> int:
    """The last visit on which any of them was read."""
    return max((facts.visit(r.note) for name in names if (r := facts.current(name))), default=-1)


def _in_words(name: str, method: str | None) -> str:
    if name == method == "subcooling":
        return "nameplate subcooling"
    return {
        "refrigerant": "the refrigerant",
        "metering_device": "whether it has a valve or a piston",
        "return_wet_bulb": "wet bulb at the return",
        "outdoor_temp": "outdoor temperature",
        "liquid_pressure": "head pressure",
        "liquid_line_temp": "liquid line temperature",
        "suction_line_temp": "suction line temperature",
    }.get(name, name.replace("_", " "))

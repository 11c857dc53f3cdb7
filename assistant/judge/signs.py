"""What each reading says by itself: suction, head, superheat, subcooling, split, current, airflow; low, ok or high."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from assistant.judge.airflow import Air
from assistant.judge.facts import Facts, evidence, inputs_of, shown
from assistant.judge.found import Found, as_spoken, as_worked_out, found, method_of, target_of
from assistant.judge.tables import concern, limit, speaks_of
from assistant.records import Concern, Verdict


@dataclass(frozen=True, slots=True)
class Sign:
    """One part of the pattern."""

    name: str  # suction | head | superheat | subcooling | split | current | airflow
    level: str  # low | ok | high
    words: str  # "subcooling 19.5 °F against 10"
    because: tuple[str, ...] = ()
    visit: int = -1  # on which it was read


def of_one_visit(signs: dict[str, Sign]) -> dict[str, Sign]:
    """The signs that were true together: those of the last visit, and the air, which carries over."""
    last = max((sign.visit for sign in signs.values()), default=-1)
    return {name: sign for name, sign in signs.items() if sign.visit == last or name == "airflow"}


def signs_of(facts: Facts, air: Air) -> dict[str, Sign]:
    """Every sign there is a value for. Air that was not measured, or was mended and not measured again, gives none."""
    found_signs = [_suction(facts), _head(facts), _superheat(facts), _subcooling(facts), _split(facts), _current(facts)]
    if air.state in ("short", "in_order") and air.per_ton is not None:
        level = "low" if air.state == "short" else "ok"
        words = f"airflow {shown(air.per_ton, 'cfm/ton')}"
        found_signs.append(Sign("airflow", level, words, evidence(air.reading)))
    return {sign.name: sign for sign in found_signs if sign}


def _level(value: float, low: float, high: float) -> str:
    return "low" if value < low else "high" if value > high else "ok"


def suction_saturation(facts: Facts) -> Found | None:
    """Coil saturation [degF], worked out from the pressure, else as spoken."""
    worked_out, spoken = facts.calculation("suction_saturation_temp"), facts.measured("suction_saturation_temp")
    if worked_out:
        return as_worked_out(facts, "suction saturation", worked_out)
    return as_spoken(facts, "suction saturation", spoken) if spoken else None


def _suction(facts: Facts) -> Sign | None:
    saturation = suction_saturation(facts)
    if saturation is None:
        return None
    value, words, because = saturation.value, saturation.words, saturation.because
    visit = facts.visit_at(saturation.last)
    split, pressure = facts.calculation("evaporator_split"), facts.current("suction_pressure")
    if split and pressure and pressure in split.inputs:  # else the return air is of an older visit
        band = limit("evaporator_split")
        level = {"low": "high", "high": "low", "ok": "ok"}[_level(split.value, band.low, band.high)]
        if level != "ok" or value > limit("low_suction_saturation").at:
            words = f"{words}, {shown(split.value, split.unit)} below the return air"
            return Sign("suction", level, words, because, visit)
    level = "low" if value <= limit("low_suction_saturation").at else "ok"
    return Sign("suction", level, words, because, visit)


def _head(facts: Facts) -> Sign | None:
    split, pressure = facts.calculation("condensing_split"), facts.current("liquid_pressure")
    if split is None or pressure not in split.inputs:  # the weather is of an older visit
        return None
    band = limit("condensing_split")
    words = f"condensing {shown(split.value, split.unit)} above outdoor"
    return Sign("head", _level(split.value, band.low, band.high), words, inputs_of(split), facts.visit_of(split))


def superheat_band(facts: Facts) -> tuple[float, float, str]:
    """(lowest, highest, words): around a target where there is one, else what the metering device may give."""
    target = target_of(facts, "superheat", found(facts, "superheat"))
    if target and (method_of(facts) == "superheat" or facts.plate("superheat")):
        within = limit("superheat_tolerance").within
        return target.value - within, target.value + within, f"{target.value:.3g} ±{within:g} ({target.words})"
    kind, band = (
        ("a piston", "orifice_superheat") if method_of(facts) == "superheat" else ("a valve", "valve_superheat")
    )
    low, high = limit(band).low, limit(band).high
    return low, high, f"{low:g} to {high:g} for {kind}"


def _superheat(facts: Facts) -> Sign | None:
    value = found(facts, "superheat")
    if value is None:
        return None
    low, high, words = superheat_band(facts)
    level, visit = _level(value.value, low, high), facts.visit_at(value.last)
    return Sign("superheat", level, f"{value.words} against {words}", value.because, visit)


def _subcooling(facts: Facts) -> Sign | None:
    value = found(facts, "subcooling")
    if value is None:
        return None
    target, visit = target_of(facts, "subcooling"), facts.visit_at(value.last)
    if target:
        within = limit("subcooling_tolerance").within
        level = _level(value.value, target.value - within, target.value + within)
        return Sign("subcooling", level, f"{value.words} against {target.value:.3g}", value.because, visit)
    band = limit("usual_subcooling")
    return Sign("subcooling", _level(value.value, band.low, band.high), value.words, value.because, visit)


def split_of(facts: Facts) -> Found | None:
    """The temperature split across the coil while cooling, worked out or as spoken."""
    worked_out, spoken = facts.calculation("temperature_split"), facts.measured("temperature_split")
    if worked_out:
        return as_worked_out(facts, "split", worked_out) if worked_out.value > 0 else None
    return as_spoken(facts, "split", spoken) if spoken and spoken.value > 0 else None


def _split(facts: Facts) -> Sign | None:
    value = split_of(facts)
    if value is None:
        return None
    band = limit("temperature_split")
    words = f"{value.words} against {band.low:g} to {band.high:g}"
    level = _level(value.value, band.low, band.high)
    return Sign("split", level, words, value.because, facts.visit_at(value.last))


def _current(facts: Facts) -> Sign | None:
    measured, rated = facts.current("compressor_current"), facts.plate("compressor_current")
    if measured is None or rated is None or rated.value <= 0:
        return None
    percent = 100 * measured.value / rated.value
    band = limit("current_percent")
    level = _level(percent, band.low, band.high)
    return Sign(
        "current",
        level,
        f"compressor at {percent:.0f} % of its rated load",
        evidence(measured, rated),
        facts.visit(measured.note),
    )


def weigh_signs(facts: Facts, signs: dict[str, Sign]) -> Iterator[Verdict | Concern]:
    """Freeze, superheat, head, suction and split, each by itself."""
    yield from _freeze(facts)
    superheat = signs.get("superheat")
    if superheat:
        low, high, _ = superheat_band(facts)
        value = found(facts, "superheat")
        status = {"ok": "in_range"}.get(superheat.level, superheat.level)
        numbers = (value.value if value else None, (low + high) / 2, (high - low) / 2)
        yield Verdict("superheat", facts.system, status, superheat.words, *numbers)
    for name, level, code in (
        ("superheat", "low", "superheat_low"),
        ("superheat", "high", "superheat_high"),
        ("suction", "low", "suction_pressure_low"),
        ("split", "low", "temperature_split_off"),
        ("split", "high", "temperature_split_off"),
    ):
        sign = signs.get(name)
        if sign and sign.level == level:
            yield concern(code, facts.system, sign.because, figures=sign.words.removeprefix(f"{name} "))
    head, split = signs.get("head"), facts.calculation("condensing_split")
    if head and split and head.level in ("low", "high"):
        yield concern(f"head_pressure_{head.level}", facts.system, head.because, figures=shown(split.value, split.unit))


def _freeze(facts: Facts) -> Iterator[Verdict | Concern]:
    saturation = suction_saturation(facts)
    if saturation is None or speaks_of("cold_room", facts.equipment.kind):
        return
    pressure = facts.current("suction_pressure")
    if pressure and facts.pumps_heat(facts.visit(pressure.note)):
        return  # in heating the cold coil is the outdoor one, and it is meant to frost
    value, freezing = saturation.value, limit("freezing").at
    near = abs(value - freezing) <= saturation.plus_minus
    close = f", within its own ±{saturation.plus_minus:.1f} of freezing" if near else ""
    words = f"{value:.1f} °F against {freezing:g}{close}"
    status = "low" if value <= freezing else "in_range"
    yield Verdict("freeze", facts.system, status, f"suction saturation {words}", value, freezing)
    if status == "low":
        yield concern("coil_freeze_risk", facts.system, saturation.because, figures=words)

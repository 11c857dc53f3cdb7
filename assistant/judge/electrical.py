"""Capacitors, voltage and current, against their plates."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from assistant.judge.facts import Facts, evidence, inputs_of, shown
from assistant.judge.tables import concern, limit, mains
from assistant.records import Calculation, Concern, Reading, Verdict

_WORST_FIRST = ("low", "high", "in_range", "unknown")
_MOTORS = ("compressor_current", "condenser_fan_current", "blower_current")


def weigh_electrical(facts: Facts) -> Iterator[Verdict | Concern]:
    yield from _as_one(_capacitors(facts))
    yield from _line_voltage(facts)
    yield from _control_voltage(facts)
    yield from _as_one(item for motor in _MOTORS for item in _current(facts, motor))


def _as_one(found: Iterable[Verdict | Concern]) -> Iterator[Verdict | Concern]:
    """One verdict for all sections or motors, the worst ruling; what could not be judged only where nothing could."""
    verdicts = []
    for item in found:
        if isinstance(item, Verdict):
            verdicts.append(item)
        else:
            yield item
    if verdicts:
        ruling = min(verdicts, key=lambda v: _WORST_FIRST.index(v.status))
        yield replace(ruling, because="; ".join(v.because for v in verdicts))


def _capacitors(facts: Facts) -> Iterator[Verdict | Concern]:
    """Each section against its rating; what was measured on a capacitor that has been replaced no longer counts."""
    changed = facts.replaced_at("capacitor")
    low, high = limit("capacitor_percent_low").at, limit("capacitor_percent_high").at
    sections = dict.fromkeys(r.qualifier for r in facts.history("capacitance"))
    for section in sections:
        measured = _of_section(facts, section)
        if measured is None or facts.place(measured.note) < changed:
            continue
        title = f"{section} capacitor" if section else "capacitor"
        value = shown(measured.value, measured.unit)
        worked_out = _percent_of(facts, measured)
        if worked_out is None:
            because = f"{title} {value}, its rating was not said"
            yield Verdict("capacitor", facts.system, "unknown", because, measured.value, needs=("capacitance",))
            continue
        percent = worked_out.value
        figures = f"{title} {value}, {percent:.1f} % of its rating"
        status = "low" if percent < low else "high" if percent > high else "in_range"
        if status == "low" and facts.place(measured.note) == changed:
            because = f"{figures}; that one was replaced, the new one was not measured"
            yield Verdict("capacitor", facts.system, "unknown", because, needs=("capacitance",))
            continue
        yield Verdict("capacitor", facts.system, status, figures, percent, 100.0, 100.0 - low)
        if status == "low":
            yield concern("capacitor_weak", facts.system, inputs_of(worked_out), figures=figures)


def _of_section(facts: Facts, section: str | None) -> Reading | None:
    heard = [r for r in facts.history("capacitance") if r.qualifier == section and r.status == "current"]
    return heard[-1] if heard else None


def _percent_of(facts: Facts, measured: Reading) -> Calculation | None:
    """The percentage that rests on this reading."""
    percents = (c for (name, _), c in facts.calculations.items() if name == "capacitance_percent")
    return next((c for c in percents if measured in c.inputs), None)


def _line_voltage(facts: Facts) -> Iterator[Verdict | Concern]:
    imbalance, most = facts.calculation("voltage_imbalance"), limit("voltage_imbalance").at
    if imbalance:
        figures = f"imbalance {imbalance.value:.1f} % against {most:g}"
        status = "high" if imbalance.value > most else "in_range"
        yield Verdict("voltage_imbalance", facts.system, status, figures, imbalance.value, most)
        if status == "high":
            yield concern("voltage_off", facts.system, inputs_of(imbalance), figures=figures)
    plate, last = facts.plate("line_voltage"), facts.measured("line_voltage")
    if last is None:
        return
    phases = [r for r in facts.history("line_voltage") if r.note == last.note and r.status == "current"] or [last]
    measured = max(phases, key=lambda r: _away(r.value, *_allowed(r, plate)[:2]))  # of several phases the worst
    low, high, words = _allowed(measured, plate)
    figures = f"{shown(measured.value, 'V')} against {words}"
    status = "low" if measured.value < low else "high" if measured.value > high else "in_range"
    yield Verdict("voltage", facts.system, status, f"line voltage {figures}", measured.value, plate and plate.value)
    if status != "in_range":
        yield concern("voltage_off", facts.system, evidence(measured, plate), figures=figures)


def _allowed(measured: Reading, plate: Reading | None) -> tuple[float, float, str]:
    """(lowest, highest, words) [V]: the plate's, or the window of the mains the reading is nearest to."""
    windows, within = mains(), limit("line_voltage_tolerance").within / 100
    if plate is None:
        window = min(windows, key=lambda w: _away(measured.value, w["low"], w["high"]))
        return window["low"], window["high"], f"{window['low']:g} to {window['high']:g} ({window['name']})"
    if plate.low is not None and plate.high is not None:
        return plate.low, plate.high, f"{plate.low:g} to {plate.high:g} (plate)"
    nominals = [volts for window in windows for volts in window["nominal"]]
    said = plate.said.lower()
    is_least = plate.value not in nominals and plate.value < _meant_by(plate)
    if "min" in said or ("max" not in said and is_least):
        return plate.value, float("inf"), f"{plate.value:g} or more (plate)"
    if "max" in said or plate.value not in nominals:
        return 0.0, plate.value, f"{plate.value:g} at most (plate)"
    return plate.value * (1 - within), plate.value * (1 + within), f"{plate.value:g} ±{100 * within:g} % (plate)"


def _meant_by(plate: Reading) -> float:
    """The nominal voltage a plate's least or most belongs to: 197 to 200, 253 to 240."""
    around = [w for w in mains() if w["low"] <= plate.value <= w["high"]] or mains()
    return min((volts for w in around for volts in w["nominal"]), key=lambda volts: abs(volts - plate.value))


def _away(value: float, low: float, high: float) -> float:
    """How far outside the band, 0 inside, as a share of the value."""
    return max(low - value, value - high, 0.0) / value


def _control_voltage(facts: Facts) -> Iterator[Verdict | Concern]:
    measured, plate = facts.measured("control_voltage"), facts.plate("control_voltage")
    if measured is None:
        return
    band = limit("control_voltage")
    low, high = band.low, band.high
    if plate and plate.low is not None and plate.high is not None:
        low, high = plate.low, plate.high
    figures = f"{shown(measured.value, 'V')} against {low:g} to {high:g}"
    status = "low" if measured.value < low else "high" if measured.value > high else "in_range"
    yield Verdict("control_voltage", facts.system, status, f"control voltage {figures}", measured.value)
    if status != "in_range":
        yield concern("voltage_off", facts.system, evidence(measured, plate), figures=f"control circuit {figures}")


def _current(facts: Facts, motor: str) -> Iterator[Verdict | Concern]:
    measured, rated = facts.measured(motor), facts.plate(motor)
    if measured is None or facts.place(measured.note) < facts.replaced_at(motor.removesuffix("_current")):
        return  # not measured, or measured on a motor that has been replaced since
    title = motor.removesuffix("_current").replace("_", " ")
    if rated is None or rated.value <= 0:
        because = f"{title} {shown(measured.value, 'A')}, its rated load was not said"
        yield Verdict("current", facts.system, "unknown", because, measured.value, needs=(motor,))
        return
    percent, most = 100 * measured.value / rated.value, limit("current_percent").high
    figures = f"{title} {shown(measured.value, 'A')} of {rated.value:g} rated, {percent:.0f} %"
    status = "high" if percent > most else "in_range"
    yield Verdict("current", facts.system, status, figures, measured.value, rated.value)
    if status == "high":
        yield concern("current_high", facts.system, evidence(measured, rated), figures=figures)

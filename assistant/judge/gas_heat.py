"""Gas heat: temperature rise, gas pressure, input, flame and draft. Carbon monoxide is in combustion.py."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.judge.facts import Facts, evidence, inputs_of, shown
from assistant.judge.tables import concern, limit, speaks_of
from assistant.records import Concern, Reading, Verdict


def weigh_gas_heat(facts: Facts) -> Iterator[Verdict | Concern]:
    yield from _rise(facts)
    yield from _gas_pressure(facts)
    yield from _input(facts)
    yield from _flame(facts)
    yield from _draft(facts)


def _rise(facts: Facts) -> Iterator[Verdict | Concern]:
    worked_out, spoken = facts.calculation("temperature_rise"), facts.measured("temperature_rise")
    plate = facts.plate("temperature_rise")
    if worked_out and worked_out.value > 0 and not (spoken and facts.at(spoken) > facts.when(worked_out)):
        value, proof = worked_out.value, inputs_of(worked_out)
    elif spoken:
        value, proof = spoken.value, evidence(spoken)
    else:
        if plate:
            needs = tuple(name for name in ("return_air_temp", "supply_air_temp") if facts.current(name) is None)
            because = "the plate's rise is known, the air temperatures are not"
            yield Verdict("heat", facts.system, "unknown", because, target=plate.value, needs=needs)
        return
    if plate is None:
        because = f"rise {shown(value, 'delta_degF')}, but the plate's range was not said"
        yield Verdict("heat", facts.system, "unknown", because, value, needs=("temperature_rise",))
        return
    low, high = _edges(plate)
    extent = f"{low:g} to {high:g}" if low is not None else f"at most {high:g}"
    figures = f"{shown(value, 'delta_degF')} against {extent} (plate)"
    status = "high" if value > high else "low" if low is not None and value < low else "in_range"
    tolerance = (high - low) / 2 if low is not None else None
    yield Verdict("heat", facts.system, status, f"rise {figures}", value, plate.value, tolerance)
    if status != "in_range":
        yield concern("temperature_rise_off", facts.system, proof + evidence(plate), figures=figures)


def _edges(plate: Reading) -> tuple[float | None, float]:
    """The plate's range; a single figure is its upper limit."""
    if plate.low is not None and plate.high is not None:
        return plate.low, plate.high
    return None, plate.value


def burns_propane(facts: Facts) -> bool | None:
    """True or False where the fuel is known, None where it is not."""
    heating_value = facts.current("gas_heating_value", "measured", "rated", "target")
    if heating_value:
        return heating_value.value >= limit("propane_heating_value").at
    return True if speaks_of("propane", facts.equipment.kind) else None


def _gas_pressure(facts: Facts) -> Iterator[Verdict | Concern]:
    """Manifold and inlet as one verdict: the plate's figure first, else the usual bands of the two gases."""
    reasons, proof, status = [], [], "in_range"
    for name, title in (("manifold_pressure", "manifold"), ("gas_inlet_pressure", "inlet")):
        measured, plate = facts.measured(name), facts.plate(name)
        if measured is None:
            continue
        found, words = _against(facts, measured, plate, name)
        reasons.append(f"{title} {shown(measured.value, measured.unit)} {words}")
        if found != "in_range":
            status = found
            proof += evidence(measured, plate)
    if not reasons:
        return
    because = "; ".join(reasons)
    manifold, target = facts.measured("manifold_pressure"), facts.plate("manifold_pressure")
    value = manifold or facts.measured("gas_inlet_pressure")
    yield Verdict("gas_pressure", facts.system, status, because, value and value.value, target and target.value)
    if status != "in_range":
        yield concern("gas_pressure_off", facts.system, tuple(proof), figures=because)


def _against(facts: Facts, measured: Reading, plate: Reading | None, name: str) -> tuple[str, str]:
    """(in_range | low | high, words) for one pressure."""
    manifold = name == "manifold_pressure"
    if plate and plate.low is not None and plate.high is not None:
        low, high, words = plate.low, plate.high, f"against {plate.low:g} to {plate.high:g} (plate)"
    elif plate and manifold:
        within = limit("manifold_tolerance").within
        low, high = plate.value - within, plate.value + within
        words = f"against {plate.value:g} ±{within:g} (plate)"
    else:
        kind = "manifold" if manifold else "inlet"
        natural, propane = limit(f"{kind}_natural"), limit(f"{kind}_propane")
        fuel = burns_propane(facts)
        if fuel is None:  # the plate was not said: it may be either gas, so only what fits neither is off
            fuel = measured.value > (natural.high + propane.low) / 2 if manifold else False
        band = propane if fuel else natural
        low, high = band.low, band.high
        words = f"against {low:g} to {high:g} ({'propane' if fuel else 'natural gas'})"
    rounded = round(measured.value, 3)
    return "high" if rounded > round(high, 3) else "low" if rounded < round(low, 3) else "in_range", words


def _input(facts: Facts) -> Iterator[Verdict | Concern]:
    clocked, rated = facts.calculation("heating_input"), facts.current("heating_input", "rated", "target")
    if clocked is None:
        return
    if rated is None:
        because = f"{shown(clocked.value, 'Btu/h')} by the meter, but the plate's input was not said"
        yield Verdict("input_rate", facts.system, "unknown", because, clocked.value, needs=("heating_input",))
        return
    within = limit("input_rate").within
    percent = 100 * (clocked.value - rated.value) / rated.value
    altitude = facts.current("altitude", "measured", "estimated", "rated")
    above = max(0.0, altitude.value - limit("derate_begins").at) if altitude else 0.0
    # Above the line the plate itself is derated, by how much only the maker says: allow for all of it downward.
    derate = limit("derate_most").at * altitude.value / 1000 if altitude and above else 0.0
    figures = f"{clocked.value:.0f} Btu/h by the meter against {rated.value:.0f} ({percent:+.1f} %)"
    if derate:
        figures += f"; at {altitude.value:g} ft the plate is derated, up to {derate:.0f} %, as the maker says"
    status = "high" if percent > within else "low" if percent < -within - derate else "in_range"
    yield Verdict("input_rate", facts.system, status, figures, clocked.value, rated.value, within * rated.value / 100)
    if status != "in_range":
        yield concern("input_rate_off", facts.system, inputs_of(clocked) + evidence(rated), figures=figures)


def _flame(facts: Facts) -> Iterator[Verdict | Concern]:
    measured, plate = facts.measured("flame_current"), facts.plate("flame_current")
    if measured is None or facts.place(measured.note) < facts.replaced_at("flame_sensor"):
        return  # not measured, or measured with a sensor that has been replaced since
    least = (plate.low or plate.value) if plate else limit("flame_current").at
    figures = f"{shown(measured.value, measured.unit)} against {least:g} or more ({'plate' if plate else 'usual'})"
    status = "low" if measured.value < least else "in_range"
    if measured.value < limit("flame_current_drop_out").at:
        figures += "; most controls drop out here"
    yield Verdict("flame", facts.system, status, f"flame current {figures}", measured.value, least)
    if status == "low":
        yield concern("flame_current_low", facts.system, evidence(measured, plate), figures=figures)


def _draft(facts: Facts) -> Iterator[Verdict | Concern]:
    measured, plate = facts.measured("draft_pressure"), facts.plate("draft_pressure")
    if measured is None:
        return
    # Draft is spoken as a magnitude or as a negative pressure; both mean a pull up the flue.
    pull, least = abs(measured.value), abs(plate.value) if plate else limit("draft").at
    figures = f"{pull:.3g} inH2O against {least:g} or more ({'plate' if plate else 'natural draft'})"
    status = "low" if pull < least else "in_range"
    yield Verdict("draft", facts.system, status, f"draft {figures}", pull, least)
    if status == "low":
        yield concern("draft_low", facts.system, evidence(measured, plate), figures=figures)

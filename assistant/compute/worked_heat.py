"""From readings to the calculations of gas heat, electricity, evacuation and pressure test."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.compute import airflow, electrical, evacuation, gas_heat, pressure_test
from assistant.compute.constants import constant, constants
from assistant.compute.facts import Facts
from assistant.compute.instruments import Instruments, combined
from assistant.records import Calculation, Reading

_ANY_ROLE = ("measured", "target", "rated")

# ------------------------------------------------------------------ gas heat


def _input(facts: Facts) -> tuple[float, float, tuple[Reading, ...], str] | None:
    """Input by the meter [Btu/h], its plus_minus, what it rests on, and how."""
    timed = [r for r in facts.current("meter_time") if r.qualifier]
    if not timed:
        return None
    clock = timed[-1]
    heating_value = facts.plate("gas_heating_value")
    if heating_value:
        value, spread, said = heating_value.value, 0.01 * heating_value.value, (heating_value,)
        how = "3600 x dial / seconds x heating value"
    elif any(r.value > constant("natural_gas_manifold_most") for r in facts.current("manifold_pressure", _ANY_ROLE)):
        return None  # propane, and nobody said what a cubic foot of it gives here
    else:
        value, said = constant("natural_gas_heating_value"), ()
        spread = constant("natural_gas_heating_value_spread")
        how = f"3600 x dial / seconds x {value:g} Btu/ft3, because no heating value was said (natural gas)"
    heat = gas_heat.heating_input(gas_heat.dial_volume(clock.qualifier), clock.value, value)
    return heat, heat * combined(spread / value, constant("stopwatch") / clock.value), (clock, *said), how


def heating_input(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    found = _input(facts)
    if found:
        value, spread, inputs, how = found
        yield Calculation(
            "heating_input", facts.system, value, "Btu/h", spread, inputs, how, "furnace instructions, input check"
        )


def airflow_by_rise(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    """Heating airflow from input, efficiency and rise, where both plates were read and the meter was clocked."""
    found, pair = _input(facts), facts.together("return_air_temp", "supply_air_temp")
    rated_in, rated_out = facts.plate("heating_input", ("rated",)), facts.plate("heating_output", ("rated",))
    if not (found and pair and rated_in and rated_out and rated_in.value > 0):
        return
    rise = airflow.temperature_rise(pair[0].value, pair[1].value)
    height, said = facts.altitude()
    if facts.visit(found[2][0]) != facts.visit(pair[0]) or facts.latest("system_airflow", visit=facts.visit(pair[0])):
        return
    value = airflow.airflow_from_rise(found[0] * rated_out.value / rated_in.value, rise, altitude=height)
    share = combined(found[1] / found[0], combined(*[instruments.thermometer_degF] * 2) / rise)
    yield Calculation(
        "system_airflow",
        facts.system,
        value,
        "cfm",
        value * share,
        (*found[2], *pair, rated_in, rated_out, *said),
        "clocked input x plate efficiency / (1.08 x density ratio x rise), at the heating speed",
        "packaged gas/electric unit installation instructions",
    )


def heating_output(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    """Heat into the air, from an airflow measured on the visit of the rise: cooling runs at another speed."""
    three = facts.together("system_airflow", "return_air_temp", "supply_air_temp")
    if not three or three[2].value <= three[1].value:
        return
    rise = airflow.temperature_rise(three[1].value, three[2].value)
    height, said = facts.altitude()
    value = gas_heat.sensible_output(three[0].value, rise, altitude=height)
    share = combined(instruments.airflow_percent / 100, combined(*[instruments.thermometer_degF] * 2) / rise)
    yield Calculation(
        "heating_output",
        facts.system,
        value,
        "Btu/h",
        value * share,
        (*three, *said),
        "1.08 x density ratio x airflow x rise",
        "packaged gas/electric unit installation instructions",
    )


def carbon_monoxide_air_free(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    pair = facts.together("carbon_monoxide", "oxygen")
    if pair:
        value = gas_heat.carbon_monoxide_air_free(pair[0].value, pair[1].value)
        share = combined(
            constant("gas_analyzer_percent") / 100, constant("oxygen_cell") / (constant("air_oxygen") - pair[1].value)
        )
        yield Calculation(
            "carbon_monoxide_air_free",
            facts.system,
            value,
            "ppm",
            value * share,
            pair,
            "CO x 20.9 / (20.9 - O2)",
            constants()["air_oxygen"].source,
        )


# ------------------------------------------------------------------ electrical


def capacitance_percent(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    measured, rated = facts.current("capacitance"), facts.current("capacitance", ("rated",))
    for qualifier in dict.fromkeys(r.qualifier for r in measured):
        value = next(r for r in reversed(measured) if r.qualifier == qualifier)
        label = next((r for r in reversed(rated) if r.qualifier == qualifier), None)
        if label is None and len({r.qualifier for r in measured}) == len(rated) == 1:
            label = rated[0]  # one capacitor, and the section was named only once
        if label and label.value > 0:
            percent = electrical.capacitance_percent(value.value, label.value)
            yield Calculation(
                "capacitance_percent",
                facts.system,
                percent,
                "percent",
                percent * constant("capacitance_meter_percent") / 100,
                (value, label),
                "measured over rated capacitance",
                "definition",
                qualifier or label.qualifier,
            )


def voltage_imbalance(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    """Of three voltages between lines; they are told apart by their qualifier, and said in one note."""
    newest = facts.current("line_voltage")[-1:]
    phases = [r for r in facts.current("line_voltage") if newest and r.note == newest[0].note and r.qualifier]
    if len({r.qualifier for r in phases}) == len(phases) == 3:
        value = electrical.imbalance([r.value for r in phases])
        # One meter reads all three: only what differs between its readings counts.
        spread = constant("volt_meter_percent") / 2
        yield Calculation(
            "voltage_imbalance",
            facts.system,
            value,
            "percent",
            spread,
            tuple(phases),
            "largest departure from the mean over the mean",
            "NEMA MG-1",
        )


# ------------------------------------------------------------------ evacuation and pressure test


def _held_in(facts: Facts, note: str, test: str) -> Reading | None:
    """How long the test of this note was watched."""
    return next((r for r in facts.history("test_duration") if r.note == note and r.qualifier in (test, None)), None)


def _watched(facts: Facts, quantity: str, test: str) -> tuple[Reading, Reading, Reading] | None:
    """The last reading of a test, the one before it, and how long was waited in between.

    The one before is superseded by then, when it is of the same visit. A value that is only told again ("it
    held at 390, like I said") does not count as a reading of its own.
    """
    history = facts.history(quantity)
    while len(history) > 2 and history[-1].value == history[-2].value and not _held_in(facts, history[-1].note, test):
        history.pop()
    held = _held_in(facts, history[-1].note, test) if len(history) > 1 else None
    return (history[-2], history[-1], held) if held else None


def vacuum_rise(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    watched = _watched(facts, "vacuum_level", "evacuation")
    if not watched or facts.visit(watched[0]) != facts.visit(watched[1]):
        return
    value = evacuation.vacuum_rise(watched[0].value, watched[1].value)
    if value >= 0:
        share = constant("micron_gauge_percent") / 100
        yield Calculation(
            "vacuum_rise",
            facts.system,
            value,
            "micron",
            combined(watched[0].value * share, watched[1].value * share),
            watched,
            "reading after the pump was shut off, less the reading before",
            "definition",
        )


def pressure_drop(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    """What a nitrogen test lost, within a visit or from one to the next, if nothing was done to the system between."""
    watched = _watched(facts, "test_pressure", "pressure_test")
    if not watched or _opened_between(facts, watched[0], watched[1]):
        return
    start, end, held = watched
    temps = [r for r in facts.history("outdoor_temp") if r.note in (start.note, end.note)]
    air, said = facts.atmosphere()
    if len(temps) == 2:
        before, after = temps
        value = pressure_test.pressure_drop(start.value, end.value, before.value, after.value, atmosphere=air)
        unsure, how = instruments.thermometer_degF * 1.4, "ideal gas, corrected for the two temperatures said"
        departure = 0.1 * abs(value - (start.value - end.value))  # real nitrogen moves up to a tenth more
    else:
        value = pressure_test.pressure_drop(start.value, end.value)
        unsure, temps, departure = constant("test_temperature_unsaid"), [], 0.0
        how = "as read; no two temperatures were said, so the pipe is taken to have stayed as it was"
    drift = unsure * pressure_test.drop_per_degree(end.value, 70, atmosphere=air)
    spread = combined(drift, departure, *[constant("test_gauge_resolution")] * 2)
    if value < -spread:
        return  # pumped up further in between: 150, then 300, then the test itself
    yield Calculation(
        "pressure_drop",
        facts.system,
        value,
        "psi",
        spread,
        (start, end, held, *temps, *said),
        how,
        "ideal gas at constant volume; trade article 2023",
    )


def _opened_between(facts: Facts, start: Reading, end: Reading) -> bool:
    """Whether the system was evacuated or charged after `start` and before `end`, so that they are two tests."""
    order = facts.job.note_order()
    moments = [(order.get(r.note, -1), r.position) for r in (start, end)]
    work = [r for q in ("vacuum_level", "refrigerant_added", "refrigerant_recovered") for r in facts.history(q)]
    return any(moments[0] < (order.get(r.note, -1), r.position) < moments[1] for r in work)


RULES = (
    heating_input,
    airflow_by_rise,
    heating_output,
    carbon_monoxide_air_free,
    capacitance_percent,
    voltage_imbalance,
    vacuum_rise,
    pressure_drop,
)

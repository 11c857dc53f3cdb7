"""From readings to the calculations of the refrigerant side."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from assistant.compute import charge, refrigerant
from assistant.compute.constants import constant
from assistant.compute.facts import Facts
from assistant.compute.instruments import Instruments, combined
from assistant.records import Calculation, Reading

_SATURATION_SOURCE = "CoolProp 8 saturation (Bell 2014; Lemmon 2003), table within 0.01 degF"
_LINES = {  # pressure, line, saturation point of each side
    "suction": ("suction_pressure", "suction_line_temp", "dew"),
    "liquid": ("liquid_pressure", "liquid_line_temp", "bubble"),
}


def _saturation(facts: Facts, instruments: Instruments, pressure: Reading, point: str) -> tuple[float, float]:
    """Saturation temperature [degF] of a pressure and its plus_minus."""
    air, _ = facts.atmosphere()
    temp = refrigerant.saturation_temp(pressure.value, facts.refrigerant, point=point, atmosphere=air)
    spread = charge.saturation_plus_minus(
        pressure.value, facts.refrigerant, point=point, gauge_percent=instruments.gauge_percent, atmosphere=air
    )
    return temp, spread


def _saturation_of(side: str) -> Callable[[Facts, Instruments], Iterator[Calculation]]:
    quantity, _, point = _LINES[side]

    def work(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
        pressure = facts.latest(quantity)
        if pressure and facts.refrigerant:
            temp, spread = _saturation(facts, instruments, pressure, point)
            yield Calculation(
                f"{side}_saturation_temp",
                facts.system,
                temp,
                "degF",
                spread,
                (pressure, *facts.atmosphere()[1]),
                f"{point} point of {facts.refrigerant}",
                _SATURATION_SOURCE,
            )

    return work


suction_saturation_temp = _saturation_of("suction")
liquid_saturation_temp = _saturation_of("liquid")


def _line_against_saturation(name: str, side: str) -> Callable[[Facts, Instruments], Iterator[Calculation]]:
    pressure_name, line_name, point = _LINES[side]
    work_it_out = {"subcooling": charge.subcooling, "superheat": charge.superheat}[name]

    def work(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
        pair = facts.together(pressure_name, line_name)
        if pair and facts.refrigerant:
            air, said = facts.atmosphere()
            value = work_it_out(pair[0].value, pair[1].value, facts.refrigerant, atmosphere=air)
            _, spread = _saturation(facts, instruments, pair[0], point)
            yield Calculation(
                name,
                facts.system,
                value,
                "delta_degF",
                combined(spread, instruments.thermometer_degF),
                (*pair, *said),
                f"{point} point of {facts.refrigerant} against the {side} line",
                _SATURATION_SOURCE,
            )

    return work


subcooling = _line_against_saturation("subcooling", "liquid")
superheat = _line_against_saturation("superheat", "suction")


def target_superheat(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    pair = facts.together("return_wet_bulb", "outdoor_temp")
    if pair and facts.metering_device not in ("txv", "eev"):
        value = charge.target_superheat(pair[0].value, pair[1].value)
        # Along the table a degree of wet bulb moves the target by about 1.6, a degree outside by about 0.7.
        spread = combined(1.6 * instruments.thermometer_degF, 0.7 * instruments.thermometer_degF)
        yield Calculation(
            "target_superheat",
            facts.system,
            value,
            "delta_degF",
            spread,
            pair,
            "published table for a fixed orifice, interpolated",
            "Split heat-pump installation guide, Table 4",
        )


def condensing_split(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    pair = facts.together("liquid_pressure", "outdoor_temp")
    if pair and facts.refrigerant:
        temp, spread = _saturation(facts, instruments, pair[0], "bubble")
        yield Calculation(
            "condensing_split",
            facts.system,
            charge.condensing_split(temp, pair[1].value),
            "delta_degF",
            combined(spread, instruments.thermometer_degF),
            pair,
            "condensing saturation (bubble) less outdoor air",
            _SATURATION_SOURCE,
        )


def evaporator_split(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    pair = facts.together("return_air_temp", "suction_pressure")
    if pair and facts.refrigerant:
        temp, spread = _saturation(facts, instruments, pair[1], "dew")
        yield Calculation(
            "evaporator_split",
            facts.system,
            charge.evaporator_split(pair[0].value, temp),
            "delta_degF",
            combined(spread, instruments.thermometer_degF),
            pair,
            "return air less evaporating saturation (dew)",
            _SATURATION_SOURCE,
        )


def compression_ratio(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    pair = facts.together("liquid_pressure", "suction_pressure")
    if pair:
        air, said = facts.atmosphere()
        value = charge.compression_ratio(pair[0].value, pair[1].value, atmosphere=air)
        off = [r.value * instruments.gauge_percent / 100 for r in pair]
        suction = pair[1].value + air
        yield Calculation(
            "compression_ratio",
            facts.system,
            value,
            "ratio",
            combined(off[0] / suction, value * off[1] / suction),
            (*pair, *said),
            "absolute head over absolute suction",
            "definition",
        )


# ------------------------------------------------------------------ by weight

_SCALE_SOURCE = "arithmetic on weighed charges; split-system application manual for the line set"


def line_set_charge(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    length = facts.plate("line_set_length", ("measured", "estimated"))
    included = facts.plate("line_set_length", ("rated", "target"))
    said_rate = facts.plate("line_set_charge_rate")
    size = facts.plate("liquid_line_size")
    if not (length and included):
        return
    extra = length.value - included.value
    if said_rate:
        rate, spread, basis, how = said_rate.value, 0.0, said_rate, "the rate that was said"
    elif size and facts.refrigerant:
        rate, basis = charge.line_charge_rate(size.value, facts.refrigerant), size
        spread = constant("line_set_rate_spread") * abs(extra) / charge.OUNCES_PER_POUND
        how = f"{rate:.2f} oz/ft of {facts.refrigerant} liquid at 100 degF; makers print up to 0.17 more"
    else:
        return
    yield Calculation(
        "line_set_charge",
        facts.system,
        charge.line_set_charge(length.value, included.value, rate),
        "lb",
        combined(spread, constant("charging_scale") / charge.OUNCES_PER_POUND),
        (length, included, basis),
        f"length beyond what the factory charge covers, times {how}",
        _SCALE_SOURCE,
    )


def total_charge(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    """What was weighed in since the last evacuation, on top of the factory charge; less what came out since.

    What was recovered before the vacuum was the old charge. An addition to a running system says nothing of
    the total, because nobody knows what had leaked; so there has to be a sign of a new charge: a vacuum, a
    line set the factory charge was compared with, or the whole charge weighed in. Two additions on one day
    could be one told twice or two that add up, so they give no total.
    """
    factory = facts.plate("factory_charge", ("rated", "measured", "target"))
    pulled = facts.history("vacuum_level")
    order = facts.job.note_order()
    vacuum = (order.get(pulled[-1].note, -1), pulled[-1].position) if pulled else (-1, -1)
    # Within the note of the vacuum the order of telling is not the order of doing, except for the old charge.
    added = [r for r in facts.current("refrigerant_added") if order.get(r.note, -1) >= vacuum[0]]
    taken = [r for r in facts.current("refrigerant_recovered") if (order.get(r.note, -1), r.position) > vacuum]
    superseded = [r for r in facts.history("refrigerant_added") if r.status == "superseded"]
    if not (factory and added) or any(order.get(r.note, -1) >= vacuum[0] for r in superseded):
        return
    weighed_in = sum(r.value for r in added)
    fresh = (
        pulled
        or any(e.kind == "evacuation" and e.system == facts.system for e in facts.job.events)
        or facts.plate("line_set_length", ("rated", "target"))
        or weighed_in >= factory.value * constant("charged_from_empty") / 100
    )
    if not fresh:
        return
    if not pulled:
        taken = [r for r in taken if order.get(r.note, -1) > order.get(added[0].note, -1)]
    inputs = (factory, *added, *taken)
    yield Calculation(
        "total_charge",
        facts.system,
        charge.total_charge(factory.value, weighed_in, sum(r.value for r in taken)),
        "lb",
        combined(*[constant("charging_scale") / charge.OUNCES_PER_POUND] * len(inputs)),
        inputs,
        "factory charge (unless the unit came empty), plus what was weighed in, less what was taken out",
        _SCALE_SOURCE,
    )


RULES = (
    suction_saturation_temp,
    liquid_saturation_temp,
    subcooling,
    superheat,
    target_superheat,
    condensing_split,
    evaporator_split,
    compression_ratio,
    line_set_charge,
    total_charge,
)

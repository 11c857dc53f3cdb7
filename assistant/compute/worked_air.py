"""From readings to the calculations of the air side."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from assistant.compute import airflow, moist_air, static_pressure
from assistant.compute.constants import constant, constants
from assistant.compute.facts import Facts
from assistant.compute.instruments import Instruments, combined
from assistant.records import Calculation, Reading

_PER_TON_SOURCE = constants()["airflow_per_ton"].source


def measured_airflow(facts: Facts) -> Reading | None:
    """The airflow that stands: the newest measured at the system or its return, whichever visit it is from.

    In one note the system's own reading is taken before the return's. A sum of supply registers is left
    out: what leaks from the duct never reaches them.
    """
    found = [r for r in (facts.latest("system_airflow"), facts.latest("return_airflow")) if r]
    order = facts.job.note_order()
    return max(found, key=lambda r: order.get(r.note, -1), default=None)  # the first of equals is the system's


def _through_the_return(facts: Facts) -> Reading | None:
    """The airflow through the return, once it was measured there: all the system moves comes through it, so a
    system airflow of a later note is the return's too."""
    there = facts.latest("return_airflow")
    whole = facts.latest("system_airflow")
    order = facts.job.note_order()
    return whole if there and whole and order.get(whole.note, -1) > order.get(there.note, -1) else there


def _target(facts: Facts) -> tuple[float, tuple[Reading, ...]] | None:
    size = facts.cooling_capacity()
    if size is None:
        return None
    wanted = facts.plate("target_airflow_per_ton", ("target", "rated", "measured"))
    per_ton = wanted.value if wanted else None
    return airflow.airflow_target(size[0], per_ton), (*size[1], *((wanted,) if wanted else ()))


def airflow_per_ton(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    moved, size = measured_airflow(facts), facts.cooling_capacity()
    if moved and size:
        value = airflow.airflow_per_ton(moved.value, size[0])
        yield Calculation(
            "airflow_per_ton",
            facts.system,
            value,
            "cfm/ton",
            value * instruments.airflow_percent / 100,
            (moved, *size[1]),
            "measured airflow over system size",
            "definition",
        )


def airflow_target(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    target = _target(facts)
    if target:
        yield Calculation(
            "airflow_target",
            facts.system,
            target[0],
            "cfm",
            0.0,
            target[1],
            "system size times airflow per ton, 400 unless another was said",
            _PER_TON_SOURCE,
        )


def _shortfall(name: str, measured: Callable[[Facts], Reading | None]):
    def work(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
        moved, target = measured(facts), _target(facts)
        if moved and target:
            yield Calculation(
                name,
                facts.system,
                airflow.airflow_shortfall(moved.value, target[0]),
                "cfm",
                moved.value * instruments.airflow_percent / 100,
                (moved, *target[1]),
                "what is missing to the airflow wanted; 0 when nothing is",
                _PER_TON_SOURCE,
            )

    return work


airflow_shortfall = _shortfall("airflow_shortfall", measured_airflow)
return_airflow_shortfall = _shortfall("return_airflow_shortfall", _through_the_return)
supply_airflow_shortfall = _shortfall("supply_airflow_shortfall", lambda facts: facts.latest("supply_airflow"))


def temperature_change(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    """The split when the supply is colder than the return, the rise when it is warmer; never both."""
    pair = facts.together("return_air_temp", "supply_air_temp")
    if pair:
        heating = pair[1].value > pair[0].value
        name = "temperature_rise" if heating else "temperature_split"
        value = getattr(airflow, name)(pair[0].value, pair[1].value)
        yield Calculation(
            name,
            facts.system,
            value,
            "delta_degF",
            combined(*[instruments.thermometer_degF] * 2),
            pair,
            "supply less return air" if heating else "return less supply air",
            "definition",
        )


def total_static_pressure(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    pair = facts.together("supply_static_pressure", "return_static_pressure")
    if pair:
        value = static_pressure.total_static_pressure(pair[0].value, pair[1].value)
        yield Calculation(
            "total_static_pressure",
            facts.system,
            value,
            "inH2O",
            combined(*[constant("manometer")] * 2),
            pair,
            "supply and return magnitudes added",
            "ANSI/ACCA 1 Manual D",
        )


# ------------------------------------------------------------------ heat the air carries

_FACTOR_SOURCE = "standard air factors 1.08 and 4.5, scaled with density; psychrolib for enthalpy"


def _carried(facts: Facts) -> tuple[tuple[Reading, ...], float, tuple[Reading, ...]] | None:
    """Airflow with the air temperatures to go with it, and the altitude."""
    moved, pair = measured_airflow(facts), facts.together("return_air_temp", "supply_air_temp")
    if not (moved and pair and pair[1].value <= pair[0].value):
        return None
    height, said = facts.altitude()
    return (moved, *pair), height, said


def sensible_capacity(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    carried = _carried(facts)
    if carried:
        (moved, warm, cold), height, said = carried
        value = moist_air.sensible_capacity(moved.value, warm.value, cold.value, altitude=height)
        split = max(warm.value - cold.value, 0.1)
        share = combined(instruments.airflow_percent / 100, combined(*[instruments.thermometer_degF] * 2) / split)
        yield Calculation(
            "sensible_capacity",
            facts.system,
            value,
            "Btu/h",
            value * share,
            (moved, warm, cold, *said),
            "1.08 x density ratio x airflow x split",
            _FACTOR_SOURCE,
        )


def _wet(facts: Facts) -> tuple[Reading, ...] | None:
    return facts.together("return_air_temp", "return_wet_bulb", "supply_air_temp", "supply_wet_bulb")


def total_capacity(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    yield from (c for c in _wet_capacities(facts, instruments) if c.name == "total_capacity")


def latent_capacity(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    yield from (c for c in _wet_capacities(facts, instruments) if c.name == "latent_capacity")


def _wet_capacities(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    moved, four = measured_airflow(facts), _wet(facts)
    if not (moved and four and four[2].value <= four[0].value):
        return
    height, said = facts.altitude()
    warm, warm_wet, cold, cold_wet = (r.value for r in four)
    total = moist_air.total_capacity(moved.value, warm, warm_wet, cold, cold_wet, altitude=height)
    latent = total - moist_air.sensible_capacity(moved.value, warm, cold, altitude=height)
    # A degree of wet bulb is about 0.7 Btu/lb near 60 degF.
    wet = 0.7 * constant("total_factor") * moved.value * combined(*[instruments.thermometer_degF] * 2)
    dry = constant("sensible_factor") * moved.value * combined(*[instruments.thermometer_degF] * 2)
    for name, value, spread in (("total_capacity", total, wet), ("latent_capacity", latent, combined(wet, dry))):
        yield Calculation(
            name,
            facts.system,
            value,
            "Btu/h",
            combined(spread, value * instruments.airflow_percent / 100),
            (moved, *four, *said),
            "enthalpy in less out, times the mass of air; latent is total less sensible",
            _FACTOR_SOURCE,
        )


def dew_point(facts: Facts, instruments: Instruments) -> Iterator[Calculation]:
    """Of the return air, by whichever of wet bulb and humidity was measured on the later visit."""
    air, said = facts.atmosphere()
    wet = facts.together("return_air_temp", "return_wet_bulb")
    damp = facts.together("return_air_temp", "relative_humidity")
    if wet and not (damp and facts.visit(damp[0]) > facts.visit(wet[0])):
        pair, value = wet, moist_air.dew_point_from_wet_bulb(wet[0].value, wet[1].value, atmosphere=air)
        spread, how = 1.8 * instruments.thermometer_degF, "dry and wet bulb of the return air"
    elif damp:
        pair, value = damp, moist_air.dew_point(damp[0].value, damp[1].value)
        spread = combined(instruments.thermometer_degF, 0.6 * constant("humidity_sensor"))
        how = "temperature and humidity of the return air"
    else:
        return
    yield Calculation(
        "dew_point",
        facts.system,
        value,
        "degF",
        spread,
        (*pair, *said),
        how,
        "psychrolib, ASHRAE Handbook Fundamentals 2017 ch. 1",
    )


RULES = (
    airflow_per_ton,
    airflow_target,
    airflow_shortfall,
    return_airflow_shortfall,
    supply_airflow_shortfall,
    temperature_change,
    total_static_pressure,
    sensible_capacity,
    total_capacity,
    latent_capacity,
    dew_point,
)

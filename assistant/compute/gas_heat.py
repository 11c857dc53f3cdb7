"""Gas heat: input by the meter, altitude, and what the flue says."""

from __future__ import annotations

import math
import re

from assistant.compute.altitude import air_density_ratio, atmosphere
from assistant.compute.constants import constant
from assistant.compute.ranges import above, within
from assistant.errors import OutOfRange

PASCAL_PER_INH2O = 249.089


def dial_volume(dial: str) -> float:
    """Gas of one turn of a test dial [ft3], from how the log writes it: "2 ft3", "0.5 ft3", "1/2 ft3", "10 L".

    Source: definition; 1 m3 is 35.3147 ft3. Raises OutOfRange for anything else.
    """
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)(?:/(\d+))?\s*(ft3|m3|L|dm3)\s*", dial)
    if not match or match.group(2) == "0":
        raise OutOfRange(f"A test dial is a volume such as 2 ft3, not {dial!r}.")
    volume = float(match.group(1)) / float(match.group(2) or 1)
    return volume * {"ft3": 1.0, "m3": 35.3147, "L": 0.0353147, "dm3": 0.0353147}[match.group(3)]


def gas_flow(dial: float, meter_time: float, turns: float = 1) -> float:
    """Gas through the meter [ft3/h].

    dial [ft3] of one turn, above 0; meter_time [s] for all `turns`, above 0.
    Method: 3600 x dial x turns / seconds. Source: distributor bulletin and furnace instructions. Raises OutOfRange.
    """
    above("dial", dial, 0, "ft3")
    return 3600 * dial * above("turns", turns, 0) / above("meter time", meter_time, 0, "s")


def heating_input(dial: float, meter_time: float, gas_heating_value: float, turns: float = 1) -> float:
    """Heat the gas brings [Btu/h].

    dial [ft3]; meter_time [s]; gas_heating_value [Btu/ft3], 400 to 3500, as the utility gives it at this meter.
    Method: gas flow x heating value, with no further correction: many utilities give it for local pressure,
    and correcting twice would be wrong by the whole altitude effect (`standard_cubic_feet` is for the others).
    Source: furnace instructions. Raises OutOfRange.
    """
    within("heating value", gas_heating_value, 400, 3500, "Btu/ft3")
    return gas_flow(dial, meter_time, turns) * gas_heating_value


def standard_cubic_feet(supply_pressure: float, gas_temp: float, *, altitude: float = 0.0) -> float:
    """Standard cubic feet in one cubic foot through an uncorrected meter [-], 1.015 at sea level and 0.847 at 5000 ft.

    supply_pressure [inH2O] gauge, 0 to 60; gas_temp [degF], -40 to 140; altitude [ft].
    Method: ideal gas to 14.73 psi absolute and 60 F. Source: derivation. Raises OutOfRange.
    """
    within("supply pressure", supply_pressure, 0, 60, "inH2O")
    within("gas temperature", gas_temp, -40, 140, "degF")
    absolute = atmosphere(altitude) + supply_pressure / 27.6799
    return absolute / constant("gas_base_pressure") * 519.67 / (gas_temp + 459.67)


def derated_input(
    rated: float, altitude: float, percent_per_1000_ft: float, *, starts_at: float | None = None
) -> float:
    """Input an appliance should have at altitude [Btu/h].

    rated                [Btu/h]    nameplate input at sea level, above 0
    altitude             [ft]       -1500 to 15000
    percent_per_1000_ft  [percent]  0 to 5, from the nameplate or manual: makers print 0, 2 or 4, so there is no default
    starts_at            [ft]       nothing comes off below it, 2000 unless told; above, every 1000 ft from sea level

    Source: ANSI Z223.1/NFPA 54 (4 percent, from memory); furnace instructions (0, 2 or 4 percent). Raises OutOfRange.
    """
    above("rated input", rated, 0, "Btu/h")
    within("altitude", altitude, -1500, 15000, "ft")
    within("derating", percent_per_1000_ft, 0, 5, "percent")
    start = constant("derating_starts") if starts_at is None else starts_at
    return rated if altitude <= start else rated * (1 - percent_per_1000_ft / 100 * altitude / 1000)


def carbon_monoxide_air_free(carbon_monoxide: float, oxygen: float) -> float:
    """Carbon monoxide as if no spare air had thinned it [ppm].

    carbon_monoxide  [ppm]      as measured in the flue, 0 or more
    oxygen           [percent]  beside it, 0 to 20; near 20.9 there is no flue gas to speak of

    Method: CO x 20.9 / (20.9 - O2). Source: from memory of the standard combustion-analysis formula.
    Raises OutOfRange.
    """
    within("carbon monoxide", carbon_monoxide, 0, math.inf, "ppm")
    within("flue oxygen", oxygen, 0, 20, "percent")
    return carbon_monoxide * constant("air_oxygen") / (constant("air_oxygen") - oxygen)


def excess_air(oxygen: float) -> float:
    """Air beyond what burning needs [percent], from flue `oxygen` [percent, 0 to 20].

    Method: 100 x O2 / (20.9 - O2), dry flue gas. Source: from memory, complete combustion. Raises OutOfRange.
    """
    within("flue oxygen", oxygen, 0, 20, "percent")
    return 100 * oxygen / (constant("air_oxygen") - oxygen)


def carbon_dioxide_from_oxygen(oxygen: float, fuel: str = "natural_gas") -> float:
    """Carbon dioxide the flue should hold [percent] at this `oxygen` [percent, 0 to 20.9].

    fuel: "natural_gas" (11.8 at no spare air) or "propane" (13.8). Source: from memory. Raises OutOfRange.
    """
    if fuel not in ("natural_gas", "propane"):
        raise OutOfRange(f"The fuel is natural_gas or propane, not {fuel!r}.")
    within("flue oxygen", oxygen, 0, constant("air_oxygen"), "percent")
    return constant(f"{fuel}_ultimate_carbon_dioxide") * (1 - oxygen / constant("air_oxygen"))


def stack_loss(flue_temp: float, air_temp: float, oxygen: float) -> float:
    """Heat that leaves dry up a natural-gas flue [percent of the lower heating value].

    flue_temp, air_temp  [degF]     flue 130 to 1000; air to the burner -40 to 120
    oxygen               [percent]  in the flue, 0 to 18

    Method: Siegert, (flue - air in degC) x (A2/(21 - O2) + B). No condensation: above about 130 F of flue.
    Source: from memory of the Siegert formula, natural gas. Raises OutOfRange.
    """
    within("flue temperature", flue_temp, 130, 1000, "degF")
    within("combustion air", air_temp, -40, 120, "degF")
    within("flue oxygen", oxygen, 0, 18, "percent")
    return (flue_temp - air_temp) / 1.8 * (constant("siegert_a2") / (21 - oxygen) + constant("siegert_b"))


def combustion_efficiency(flue_temp: float, air_temp: float, oxygen: float) -> float:
    """Steady combustion efficiency of a natural-gas appliance [percent of the higher heating value].

    Units, range and errors as `stack_loss`. Method: what the flue does not take, scaled from lower to higher
    heating value (the water vapour carries 9.6 percent of the higher). Source: as `stack_loss`.
    """
    return (100 - stack_loss(flue_temp, air_temp, oxygen)) * (100 - constant("condensing_latent_share")) / 100


def minimum_draft(outdoor_temp: float) -> float:
    """Least draft a natural-draft vent should pull [inH2O], as a magnitude.

    outdoor_temp  [degF]  -60 to 130; the warmer it is, the less a chimney can pull

    Method: -2.5 Pa below 10 F, outdoor/40 - 2.75 Pa to 90 F, -1 Pa above. Not for fan-assisted or sealed equipment.
    Source: from memory of BPI technical standards (older edition). Raises OutOfRange.
    """
    within("outdoor temperature", outdoor_temp, -60, 130, "degF")
    pascal = -2.5 if outdoor_temp < 10 else outdoor_temp / 40 - 2.75 if outdoor_temp <= 90 else -1.0
    return -pascal / PASCAL_PER_INH2O


def sensible_output(airflow: float, temperature_rise: float, *, altitude: float = 0.0) -> float:
    """Heat the air carries away [Btu/h].

    airflow [cfm], 0 or more, at the density of the site; temperature_rise [delta_degF]; altitude [ft].
    Method: 1.08 x density ratio x airflow x rise. Source: packaged gas/electric unit instructions. Raises OutOfRange.
    """
    within("airflow", airflow, 0, math.inf, "cfm")
    return constant("sensible_factor") * air_density_ratio(altitude) * airflow * temperature_rise

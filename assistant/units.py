"""The unit of each quantity, and the door every spoken unit comes in by.

The only file that touches pint. Past it, every value is a plain float in the contract's unit.
`quantities.toml` lists each quantity with its unit and the range of values a person could have meant.
"""

from __future__ import annotations

import functools
import pickle
import tomllib
from dataclasses import dataclass
from importlib import resources

from assistant.errors import UnitMismatch


@dataclass(frozen=True, slots=True)
class Quantity:
    """One row of quantities.toml."""

    name: str
    unit: str
    low: float  # below this nobody could have measured it [unit]
    high: float  # above this likewise
    likely_low: float  # the everyday range, used to choose between readings of the same sounds
    likely_high: float
    title: str  # how it is written for people: "liquid pressure"
    places: int  # decimals that anybody reads it off to, or says


# pint reads some trade units as something else: cfm as a centifermi, ton as a mass, micron as a length.
_PINT_NAME = {
    "cfm": "ft**3/min",
    "ton": "refrigeration_ton",
    "micron": "millitorr",
    "psi": "psi",
    "inH2O": "inch_H2O",
    "in2": "inch**2",
    "in": "inch",
    "ft": "foot",
    "lb": "pound",
    "oz": "ounce",
    "oz/ft": "ounce/foot",
    "Btu/h": "Btu/hour",
    "Btu/ft3": "Btu/ft**3",
    "delta_degF": "delta_degF",
    "degF": "degF",
    "percent": "percent",
    "ppm": "ppm",
    "microfarad": "microfarad",
    "microampere": "microampere",
    "A": "ampere",
    "V": "volt",
    "min": "minute",
    "s": "second",
    "h": "hour",
    "cfm/ton": "ft**3/min/refrigeration_ton",
    "L/s": "liter/second",
    "m3/h": "meter**3/hour",
    "inHg": "inch_Hg",
    "kPa": "kilopascal",
    "Pa": "pascal",
    "bar": "bar",
    "kW": "kilowatt",
    "W": "watt",
    "g": "gram",
    "kg": "kilogram",
    "m": "meter",
    "mm": "millimeter",
    "cm": "centimeter",
    "degC": "degC",
    "delta_degC": "delta_degC",
    "kBtu/h": "kiloBtu/hour",
    "mA": "milliampere",
    "mV": "millivolt",
    "torr": "torr",
    "mbar": "millibar",
    "g/m": "gram/meter",
}
METRIC = frozenset({"L/s", "m3/h", "kPa", "Pa", "bar", "mbar", "g", "kg", "m", "mm", "cm", "degC", "delta_degC", "g/m"})
# A difference of temperature and a temperature are told apart by the quantity, not by the speaker.
_DIFFERENCE = {"degF": "delta_degF", "degC": "delta_degC", "kelvin": "delta_degC"}


@functools.cache
def _registry():
    import pint  # slow to import, and a note in trade units never needs it

    try:
        return pint.UnitRegistry(cache_folder=":auto:")
    except (OSError, EOFError, pickle.UnpicklingError):
        return pint.UnitRegistry()  # another process is just writing what is kept of it, or nothing can be kept


@functools.cache
def quantities() -> dict[str, Quantity]:
    """Every quantity of the contract, by name."""
    table = tomllib.loads(resources.files("assistant").joinpath("quantities.toml").read_text("utf-8"))
    return {row["name"]: _quantity(**row, places=table["places"][row["unit"]]) for row in table["quantity"]}


def _quantity(
    name: str, unit: str, possible: list[float], likely: list[float], places: int, title: str | None = None
) -> Quantity:
    return Quantity(name, unit, *possible, *likely, title or name.replace("_", " "), places)


def unit_of(quantity: str) -> str:
    """The contract's unit for `quantity`. Raises KeyError for a name the contract does not list."""
    return quantities()[quantity].unit


@functools.lru_cache(maxsize=1024)
def pounds_and_ounces(pounds: float) -> str | None:
    """ "5 lb 2 oz", "15 oz": a weight as a scale shows it; None for whole pounds, and where it is no whole ounces."""
    ounces = pounds * 16
    if abs(pounds - round(pounds)) < 1e-6 or abs(ounces - round(ounces)) > 0.05:
        return None
    whole, rest = divmod(abs(round(ounces)), 16)
    sign = "-" if pounds < 0 else ""  # no scale shows it, but it may have been heard
    return f"{sign}{whole} lb {rest} oz" if whole else f"{sign}{rest} oz"


@functools.cache
def same_kind(spoken: str, unit: str) -> bool:
    """Whether a value in `spoken` can be given in `unit` at all."""
    try:
        to_contract(1.0, spoken, unit)
    except UnitMismatch:
        return False
    return True


@functools.lru_cache(maxsize=4096)
def to_contract(value: float, spoken: str, unit: str) -> float:
    """`value` in the contract's `unit`. Raises UnitMismatch: 345 psi is not a temperature."""
    if spoken == unit:
        return float(value)
    if unit.startswith("delta_"):
        spoken = _DIFFERENCE.get(spoken, spoken)
        if spoken == unit:
            return float(value)
    import pint

    try:
        factor = _factor(spoken, unit)
        return value * factor if factor is not None else _by_pint(value, spoken, unit)
    except pint.DimensionalityError as err:
        raise UnitMismatch(f"{value:g} {spoken} cannot be a value in {unit}.") from err


@functools.cache
def _factor(spoken: str, unit: str) -> float | None:
    """What a value is multiplied by; None where the two scales do not begin at the same point (degC and degF)."""
    return _by_pint(1.0, spoken, unit) if _by_pint(0.0, spoken, unit) == 0 else None


def _by_pint(value: float, spoken: str, unit: str) -> float:
    return float(_registry().Quantity(value, _PINT_NAME.get(spoken, spoken)).to(_PINT_NAME.get(unit, unit)).magnitude)

"""The closed list of units: every unit that may be written, per dimension, with its factor to SI.

The foot is 0.3048 m, the pound 0.45359237 kg, the standard acceleration 9.80665 m/s2, exact by definition, and
the US gallon is 231 cubic inches; an inch of conventional water is 249.0889 Pa, a millimetre of it 9.80665 Pa, the
British thermal unit of the International Table 1055.05585262 J (Thompson and Taylor, Guide for the Use of the
International System of Units, NIST Special Publication 811, 2008, appendix B; from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

if TYPE_CHECKING:
    import pint

Dimension = Literal[
    "length",
    "area",
    "flow",
    "speed",
    "pressure",
    "angle",
    "temperature",
    "density",
    "viscosity",
    "power",
    "share",
    "time",
    "volume",
    "mass",
    "energy",
    "filter rate",
    "current",
]
UnitSystem = Literal["inch", "metric"]

FOOT_M = 0.3048
INCH_M = 0.0254
POUND_KG = 0.45359237
GRAVITY_M_S2 = 9.80665
INWG_PA = 249.0889
MM_WATER_PA = 9.80665
HOUR_S = 3600.0
BTU_J = 1055.05585262
HORSEPOWER_W = 550.0 * FOOT_M * POUND_KG * GRAVITY_M_S2
_SI: dict[Dimension, str] = {
    "length": "metre",
    "area": "metre ** 2",
    "flow": "metre ** 3 / second",
    "speed": "metre / second",
    "pressure": "pascal",
    "angle": "degree",
    "temperature": "kelvin",
    "density": "kilogram / metre ** 3",
    "viscosity": "pascal * second",
    "power": "watt",
    "share": "dimensionless",
    "time": "second",
    "volume": "metre ** 3",
    "mass": "kilogram",
    "energy": "joule",
    "filter rate": "metre / second",
    "current": "ampere",
}


class Unit(NamedTuple):
    """One unit: SI value = (number + shift) * factor. `system` is None for units at home in both systems."""

    name: str
    dimension: Dimension
    factor: float
    system: UnitSystem | None
    spellings: tuple[str, ...] = ()
    shift: float = 0.0

    def to_si(self, number: float) -> float:
        """Turn a number in this unit into SI."""
        return (number + self.shift) * self.factor

    def from_si(self, value: float) -> float:
        """Turn an SI value into a number in this unit."""
        return value / self.factor - self.shift


UNITS: tuple[Unit, ...] = (
    Unit("in", "length", INCH_M, "inch", ('"', "inch", "inches", "ins")),
    Unit("ft", "length", FOOT_M, "inch", ("'", "foot", "feet")),
    Unit("mm", "length", 0.001, "metric", ("millimetre", "millimetres", "millimeter", "millimeters")),
    Unit("cm", "length", 0.01, "metric", ("centimetre", "centimetres", "centimeter", "centimeters")),
    Unit("m", "length", 1.0, "metric", ("metre", "metres", "meter", "meters")),
    Unit(
        "in2", "area", INCH_M**2, "inch", ("sq in", "sq inch", "square inch", "square inches", '"2', 'sq "')
    ),
    Unit("ft2", "area", FOOT_M**2, "inch", ("sq ft", "square foot", "square feet")),
    Unit("mm2", "area", 1e-6, "metric", ("sq mm", "square millimetres")),
    Unit("cm2", "area", 1e-4, "metric", ("sq cm", "square centimetres")),
    Unit("m2", "area", 1.0, "metric", ("sq m", "square metres")),
    Unit("cfm", "flow", FOOT_M**3 / 60.0, "inch", ("ft3/min", "cu ft/min", "cubic feet/minute")),
    Unit("m3/h", "flow", 1.0 / 3600.0, "metric", ("m3/hr", "m3/hour", "cubic metres/hour", "cmh")),
    Unit("m3/min", "flow", 1.0 / 60.0, "metric", ("cubic metres/minute",)),
    Unit("m3/s", "flow", 1.0, "metric", ("m3/sec", "cubic metres/second")),
    Unit("l/s", "flow", 0.001, "metric", ("l/sec", "litre/s", "litres/second", "lps")),
    Unit("l/min", "flow", 0.001 / 60.0, "metric", ("litres/minute", "lpm")),
    Unit("fpm", "speed", FOOT_M / 60.0, "inch", ("ft/min", "feet/min", "feet/minute")),
    Unit("ft/s", "speed", FOOT_M, "inch", ("fps", "ft/sec", "feet/second")),
    Unit("m/s", "speed", 1.0, "metric", ("m/sec", "metres/second", "mps")),
    Unit("m/min", "speed", 1.0 / 60.0, "metric", ("metres/minute",)),
    Unit(
        "inwg",
        "pressure",
        INWG_PA,
        "inch",
        (
            "in wg",
            "in wc",
            "in h2o",
            "in water",
            "in of water",
            "inch wg",
            "inch wc",
            "inch h2o",
            "inch water",
            "inches wg",
            "inches wc",
            "inches h2o",
            "inches water",
            "inch of water",
            "inches of water",
            "inches of water gauge",
            "in of h2o",
            "in aq",
            '" wg',
            '" wc',
            '" h2o',
            '" water',
            '" of water',
            "iwg",
            "iwc",
        ),
    ),
    Unit("Pa", "pressure", 1.0, "metric", ("pascal", "pascals")),
    Unit("daPa", "pressure", 10.0, "metric"),
    Unit("hPa", "pressure", 100.0, "metric"),
    Unit("kPa", "pressure", 1000.0, "metric"),
    Unit("mbar", "pressure", 100.0, "metric", ("millibar", "mb")),
    Unit(
        "mm water",
        "pressure",
        MM_WATER_PA,
        "metric",
        ("mm wg", "mm wc", "mm h2o", "mm of water", "mm ws", "mm ce", "mm aq"),
    ),
    Unit("deg", "angle", 1.0, None, ("degree", "degrees")),
    Unit("F", "temperature", 5.0 / 9.0, "inch", ("deg f", "degrees f", "fahrenheit"), 459.67),
    Unit("C", "temperature", 1.0, "metric", ("deg c", "degrees c", "celsius"), 273.15),
    Unit("K", "temperature", 1.0, "metric", ("kelvin", "deg k")),
    Unit("lb/ft3", "density", POUND_KG / FOOT_M**3, "inch", ("lb/cu ft", "lbs/ft3", "lbm/ft3", "pcf")),
    Unit("kg/m3", "density", 1.0, "metric", ("kg/cu m",)),
    Unit("Pa s", "viscosity", 1.0, "metric", ("pa*s", "pa·s", "kg/m s", "kg/(m s)", "n s/m2")),
    Unit("mPa s", "viscosity", 1e-3, "metric", ("mpa*s", "mpa·s", "cp", "centipoise")),
    Unit("uPa s", "viscosity", 1e-6, "metric", ("upa*s", "upa·s", "μpa s", "μpa·s", "μpa*s")),
    Unit("lb/ft s", "viscosity", POUND_KG / FOOT_M, "inch", ("lb/(ft s)", "lbm/ft s", "lb/ft-s")),
    Unit("W", "power", 1.0, None, ("watt", "watts")),
    Unit("kW", "power", 1000.0, None, ("kilowatt", "kilowatts")),
    Unit("hp", "power", HORSEPOWER_W, "inch", ("bhp", "horsepower")),
    Unit("BTU/h", "power", BTU_J / HOUR_S, "inch", ("btu/h", "btu/hr", "btu/hour", "btuh")),
    Unit("%", "share", 0.01, None, ("percent", "pct")),
    Unit("h", "time", HOUR_S, None, ("hr", "hrs", "hour", "hours")),
    Unit("min", "time", 60.0, None, ("minute", "minutes")),
    Unit("ft3", "volume", FOOT_M**3, "inch", ("cu ft", "cubic foot", "cubic feet")),
    Unit("gal", "volume", 231.0 * INCH_M**3, "inch", ("gallon", "gallons", "us gal", "us gallons")),
    Unit("l", "volume", 0.001, "metric", ("litre", "litres", "liter", "liters")),
    Unit("m3", "volume", 1.0, "metric", ("cu m", "cubic metre", "cubic metres")),
    Unit("lb", "mass", POUND_KG, "inch", ("lbs", "pound", "pounds")),
    Unit("kg", "mass", 1.0, "metric", ("kilogram", "kilograms")),
    Unit("kWh", "energy", 1000.0 * HOUR_S, None),
    Unit("cfm/ft2", "filter rate", 1.0 / 60.0 * FOOT_M, "inch"),
    Unit("m3/h per m2", "filter rate", 1.0 / HOUR_S, "metric", ("m3/h/m2",)),
    Unit("A", "current", 1.0, None, ("amp", "amps", "ampere", "amperes")),
)


@lru_cache(maxsize=64)
def spellings_of(*dimensions: Dimension) -> Mapping[str, Unit]:
    """Return every known spelling (small letters, with and without inner spaces) of the dimensions' units."""
    table: dict[str, Unit] = {}
    for unit in units_of(*dimensions):
        for spelling in (unit.name.casefold(), *unit.spellings):
            table[spelling] = table[spelling.replace(" ", "")] = unit
    return MappingProxyType(table)


def units_of(*dimensions: Dimension) -> tuple[Unit, ...]:
    """Return the units of the dimensions, in the order of the list; of all dimensions when none is named."""
    return tuple(unit for unit in UNITS if not dimensions or unit.dimension in dimensions)


def quantity(value: float, dimension: Dimension) -> Any:
    """Return an SI value as a pint Quantity of the dimension; it converts to every unit that pint or our list knows.

    >>> round(quantity(0.1524, "length").to("inch").magnitude, 6)
    6.0
    """
    return _registry().Quantity(value, _SI[dimension])


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    """Return pint's own registry with the names of the closed list that it lacks; made when first asked for."""
    import pint

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry()
    known = set(dir(registry))  # defined names only: asking for cfm would make pint remember a centifermi
    for unit in units_of():
        if unit.name.isalpha() and unit.name not in known:
            registry.define(f"{unit.name} = {unit.factor!r} * {_SI[unit.dimension]}")
    return registry

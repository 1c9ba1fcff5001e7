"""Quantities of the pint library on request; nothing else in the project imports pint."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from ductcalc.units.closed_list import Dimension, Unit, units_of

if TYPE_CHECKING:
    import pint

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
}
_BASE = (
    "metre = [length] = m = meter",
    "second = [time] = s",
    "kilogram = [mass] = kg",
    "kelvin = [temperature]; offset: 0 = K",
    "radian = []",
    "degree = 0.017453292519943295 * radian = deg",
    "pascal = kilogram / metre / second ** 2 = Pa",
    "watt = kilogram * metre ** 2 / second ** 3 = W",
    "hour = 3600 * second = h",
    "minute = 60 * second = min",
    "pound = 0.45359237 * kilogram = lb",
    "litre = 0.001 * metre ** 3 = l",
)
_FULL_NAMES = {"in": "inch = {} = in", "ft": "foot = {} = ft", "F": "degF = {}", "C": "degC = {}"}


def quantity(value: float, dimension: Dimension) -> Any:
    """Return an SI value as a pint Quantity of the dimension; it converts to every unit of the closed list.

    >>> round(quantity(0.1524, "length").to("inch").magnitude, 6)
    6.0
    """
    return _registry().Quantity(value, _SI[dimension])


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    """Build a registry from the closed list alone: a twentieth of the time of pint's own full one."""
    import pint

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(None)
    for line in (*_BASE, *_closed_list_lines()):
        registry.define(line)
    return registry


def _closed_list_lines() -> list[str]:
    """Return pint definitions of the units whose names are single words (`m3/h` is built from m and h)."""
    known = {"m", "Pa", "K", "W", "deg"}
    return [_line(unit) for unit in units_of() if unit.name.isalpha() and unit.name not in known]


def _line(unit: Unit) -> str:
    value = f"{unit.factor!r} * {_SI[unit.dimension]}"
    if unit.shift:
        value += f"; offset: {unit.shift * unit.factor!r}"
    return _FULL_NAMES.get(unit.name, f"{unit.name} = {{}}").format(value)

"""Quantities of the pint library on request; nothing else in the project imports pint."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from ductcalc.units.closed_list import Dimension, units_of

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
    "time": "second",
    "volume": "metre ** 3",
    "mass": "kilogram",
    "energy": "joule",
    "filter rate": "metre / second",
}
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

"""Display units: which unit a person reads in each system, and the number in it."""

from __future__ import annotations

from typing import Literal

from ductcalc.units.closed_list import Unit, UnitSystem, units_of

Shown = Literal[
    "size",
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
    "heat",
    "meter",
    "energy",
    "time",
    "volume",
    "mass",
    "cloth",
    "filter rate",
]

_BY_NAME: dict[str, Unit] = {unit.name: unit for unit in units_of()}
_LABELS: dict[Shown, dict[UnitSystem, str]] = {
    "size": {"inch": "in", "metric": "mm"},
    "length": {"inch": "ft", "metric": "m"},
    "area": {"inch": "in2", "metric": "cm2"},
    "flow": {"inch": "cfm", "metric": "m3/h"},
    "speed": {"inch": "fpm", "metric": "m/s"},
    "pressure": {"inch": "inwg", "metric": "Pa"},
    "angle": {"inch": "deg", "metric": "deg"},
    "temperature": {"inch": "F", "metric": "C"},
    "density": {"inch": "lb/ft3", "metric": "kg/m3"},
    "viscosity": {"inch": "Pa s", "metric": "Pa s"},
    "power": {"inch": "hp", "metric": "kW"},
    "share": {"inch": "%", "metric": "%"},
    "heat": {"inch": "BTU/h", "metric": "kW"},
    "meter": {"inch": "kW", "metric": "kW"},
    "energy": {"inch": "kWh", "metric": "kWh"},
    "time": {"inch": "h", "metric": "h"},
    "volume": {"inch": "ft3", "metric": "l"},
    "mass": {"inch": "lb", "metric": "kg"},
    "cloth": {"inch": "ft2", "metric": "m2"},
    "filter rate": {"inch": "cfm/ft2", "metric": "m3/h per m2"},
}


def to_display(value: float, dimension: Shown, system: UnitSystem) -> tuple[float, str]:
    """Return an SI value in the unit of a system, and its label; `size` is a bore [m], `length` a run [m].

    `heat` is a power [W] of warm air, `meter` one of electricity, `cloth` the area [m2] of a filter.

    >>> to_display(0.1524, "size", "metric")
    (152.4, 'mm')
    """
    label = _LABELS[dimension][system]
    return _BY_NAME[label].from_si(value), label

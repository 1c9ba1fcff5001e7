"""The closed list of units that the reference tables may use, and what each one is in SI."""

from __future__ import annotations

from typing import NamedTuple


class Conversion(NamedTuple):
    """SI value = factor * (value + offset); `si` is the name of the SI unit."""

    si: str
    factor: float
    offset: float = 0.0


CONVERSIONS = {
    "1": Conversion("1", 1.0),
    "x VP": Conversion("1", 1.0),
    "kg/kg": Conversion("1", 1.0),
    "class": Conversion("class", 1.0),
    "cfm/100 ft2": Conversion("m3/(s m2)", 0.028316846592 / 60.0 / 9.290304),
    "m3/(s m2)": Conversion("m3/(s m2)", 1.0),
    "m": Conversion("m", 1.0),
    "mm": Conversion("m", 0.001),
    "in": Conversion("m", 0.0254),
    "ft": Conversion("m", 0.3048),
    "m/s": Conversion("m/s", 1.0),
    "fpm": Conversion("m/s", 0.00508),
    "m3/h": Conversion("m3/s", 1.0 / 3600.0),
    "cfm": Conversion("m3/s", 0.028316846592 / 60.0),
    "Pa": Conversion("Pa", 1.0),
    "GPa": Conversion("Pa", 1.0e9),
    "inwg": Conversion("Pa", 249.0889),
    "Pa s": Conversion("Pa s", 1.0),
    "kg/m3": Conversion("kg/m3", 1.0),
    "lb/ft3": Conversion("kg/m3", 0.45359237 / 0.3048**3),
    "cfm/ft2": Conversion("m3/(s m2)", 0.3048 / 60.0),
    "J/(kg K)": Conversion("J/(kg K)", 1.0),
    "lb/ft": Conversion("kg/m", 0.45359237 / 0.3048),
    "deg": Conversion("deg", 1.0),
    "degF": Conversion("K", 5.0 / 9.0, 459.67),
}


def to_si(value: float, unit: str) -> float:
    """Return a value of a reference table in SI units.

    Exact definitions: the foot, the inch, the Fahrenheit scale; 1 inch of water is 249.0889 Pa everywhere.

    >>> to_si(3500.0, "fpm")
    17.78
    """
    _, factor, offset = CONVERSIONS[unit]
    return factor * (value + offset)

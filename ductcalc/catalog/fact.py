"""A number from outside with its range, source and confidence, in SI units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

from ductcalc.catalog.read import cite, table


@dataclass(frozen=True)
class Fact:
    """One number in the SI unit `unit`, the band `low` to `high`, and where it comes from.

    source: key of `sources()`. table: table or section of that source.
    confidence: `published`, `from memory`, `common practice, no source` or `computed`.
    """

    value: float
    low: float
    high: float
    unit: str
    source: str
    table: str
    confidence: str
    note: str = ""

    @property
    def cited(self) -> str:
        """Where the number comes from and how it was seen, in one line."""
        return cite(self.source, self.table, self.confidence)


class FactRow(NamedTuple):
    """A row of a table as written beside the fact that it holds."""

    row: Mapping[str, str]
    fact: Fact


@cache
def fact_rows(table_name: str, item: str) -> tuple[FactRow, ...]:
    """Return the rows of a table that bear this item, in the order written."""
    rows = (row for row in table(table_name).rows if row["item"] == item)
    return tuple(FactRow(row, _fact_of(row)) for row in rows)


@cache
def fact(table_name: str, key: str) -> Fact:
    """Return a table's single fact of this name.

    Raises KeyError when the table holds none or several of it.

    >>> fact("gate", "open").value
    0.15
    """
    rows = fact_rows(table_name, key)
    if len(rows) != 1:
        raise KeyError(f"{table_name}: {len(rows)} rows are named {key}")
    return rows[0].fact


def _fact_of(row: Mapping[str, str]) -> Fact:
    unit = row["unit"]
    value, low, high = (to_si(float(row[name]), unit) for name in ("value", "low", "high"))
    si_unit = CONVERSIONS[unit].si
    return Fact(value, low, high, si_unit, row["source"], row["table"], row["confidence"], row["note"])


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
    "m3/(m2 h)": Conversion("m3/(s m2)", 1.0 / 3600.0),
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
    "A": Conversion("A", 1.0),
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

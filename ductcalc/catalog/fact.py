"""A number from outside with its range, source and confidence, in SI units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

from ductcalc.catalog.read import table
from ductcalc.catalog.si import CONVERSIONS, to_si


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

"""A table in the units of its reader: as CSV and as a grid of text."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from ductcalc.answers.columns import Columns, Row
from ductcalc.report import blocks
from ductcalc.report.blocks import Grid, Words
from ductcalc.report.csv_text import csv_text
from ductcalc.report.display import Display
from ductcalc.units.display import Shown, to_display

CSV_UNITS = {"m3/h": "m3_h", "m/s": "m_s"}


def csv_of(columns: Columns[Row], rows: Iterable[Row], display: Display) -> str:
    """Return a table as CSV, the unit in every name."""
    named = [column for column in columns if column.key]
    names = [_csv_name(column.csv or column.key, column.dimension, display) for column in named]
    lines = ([_shown(column.get(row), column.dimension, display) for column in named] for row in rows)
    return csv_text(names, lines)


def _csv_name(name: str, dimension: Shown | None, display: Display) -> str:
    """Return a name with its unit behind it, or in the brackets at its end."""
    if dimension is None or dimension == "share":
        return name
    unit = CSV_UNITS.get(display.unit(dimension), display.unit(dimension))
    return f"{name[:-1]}{unit}]" if name.endswith("[]") else f"{name}_{unit}"


def _shown(value: Any, dimension: Shown | None, display: Display) -> Any:
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    if value is None or dimension is None or dimension == "share":
        return value
    return float(to_display(value, dimension, display.system)[0])


def grid_of(columns: Columns[Row], rows: Iterable[Row], display: Display, fine: bool = False) -> Grid:
    """Return a table as a grid of text: the columns that have a heading; fine: pressures to one digit more."""
    told = [column for column in columns if column.heading is not None]
    titles = [_title(column.heading or "", column.dimension, display) for column in told]
    lines = 2 if any(second for _, second in titles) else 1
    looks = tuple(
        blocks.Column(title[:lines], right, not right, column.drop)
        for column, title in zip(told, titles, strict=True)
        for right in [column.right or column.dimension is not None]
    )
    cells = tuple(tuple(_words(column.get(row), column.dimension, display, fine) for column in told) for row in rows)
    return Grid(looks, cells)


def _title(heading: str, dimension: Shown | None, display: Display) -> tuple[str, str]:
    first, _, second = heading.partition("\n")
    return first, second if dimension is None else f"{second} {display.unit(dimension)}".strip()


def _words(value: Any, dimension: Shown | None, display: Display, fine: bool) -> Words:
    """Return a cell: an amount in the reader's unit, a plain number to two places, words as they are."""
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value + 0.0:.2f}" if dimension is None else display.number(value, dimension, fine)
    return str(value) if isinstance(value, int) else value

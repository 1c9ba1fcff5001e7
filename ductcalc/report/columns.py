"""A table in the units of its reader: as CSV and as a grid of text."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Callable, Iterable, Sequence
from io import StringIO
from typing import Any

from ductcalc.answers.columns import Column, Columns, Row
from ductcalc.report.blocks import Grid, GridColumn, Words
from ductcalc.report.display import Display
from ductcalc.units.display import Shown, to_display
from ductcalc.units.wording import spelled


def csv_of(columns: Columns[Row], rows: Iterable[Row], display: Display) -> str:
    """Return a table as CSV, the unit in every name."""
    named = [column for column in columns if column.key]
    names = [_csv_name(column.csv or column.key, column.dimension, display) for column in named]
    lines = ([_csv_value(column.get(row), column.dimension, display) for column in named] for row in rows)
    return csv_text(names, lines)


def _csv_name(name: str, dimension: Shown | None, display: Display) -> str:
    """Return a name with its unit behind it, or in the brackets at its end."""
    if dimension is None or dimension == "share":
        return name
    unit = ending(dimension, display)
    return f"{name[:-1]}{unit}]" if name.endswith("[]") else f"{name}_{unit}"


def _csv_value(value: Any, dimension: Shown | None, display: Display) -> Any:
    """Return a value in the reader's unit; shares and what has no dimension as they are, several in a row."""
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    return value if dimension is None or dimension == "share" else shown(value, dimension, display)


def titled(
    heading: str,
    get: Callable[[Row], Any],
    dimension: Shown | None = None,
    drop: int | None = None,
    right: bool = False,
) -> Column[Row]:
    """Return a column that text alone has."""
    return Column("", get, dimension, heading, drop, right)


def grid_of(columns: Columns[Row], rows: Iterable[Row], display: Display, fine: bool = False) -> Grid:
    """Return a table as a grid of text: the columns that have a heading; fine: pressures to one digit more."""
    told = [column for column in columns if column.heading is not None]
    titles = [_title(column.heading or "", column.dimension, display) for column in told]
    looks = tuple(
        GridColumn(title, right, not right, column.drop)
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


UNIT_ENDINGS = {"m3/h": "m3_h", "m/s": "m_s"}
DIGITS = ".6g"
FORMULA_START = re.compile(r"(^|;)([=+\-@＝＋－＠])")
"""Where a spreadsheet may see a formula, also one that parts cells at semicolons or takes wide signs for plain ones."""
NEGATIVE = re.compile(r"-\d+(\.\d+)?(e[+-]?\d+)?", re.IGNORECASE)


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    """Return a table as CSV with a header; None or no finite number is an empty cell, others have six digits."""
    target = StringIO()
    writer = csv.writer(target, lineterminator="\n")
    writer.writerow(map(_cell, columns))
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return target.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return format(value + 0.0, DIGITS) if math.isfinite(value) else ""
    return _plain_text(value) if isinstance(value, str) else str(value)


def _plain_text(text: str) -> str:
    """Return text that no spreadsheet takes for a formula: an apostrophe before = + - @; unseen characters spelled."""
    return text if NEGATIVE.fullmatch(text) else FORMULA_START.sub(r"\1'\2", spelled(text))


def ending(dimension: Shown, display: Display) -> str:
    """Return a unit as the end of a column name."""
    unit = display.unit(dimension)
    return UNIT_ENDINGS.get(unit, unit)


def shown(value: float | None, dimension: Shown, display: Display) -> float | None:
    """Return an SI value in the display unit, None as it is."""
    return None if value is None else float(to_display(value, dimension, display.system)[0])

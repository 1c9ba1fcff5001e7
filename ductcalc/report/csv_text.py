"""Answers as CSV: a line per item, the unit in every column name, numbers to six digits."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from io import StringIO
from typing import Any

from ductcalc.report.display import Display
from ductcalc.units.display import Shown, to_display

UNIT_ENDINGS = {"m3/h": "m3_h", "m/s": "m_s"}
DIGITS = ".6g"
FORMULA_SIGNS = frozenset("=+-@\t\r\n")


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[Any]]) -> str:
    """Return a table as CSV with a header; None is an empty cell, a number has six digits."""
    target = StringIO()
    writer = csv.writer(target, lineterminator="\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([_cell(value) for value in row])
    return target.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return format(value + 0.0, DIGITS)
    return _plain_text(value) if isinstance(value, str) else str(value)


def _plain_text(text: str) -> str:
    """Return text that no spreadsheet takes for a formula: a leading apostrophe before = + - @ and the like."""
    return f"'{text}" if text[:1] in FORMULA_SIGNS else text


def ending(dimension: Shown, display: Display) -> str:
    """Return a unit as the end of a column name."""
    unit = display.unit(dimension)
    return UNIT_ENDINGS.get(unit, unit)


def shown(value: float | None, dimension: Shown, display: Display) -> float | None:
    """Return an SI value in the display unit, None as it is."""
    return None if value is None else float(to_display(value, dimension, display.system)[0])

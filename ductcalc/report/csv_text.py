"""Answers as CSV: a line per item, the unit in every column name, numbers to six digits."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Iterable, Sequence
from io import StringIO
from typing import Any

from ductcalc.report.display import Display
from ductcalc.units.display import Shown, to_display
from ductcalc.units.wording import spelled

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

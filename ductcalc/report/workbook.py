"""A report's table as a workbook: the same lines as its CSV, numbers as numbers, every text a text and no formula."""

from __future__ import annotations

import csv
import re
from io import BytesIO, StringIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

NUMBER = re.compile(r"-?\d+(\.\d+)?(e[+-]?\d+)?\Z")
SAVED = re.compile(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")
NO_DATE = b"2000-01-01T00:00:00Z"
WIDEST = 48
"""Characters to which a column is as wide as its longest cell."""


def workbook(text: str, title: str) -> bytes:
    """Return a workbook of one sheet with the lines of a CSV. Raises ImportError without openpyxl."""
    from openpyxl import Workbook
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = Workbook()
    sheet = book.active
    sheet.title = title
    widths: dict[int, int] = {}
    for row, line in enumerate(csv.reader(StringIO(text)), start=1):
        for column, value in enumerate(line, start=1):
            cell = sheet.cell(row, column)
            if row > 1 and NUMBER.match(value):
                cell.value = float(value) if {".", "e"} & set(value) else int(value)
            elif value:
                cell.value = value
                cell.data_type = "s"
            widths[column] = max(widths.get(column, 0), len(value))
            if row == 1:
                cell.font = Font(bold=True)
    for column, width in widths.items():
        sheet.column_dimensions[get_column_letter(column)].width = min(width, WIDEST) + 2
    sheet.freeze_panes = "A2"
    target = BytesIO()
    book.save(target)
    return _without_dates(target)


def _without_dates(saved: BytesIO) -> bytes:
    """Return a saved workbook without the time at which it was saved, so that the same lines give the same bytes."""
    target = BytesIO()
    with ZipFile(saved) as made, ZipFile(target, "w") as kept:
        for name in made.namelist():
            data = SAVED.sub(NO_DATE, made.read(name)) if name == "docProps/core.xml" else made.read(name)
            kept.writestr(ZipInfo(name), data, ZIP_DEFLATED)
    return target.getvalue()

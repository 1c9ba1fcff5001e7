"""The header row of a table: column words, letters and units."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ductcalc.errors import Place
from ductcalc.tables.notebook import Notebook
from ductcalc.tables.words import HEADER_DIMENSIONS, guess, nearest, word_key
from ductcalc.units import Unit, UnreadableError, header_unit, quoted

_WITH_UNIT = re.compile(r"([^\[(]*)[\[(]([^\])]*)[\])]\s*")


@dataclass(frozen=True, slots=True)
class Column:
    """A known column: its word, its letter in the spreadsheet (None in code), its unit if it has one."""

    name: str
    letter: str | None
    unit: Unit | None = None


def letter_of(index: int) -> str:
    """Return the spreadsheet's letter of a column counted from 0: A to Z, AA, AB, ..."""
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def read_header(
    cells: Sequence[str], place: Place, known: Sequence[str], required: Sequence[str], notebook: Notebook
) -> list[Column | None]:
    """Return the columns in order, None for one that is unnamed or unknown; note every problem."""
    while cells and not cells[-1].strip():
        cells = cells[:-1]
    columns: list[Column | None] = []
    strangers: list[str] = []
    for index, cell in enumerate(cells):
        here = replace(place, column=cell.strip() or None, letter=letter_of(index))
        column = _column(cell, here, known, notebook)
        if column is None:
            strangers.append(cell)
        elif any(column.name == other.name for other in columns if other):
            notebook.note(here, f"column {column.name} stands twice", "keep one of the two", cell)
            column = None
        columns.append(column)
    _require(columns, strangers, place, required, notebook)
    return columns


def _column(cell: str, place: Place, known: Sequence[str], notebook: Notebook) -> Column | None:
    """Read one header cell such as `size [in]`."""
    found = _WITH_UNIT.fullmatch(cell.strip())
    title, unit_text = (found[1], found[2]) if found else (cell, "")
    name = word_key(title)
    if name not in known:
        what = f"no column is named {quoted(cell.strip())}" if name else "a column has no name"
        notebook.note(place, what, guess(title, known), cell)
        return None
    unit = _header_unit(name, unit_text, cell, place, notebook) if unit_text.strip() else None
    return Column(name, place.letter, unit)


def _header_unit(name: str, unit_text: str, cell: str, place: Place, notebook: Notebook) -> Unit | None:
    dimensions = HEADER_DIMENSIONS.get(name)
    if dimensions is None:
        notebook.note(place, f"column {name} has no unit", f"write the header as {name}", cell)
        return None
    try:
        return header_unit(unit_text, *dimensions)
    except UnreadableError as error:
        notebook.note_unreadable(place, error, cell)
        return None


def _require(
    columns: Sequence[Column | None],
    strangers: Sequence[str],
    place: Place,
    required: Sequence[str],
    notebook: Notebook,
) -> None:
    """Note required columns that are missing, unless a mistyped one stands for it."""
    names = {column.name for column in columns if column}
    meant = {nearest(stranger, required) for stranger in strangers}
    for name in required:
        if name not in names and name not in meant:
            notebook.note(place, f"there is no column {name}", f"add a column with the header {name}")

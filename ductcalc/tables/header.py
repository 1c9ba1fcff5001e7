"""The header row of a table: column words, letters and units."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ductcalc.errors import Place
from ductcalc.tables.limits import MOST_COLUMNS
from ductcalc.tables.notebook import Notebook
from ductcalc.tables.words import HEADER_DIMENSIONS, guess, likely, word_key
from ductcalc.units import Unit, UnreadableError, header_unit, quoted, visible

_WITH_UNIT = re.compile(r"([^\[(]*)[\[(]([^\])]*)[\])]\s*")


@dataclass(frozen=True)
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


@dataclass(frozen=True)
class Header:
    """The columns in order, None for one that means nothing.

    sound: all that is needed is there, and every name is known, mistyped or not. unnamed: blank ones, from 0.
    """

    columns: tuple[Column | None, ...]
    sound: bool
    unnamed: tuple[int, ...] = ()


@dataclass(frozen=True)
class _Title:
    """One header cell such as `size [in]`: its word, its unit's text and its place."""

    cell: str
    word: str
    unit: str
    place: Place


def read_header(
    cells: Sequence[str], place: Place, known: Sequence[str], required: Sequence[str], notebook: Notebook
) -> Header:
    """Return the columns; note every problem. A mistyped column is noted and read on as the nearest one."""
    width = max((index for index, cell in enumerate(cells, start=1) if cell.strip()), default=0)
    cells = cells[:width]
    titles = [_title(cell, replace(place, letter=letter_of(index))) for index, cell in enumerate(cells)]
    if (what := _no_header(titles, known)) is not None:
        notebook.note(place, f"this row {what}: it is no header", f"write a header row: {','.join(known)}")
        return Header((None,) * len(titles), False)
    columns: list[Column | None] = []
    for title in titles:
        columns.append(_known_column(title, columns, known, notebook))
    for index, title in enumerate(titles):
        if title.word and title.word not in known:
            columns[index] = _meant_column(title, columns, known, notebook)
    present = {column.name for column in columns if column}
    missing = [name for name in required if name not in present]
    for name in missing:
        notebook.note(place, f"there is no column {name}", f"add a column with the header {name}")
    unnamed = tuple(index for index, title in enumerate(titles) if not title.word)
    riddles = any(column is None for index, column in enumerate(columns) if index not in unnamed)
    return Header(tuple(columns), not missing and not riddles, unnamed)


def _no_header(titles: Sequence[_Title], known: Sequence[str]) -> str | None:
    """Say why a row cannot be a header; None when it can, with mistyped words too."""
    if len(titles) > MOST_COLUMNS:
        return f"has {len(titles)} columns"
    if any(title.word in known for title in titles):
        return None
    meant = sum(likely(title.word, known) is not None for title in titles)
    return "names no known column" if 2 * meant < len(titles) else None


def is_header(cells: Mapping[str, str]) -> bool:
    """Tell whether cells (by column word) are the header row once more, as where two files were joined."""
    return len(cells) > 1 and all(_word_and_unit(cell)[0] == name for name, cell in cells.items())


def _title(cell: str, place: Place) -> _Title:
    word, unit = _word_and_unit(cell)
    return _Title(cell, word, unit, replace(place, column=visible(cell.strip()) or None))


def _word_and_unit(cell: str) -> tuple[str, str]:
    found = _WITH_UNIT.fullmatch(cell.strip())
    text, unit = (found[1], found[2].strip()) if found else (cell, "")
    return word_key(text), unit


def _known_column(
    title: _Title, before: Sequence[Column | None], known: Sequence[str], notebook: Notebook
) -> Column | None:
    if title.word not in known:
        return None
    if any(column.name == title.word for column in before if column):
        notebook.note(title.place, f"column {title.word} stands twice", "keep one of the two", title.cell)
        return None
    return Column(title.word, title.place.letter, _unit(title.word, title, notebook))


def _meant_column(
    title: _Title, columns: Sequence[Column | None], known: Sequence[str], notebook: Notebook
) -> Column | None:
    """Note an unknown column; return the one that was likely meant, if it is not there already."""
    what = f"no column is named {quoted(title.cell.strip())}"
    notebook.note(title.place, what, guess(title.word, known), title.cell)
    meant = likely(title.word, known)
    if meant is None or any(column.name == meant for column in columns if column):
        return None
    return Column(meant, title.place.letter, _unit(meant, title, notebook))


def _unit(name: str, title: _Title, notebook: Notebook) -> Unit | None:
    """Return the unit of a header; note one that does not fit the column."""
    if not title.unit:
        return None
    dimensions = HEADER_DIMENSIONS.get(name)
    if dimensions is None:
        notebook.note(title.place, f"column {name} has no unit", f"write the header as {name}", title.cell)
        return None
    try:
        return header_unit(title.unit, *dimensions)
    except UnreadableError as error:
        notebook.note_unreadable(title.place, error, title.cell)
        return None

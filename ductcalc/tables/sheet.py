"""A table as read: columns with letters and header units, rows with places."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from ductcalc.errors import Notebook, Place
from ductcalc.tables.files import (
    SEPARATORS,
    Record,
    announced_separator,
    is_comment,
    lines_of,
    records,
    split_line,
)
from ductcalc.tables.limits import LONGEST_LINE, MOST_COLUMNS, MOST_ROWS
from ductcalc.tables.words import HEADER_DIMENSIONS, column_hint, column_meant, listed, word_key
from ductcalc.units import Dimension, Unit, UnreadableError, header_unit, quoted, read, visible

_AROUND = " \t\r\n\u00a0\u2007\u2009\u202f\u3000\u200b\u200e\u200f\u2060\ufeff"
_BLANK_END = " \t\r\n,;"
_WHOLE = re.compile(r"[-+]?\d+")
_DECIMALS = re.compile(r"(\d+)(?![\d.,/])[^\d]*(?:\d[^\d]*)?")
_WITH_UNIT = re.compile(r"([^\[(]*)[\[(]([^\])]*)[\])]\s*")


class SheetRow(NamedTuple):
    """One data row: its number and its cells that are not blank, by column."""

    number: int
    cells: Mapping[str, str]


@dataclass
class Sheet:
    """A table of one file.

    separator: what parts its cells; None for rows given in code.
    header_sound: every column that is needed is there, and no column is a riddle.
    told: columns whose lack was told once already.
    """

    file: str
    columns: Mapping[str, SheetColumn]
    rows: list[SheetRow] = field(default_factory=list)
    comments: list[SheetRow] = field(default_factory=list)
    separator: str | None = None
    header_sound: bool = True
    remarks: tuple[str, ...] = ()
    told: set[str] = field(default_factory=set)

    @property
    def decimal_commas(self) -> bool:
        """Whether it is parted by semicolons, where a point may part thousands."""
        return self.separator == ";"

    def place(self, row: int, column: str | None = None) -> Place:
        """Return the place of a row or of a cell."""
        known = self.columns.get(column) if column else None
        return Place(self.file, row, column, known.letter if known else None)


def read_sheet(
    text: str, file: str, known: Sequence[str], required: Sequence[str], notebook: Notebook
) -> Sheet | None:
    """Read a table's text; note every problem. None when there is no header to read rows by."""
    text = text.rstrip(_BLANK_END)
    if max(text.count("\n"), text.count("\r")) > MOST_ROWS:
        hint = "a shop's table has some hundred: check that this is the right file, and delete rows that hold nothing"
        notebook.note(Place(file), f"the table has more than {MOST_ROWS} rows", hint)
        return None
    lines = lines_of(text)
    separator = announced_separator(lines[0])
    if separator is not None:
        lines = lines[1:]
    header_line = next((line for line in lines if line.strip() and not is_comment(line)), None)
    if header_line is None:
        what = "the file holds no header: comments only, or blank rows"
        notebook.note(Place(file), what, f"write a header row: {','.join(known)}")
        return None
    header_line = header_line.rstrip(_BLANK_END)
    if len(header_line) > LONGEST_LINE:
        what = f"the first row has {len(header_line)} characters: it is no header"
        notebook.note(Place(file), what, f"write a header row: {','.join(known)}")
        return None
    separator = separator or _separator(header_line, known)
    entries = records(lines, separator)
    comments, header = _up_to_header(entries)
    columns = read_header(header.cells, Place(file, header.row), known, required, notebook, strange_allowed=True)
    named = {column.name: column for column in columns.columns if column}
    if not named:
        return None
    sheet = Sheet(file, named, separator=separator, header_sound=columns.sound)
    sheet.remarks = tuple(
        f"{file}: column {column.name} ({column.letter}) is not one of this table's and is not read"
        for column in columns.strange
    )
    _fill(sheet, columns, [*comments, *entries], notebook)
    if not sheet.rows:
        notebook.note(
            Place(file, header.row),
            "there is a header but no row below it",
            "write one row for each piece or point",
        )
    return sheet


def sheet_of_mappings(
    rows: Iterable[Mapping[str, object]],
    file: str,
    known: Sequence[str],
    required: Sequence[str],
    notebook: Notebook,
) -> Sheet | None:
    """Make a sheet of rows given in code; rows count from 1. None when there is no row."""
    given = [dict(row) for row in rows]
    titles = tuple(dict.fromkeys(title for row in given for title in row))
    if not given:
        notebook.note(Place(file), "no row is given", "give one mapping for each piece")
        return None
    columns = read_header(titles, Place(file), known, required, notebook, strange_allowed=False)
    named = {c.name: SheetColumn(c.name, None, c.unit) for c in columns.columns if c}
    sheet = Sheet(file, named, header_sound=columns.sound)
    for number, row in enumerate(given, start=1):
        cells = tuple("" if row.get(title) is None else str(row.get(title)) for title in titles)
        _add_row(sheet, columns, Record(number, cells), notebook)
    return sheet


def _separator(header_line: str, known: Sequence[str]) -> str:
    """Return the separator that makes the most known column words of the header line."""

    def hits(separator: str) -> tuple[int, int]:
        cells = split_line(header_line, separator)
        return sum(word_key(cell.partition("[")[0].partition("(")[0]) in known for cell in cells), len(cells)

    return max(SEPARATORS, key=hits)


def _up_to_header(entries: Iterable[Record]) -> tuple[list[Record], Record]:
    """Take the comments and the header from the front of the records."""
    comments: list[Record] = []
    for record in entries:
        if not record.comment:
            return comments, record
        comments.append(record)
    raise AssertionError("a header line was seen before")


def _fill(sheet: Sheet, header: Header, entries: Iterable[Record], notebook: Notebook) -> None:
    for record in entries:
        if record.fault is not None:
            notebook.note(
                sheet.place(record.row),
                f"the quotes of this row do not close: {quoted(record.fault)}",
                'put such a cell between quotes and double the inner ones, or write 6 in instead of 6"',
                record.fault,
            )
        elif record.comment:
            cells = (record.cells[0].lstrip(' "#\u00a0'), *record.cells[1:])
            sheet.comments.append(SheetRow(record.row, _named(header.columns, cells)))
        else:
            _add_row(sheet, header, _without_decimal_commas(sheet, header, record, notebook), notebook)


def _without_decimal_commas(sheet: Sheet, header: Header, record: Record, notebook: Notebook) -> Record:
    """Note each number whose decimal comma parted it into two cells, and return the row with a point instead.

    Parted was a whole number under a column that measures something, if the next cell goes on with digits that have no
    business there: its column measures something else or nothing, or the row has more cells than the header.
    """
    if sheet.separator != ",":
        return record
    cells = list(record.cells)
    for index, column in enumerate(header.columns):
        if index + 1 >= len(cells) or column is None or not _parted(header, cells, index):
            continue
        whole, rest = cells[index].strip(_AROUND), cells[index + 1].strip(_AROUND)
        digits = _DECIMALS.fullmatch(rest)
        thousands = digits is not None and len(digits[1]) == 3
        point = f"{whole}.{rest}"
        notebook.note(
            sheet.place(record.row, column.name),
            f"{quoted(f'{whole},{rest}')} fell into two cells: a comma parts the columns of this file",
            f"write {whole}{rest} or {point}, whichever was meant" if thousands else f"write {point} with a point",
            f"{whole},{rest}",
        )
        cells[index : index + 2] = [f"{whole}{rest}" if thousands else point]
    return record._replace(cells=tuple(cells))


def _parted(header: Header, cells: Sequence[str], index: int) -> bool:
    """Tell whether a cell and the next one are one number with a decimal comma."""
    column, beside = header.columns[index], dict(enumerate(header.columns)).get(index + 1)
    measures = HEADER_DIMENSIONS.get(column.name, ()) if column else ()
    whole, rest = cells[index].strip(_AROUND), cells[index + 1].strip(_AROUND)
    if not measures or not _WHOLE.fullmatch(whole) or not _DECIMALS.fullmatch(rest):
        return False
    if len(cells) > header.cells:
        return True
    return _is_one_of(rest, measures) and not _is_one_of(rest, HEADER_DIMENSIONS.get(beside.name, ()) if beside else ())


def _is_one_of(text: str, dimensions: Sequence[Dimension]) -> bool:
    """Tell whether a text is a quantity with a unit of one of the dimensions."""
    try:
        return bool(dimensions) and read(text, tuple(dimensions)).unit is not None
    except UnreadableError:
        return False


def _named(columns: Sequence[SheetColumn | None], cells: Sequence[str]) -> dict[str, str]:
    """Return the cells that are not blank by the name of their column."""
    named = {}
    for column, cell in zip(columns, cells, strict=False):
        text = _plain(cell)
        if text and column is not None:
            named[column.name] = text
    return named


def _plain(cell: str) -> str:
    """Return a cell's text without blanks around it; `="6 in"`, a formula that only keeps a text, is that text."""
    text = cell.strip(_AROUND)
    kept = text[2:-1] if text.startswith('="') and text.endswith('"') else ""
    return kept.strip(_AROUND) if kept and '"' not in kept else text


def _add_row(sheet: Sheet, header: Header, record: Record, notebook: Notebook) -> None:
    """Add a data row; note its first cell that stands under no column name, and a header that comes again."""
    cells = _named(header.columns, record.cells)
    for name in [name for name, cell in cells.items() if len(cell) > LONGEST_LINE]:
        cell = cells.pop(name)
        what = f"{quoted(cell)} is no cell of a table"
        notebook.note(sheet.place(record.row, name), what, "write what belongs here, or leave the cell blank", cell)
    if is_header(cells):
        hint = "remove this row: one header at the top is enough"
        notebook.note(sheet.place(record.row), "the header stands here once more", hint)
        return
    width = len(header.columns)
    for index in (*header.unnamed, *range(width, len(record.cells))):
        text = record.cells[index].strip(_AROUND) if index < len(record.cells) else ""
        if text:
            notebook.note(
                Place(sheet.file, record.row, letter=letter_of(index)),
                f"{quoted(text)} stands in column {letter_of(index)}, which has no name",
                "remove it or name the column; a cell with a separator or a decimal comma in it needs quotes",
                text,
            )
            break
    sheet.rows.append(SheetRow(record.row, cells))


class SheetColumn(NamedTuple):
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


class Header(NamedTuple):
    """The columns in order, None for one that means nothing.

    sound: all that is needed is there, and every name is known, mistyped or not. unnamed: blank ones, from 0.
    cells: how many stand in the header's row, blank ones at its end included. strange: columns that are not read.
    """

    columns: tuple[SheetColumn | None, ...]
    sound: bool
    unnamed: tuple[int, ...] = ()
    cells: int = 0
    strange: tuple[SheetColumn, ...] = ()


class _Title(NamedTuple):
    """One header cell such as `size [in]`: its word, its unit's text and its place."""

    cell: str
    word: str
    unit: str
    place: Place


def read_header(
    cells: Sequence[str],
    place: Place,
    known: Sequence[str],
    required: Sequence[str],
    notebook: Notebook,
    strange_allowed: bool,
) -> Header:
    """Return the columns; note every problem. A mistyped column is noted and read on as the nearest one.

    strange_allowed: a column near no known one is passed over; else it is noted as well.
    """
    written = len(cells)
    width = max((index for index, cell in enumerate(cells, start=1) if cell.strip()), default=0)
    cells = cells[:width]
    titles = [_title(cell, replace(place, letter=letter_of(index))) for index, cell in enumerate(cells)]
    if (what := _no_header(titles, known)) is not None:
        notebook.note(place, f"this row {what}: it is no header", f"write a header row: {','.join(known)}")
        return Header((None,) * len(titles), False)
    columns: list[SheetColumn | None] = []
    strange: dict[int, SheetColumn] = {}
    for title in titles:
        columns.append(_known_column(title, columns, known, notebook))
    for index, title in enumerate(titles):
        if not title.word or title.word in known:
            continue
        if strange_allowed and column_meant(title.word, known, [c.name for c in columns if c]) is None:
            strange[index] = SheetColumn(visible(title.cell.strip()), title.place.letter)
        else:
            columns[index] = _meant_column(title, columns, known, notebook)
    present = {column.name for column in columns if column}
    missing = [name for name in required if name not in present]
    for name in missing:
        notebook.note(place, f"there is no column {name}", f"add a column with the header {name}")
    unnamed = tuple(index for index, title in enumerate(titles) if not title.word)
    passed_over = {*unnamed, *strange}
    riddles = any(column is None for index, column in enumerate(columns) if index not in passed_over)
    return Header(tuple(columns), not missing and not riddles, unnamed, written, tuple(strange.values()))


def _no_header(titles: Sequence[_Title], known: Sequence[str]) -> str | None:
    """Say why a row cannot be a header; None when it can, with mistyped words too."""
    if len(titles) > MOST_COLUMNS:
        return f"has {len(titles)} columns"
    if any(title.word in known for title in titles):
        return None
    meant = sum(column_meant(title.word, known) is not None for title in titles)
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
    title: _Title, before: Sequence[SheetColumn | None], known: Sequence[str], notebook: Notebook
) -> SheetColumn | None:
    if title.word not in known:
        return None
    if any(column.name == title.word for column in before if column):
        notebook.note(title.place, f"column {title.word} stands twice", "keep one of the two", title.cell)
        return None
    return SheetColumn(title.word, title.place.letter, _unit(title.word, title, notebook))


def _meant_column(
    title: _Title, columns: Sequence[SheetColumn | None], known: Sequence[str], notebook: Notebook
) -> SheetColumn | None:
    """Note an unknown column that is near a known one; return that one, if it is not there already."""
    present = [column.name for column in columns if column]
    meant = column_meant(title.word, known, present)
    hint = column_hint(meant) if meant else f"known are: {listed(known)}"
    notebook.note(title.place, f"no column is named {quoted(title.cell.strip())}", hint, title.cell)
    if meant is None or meant in present:
        return None
    return SheetColumn(meant, title.place.letter, _unit(meant, title, notebook))


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

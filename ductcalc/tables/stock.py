"""Lists of what lies around and of what things cost, as files or rows given in code, read like the duct table."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from ductcalc.errors import InputError
from ductcalc.shop.parts import Price, StockPart
from ductcalc.tables.cells import refuse_point_of_thousands
from ductcalc.tables.decoding import decode
from ductcalc.tables.locate import read_bytes, shown
from ductcalc.tables.notebook import Notebook
from ductcalc.tables.part_rows import read_part
from ductcalc.tables.sheet import Row, Sheet, read_sheet, sheet_of_mappings
from ductcalc.units import UnreadableError, parse_number, quoted

STOCK_COLUMNS = ("piece", "style", "size", "length", "angle", "radius", "count", "note")
STOCK_REQUIRED = ("piece", "size")
PRICE_COLUMNS = ("piece", "style", "size", "length", "angle", "radius", "price", "note")
PRICE_REQUIRED = ("piece", "price")
MOST_ALIKE = 10_000
Given = Path | str | Iterable[Mapping[str, object]]


def read_stock(given: Given) -> tuple[StockPart, ...]:
    """Return what lies around, from a CSV file or from rows (column word to text).

    Columns: piece, style, size, length, angle, radius, count, note. A blank stands for what it does in the duct table,
    a blank count for 1. Raises InputError with every problem.
    """
    return stock_and_remarks(given)[0]


def read_prices(given: Given) -> tuple[Price, ...]:
    """Return prices of parts, from a CSV file or from rows (column word to text).

    Columns: piece, style, size, length, angle, radius, price, note. A blank matches anything; the row that says most
    about a part counts. Raises InputError with every problem.
    """
    return prices_and_remarks(given)[0]


def stock_and_remarks(given: Given) -> tuple[tuple[StockPart, ...], tuple[str, ...]]:
    """Return what lies around, and what had to be decided about the file itself."""
    notebook = Notebook()
    sheet, file, remarks = _sheet(given, "stock", STOCK_COLUMNS, STOCK_REQUIRED, notebook)
    found = [_stock(sheet, row, notebook) for row in sheet.rows] if sheet else []
    notebook.close([file])
    return tuple(part for part in found if part is not None), remarks


def prices_and_remarks(given: Given) -> tuple[tuple[Price, ...], tuple[str, ...]]:
    """Return prices, and what had to be decided about the file itself."""
    notebook = Notebook()
    sheet, file, remarks = _sheet(given, "prices", PRICE_COLUMNS, PRICE_REQUIRED, notebook)
    found = prices_of(sheet, notebook) if sheet else ()
    notebook.close([file])
    return found, remarks


def prices_of(sheet: Sheet, notebook: Notebook) -> tuple[Price, ...]:
    """Return the prices of a sheet; note every problem."""
    found = (_price(sheet, row, notebook) for row in sheet.rows)
    return tuple(price for price in found if price is not None)


def _sheet(
    given: Given, name: str, known: Sequence[str], required: Sequence[str], notebook: Notebook
) -> tuple[Sheet | None, str, tuple[str, ...]]:
    """Return a list's sheet, the name of its file, and remarks."""
    if not isinstance(given, Path | str):
        return sheet_of_mappings(given, name, known, required, notebook), name, ()
    path = Path(given)
    try:
        text, remarks = decode(read_bytes(path), shown(path.name))
    except InputError as error:
        notebook.extend(error.problems)
        return None, shown(path.name), ()
    sheet = read_sheet(text, shown(path.name), known, required, notebook)
    return sheet, shown(path.name), (*remarks, *(sheet.remarks if sheet else ()))


def _stock(sheet: Sheet, row: Row, notebook: Notebook) -> StockPart | None:
    part = read_part(sheet, row, notebook, blanks_are_open=False)
    count = _count(sheet, row, notebook)
    return None if part is None or count is None else StockPart(part.name, count, part.length_m, part.place)


def _count(sheet: Sheet, row: Row, notebook: Notebook) -> int | None:
    text = row.cells.get("count")
    if text is None:
        return 1
    number = _number(text)
    if number is None or number != int(number) or not 0 <= number <= MOST_ALIKE:
        place = sheet.place(row.number, "count")
        notebook.note(place, f"{quoted(text)} is no number of pieces", "count whole pieces: 1, 2, 3", text)
        return None
    return int(number)


def _number(text: str) -> float | None:
    try:
        return parse_number(text)
    except UnreadableError:
        return None


def _price(sheet: Sheet, row: Row, notebook: Notebook) -> Price | None:
    part = read_part(sheet, row, notebook, blanks_are_open=True)
    text, place = row.cells.get("price"), sheet.place(row.number, "price")
    if text is None:
        if "price" in sheet.columns:
            notebook.note(place, "this row has no price", "write what one piece as sold costs, for example 12.50")
        return None
    price = _number(text)
    if price is None or price < 0.0:
        hint = "write the number alone, 0 or more and without a sign for the money, for example 12.50"
        notebook.note(place, f"{quoted(text)} is no price", hint, text)
        return None
    try:
        if sheet.decimal_commas:
            refuse_point_of_thousands(text)
    except UnreadableError as error:
        notebook.note_unreadable(place, error, text)
        return None
    return None if part is None else Price(part.name, price, part.length_m, part.place)

"""Lists of what lies around and of what things cost, as files or rows given in code, read like the duct table."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple, cast, get_args

from ductcalc.catalog import default_style, style_key
from ductcalc.errors import InputError, Notebook, Place
from ductcalc.shop.bore import RECTANGULAR, sides
from ductcalc.shop.kinds import TRAITS, PartKind, PieceKind
from ductcalc.shop.parts import BY_LENGTH, PartName, Price, StockPart
from ductcalc.tables import cells
from ductcalc.tables.files import decode, read_bytes, shown
from ductcalc.tables.sheet import Sheet, SheetRow, read_sheet, sheet_of_mappings
from ductcalc.tables.words import guess, style, with_article, word_key
from ductcalc.units import Unit, UnreadableError, parse_number, quoted, read

STOCK_COLUMNS = ("piece", "style", "size", "length", "angle", "radius", "count", "note")
STOCK_REQUIRED = ("piece", "size")
PRICE_COLUMNS = ("piece", "style", "size", "length", "angle", "radius", "price", "note")
PRICE_REQUIRED = ("piece", "price")
MOST_ALIKE = 10_000
Given = Path | str | Iterable[Mapping[str, object]]
PART_WORDS: dict[str, PartKind] = {kind: kind for kind in get_args(PartKind) if kind not in ("other", "port")}
"""Parts that a row may name: a port is its machine's own, and a piece named other is known by its row alone."""
OWNERS: dict[str, frozenset[PartKind]] = {
    "style": frozenset({"pipe", "coupling", "elbow", "wye", "gate", "cap"}),
    "size": frozenset(PART_WORDS.values()) - {"sealant"},
    "length": BY_LENGTH,
    "angle": frozenset({"elbow", "reducer", "wye"}),
    "radius": frozenset({"elbow"}),
}
SIZES_AT_MOST = 6
HOSE = "hose"
_BETWEEN_SIZES = re.compile(r"\s*(?:\bx\b|(?<=[\s\d\"'])x(?=[\s\d])|×|\bto\b|\+)\s*", re.IGNORECASE)
_BETWEEN_ENDS = re.compile(r"\s+to\s+", re.IGNORECASE)
_BARE_NUMBER = re.compile(r"[\d.,/\s½¼¾⅛⅜⅝⅞]+")
_STYLED_LIKE: dict[PartKind, PieceKind] = {"pipe": "pipe", "coupling": "pipe", "elbow": "elbow", "wye": "wye"}
_OTHER_WORDS = {"hose clamp": "clamp", "strap": "hanger", "tube": "sealant", "mastic": "sealant", "sleeve": "coupling"}


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
    sheet, file, remarks = list_sheet(given, "stock", STOCK_COLUMNS, STOCK_REQUIRED, notebook)
    found = [_stock(sheet, row, notebook) for row in sheet.rows] if sheet else []
    notebook.close([file])
    return tuple(part for part in found if part is not None), remarks


def prices_and_remarks(given: Given) -> tuple[tuple[Price, ...], tuple[str, ...]]:
    """Return prices, and what had to be decided about the file itself."""
    notebook = Notebook()
    sheet, file, remarks = list_sheet(given, "prices", PRICE_COLUMNS, PRICE_REQUIRED, notebook)
    found = prices_of(sheet, notebook) if sheet else ()
    notebook.close([file])
    return found, remarks


def prices_of(sheet: Sheet, notebook: Notebook) -> tuple[Price, ...]:
    """Return the prices of a sheet; note every problem."""
    found = (_price(sheet, row, notebook) for row in sheet.rows)
    return tuple(price for price in found if price is not None)


def list_sheet(
    given: Given, name: str, known: Sequence[str], required: Sequence[str], notebook: Notebook
) -> tuple[Sheet | None, str, tuple[str, ...]]:
    """Return a list's sheet, the name of its file, and remarks."""
    if not isinstance(given, Path | str):
        return sheet_of_mappings(given, name, known, required, notebook), name, ()
    path = Path(given)
    named = shown(path.name or path)
    try:
        text, remarks = decode(read_bytes(path), named)
    except InputError as error:
        notebook.extend(error.problems)
        return None, named, ()
    sheet = read_sheet(text, named, known, required, notebook)
    return sheet, named, (*remarks, *(sheet.remarks if sheet else ()))


def _stock(sheet: Sheet, row: SheetRow, notebook: Notebook) -> StockPart | None:
    part = read_part(sheet, row, notebook, blanks_are_open=False)
    count = _count(sheet, row, notebook)
    return None if part is None or count is None else StockPart(part.name, count, part.length_m, part.place)


def _count(sheet: Sheet, row: SheetRow, notebook: Notebook) -> int | None:
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


def _price(sheet: Sheet, row: SheetRow, notebook: Notebook) -> Price | None:
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
            cells.refuse_point_of_thousands(text)
    except UnreadableError as error:
        notebook.note_unreadable(place, error, text)
        return None
    return None if part is None else Price(part.name, price, part.length_m, part.place)


class PartRow(NamedTuple):
    """A part and the length [m] of each, if one is written."""

    name: PartName
    length_m: float | None
    place: Place


def read_part(sheet: Sheet, row: SheetRow, notebook: Notebook, blanks_are_open: bool) -> PartRow | None:
    """Return the part that a row names, None when a problem was noted.

    blanks_are_open: a blank matches anything, as in a price; else it stands for what the duct table's blank does.
    """
    before = len(notebook.problems)
    kind = _kind(sheet, row, notebook)
    if kind is None:
        return None
    values = _values(sheet, row, kind, notebook)
    if not blanks_are_open:
        _note_missing(sheet, row, kind, notebook)
    if len(notebook.problems) > before:
        return None
    name = _name(kind, values) if blanks_are_open else _filled(_name(kind, values))
    try:
        _refuse_sizes(name)
    except UnreadableError as error:
        notebook.note_unreadable(sheet.place(row.number, "size"), error, row.cells.get("size"))
        return None
    length = cast("float | None", values.get("length"))
    return PartRow(name, length, sheet.place(row.number))


def _kind(sheet: Sheet, row: SheetRow, notebook: Notebook) -> PartKind | None:
    text, place = row.cells.get("piece"), sheet.place(row.number, "piece")
    if text is None:
        if "piece" in sheet.columns:
            notebook.note(place, "this row names no piece", f"write one of: {', '.join(PART_WORDS)}")
        return None
    found = "flex" if word_key(text) == HOSE else PART_WORDS.get(word_key(text))
    if found is None:
        other = _OTHER_WORDS.get(word_key(text))
        hint = f"did you mean {other}?" if other else guess(text, PART_WORDS)
        notebook.note(place, f"no part is named {quoted(text)}", hint, text)
    return found


def _values(sheet: Sheet, row: SheetRow, kind: PartKind, notebook: Notebook) -> dict[str, object]:
    """Return the cells of a row that tell what the part is; each unreadable or misplaced one is noted."""
    values: dict[str, object] = {}
    for column, owners in OWNERS.items():
        text = row.cells.get(column)
        if text is None:
            continue
        place = sheet.place(row.number, column)
        if kind not in owners:
            said = f"{with_article(kind)} has no {column}, but {quoted(text)} is written"
            hint = f"leave it blank; {column} belongs to {', '.join(sorted(owners))}"
            notebook.note(place, said, hint, text)
            continue
        named = "make" if column == "style" and _is_make(kind, text) else column
        try:
            values[named] = _value(column, text, kind, sheet.columns[column].unit)
        except UnreadableError as error:
            notebook.note_unreadable(place, error, text)
    return values


def _is_make(kind: PartKind, text: str) -> bool:
    """Whether a style is the make of pipe that a gate or cap is put on, or a wye that is told by no build."""
    return kind in ("gate", "cap") or (kind == "wye" and style_key("wye", text) is None)


def _value(column: str, text: str, kind: PartKind, unit: Unit | None) -> object:
    if column == "style" and kind == "wye" and style_key("pipe", text) is not None:
        return style("pipe", text)
    if column == "style" and kind == "coupling" and word_key(text) == HOSE:
        return HOSE
    if column == "style":
        return style(_STYLED_LIKE.get(kind, "pipe"), text)
    if column == "size":
        return sizes(text, unit, kind)
    if column == "length":
        return _length(text, unit)
    if column == "angle":
        return cells.angles(text, unit, cast("PieceKind", kind))
    return cells.radius(text)


def _length(text: str, unit: Unit | None) -> float:
    """Return the length [m] of one piece; `3 x 10 ft` belongs into count and length."""
    if re.match(r"\s*\d+\s*[x×*]", text):
        raise UnreadableError(f"{quoted(text)} is several pieces", "write the length of one, and how many in count")
    length = cells.length(text, unit)
    if length == 0.0:
        raise UnreadableError(f"{quoted(text)} is no length of a part", 'write for example "7 ft 6 in"')
    return length


def sizes(text: str, unit: Unit | None, kind: PartKind) -> tuple[float, ...]:
    """Return inside diameters [m] parted by x, to or +; a bare number has the unit of the last one.

    Of a pipe `10 x 4 in` is a rectangle, of a reducer `10 x 4 in to 6 in`.
    """
    ends = _BETWEEN_ENDS.split(text.strip())
    if kind == "pipe" or (len(ends) == 2 and any(map(cells.has_sides, ends))):
        return tuple(cells.size(end, unit, kind) for end in ends)
    parts = [part for part in _BETWEEN_SIZES.split(text.strip()) if part]
    if not parts or len(parts) > SIZES_AT_MOST:
        raise UnreadableError(
            f"{quoted(text)} is not the size of a part", 'write for example "6 in", or "6 in x 6 in x 4 in" for a wye'
        )
    common = unit or (read(parts[-1], ("length",), None).unit if len(parts) > 1 else None)
    return tuple(cells.size(part, common if _BARE_NUMBER.fullmatch(part) else unit) for part in parts)


def _note_missing(sheet: Sheet, row: SheetRow, kind: PartKind, notebook: Notebook) -> None:
    needed = {"size": 'write the inside diameter, for example "6 in"'} if kind in OWNERS["size"] else {}
    if kind in OWNERS["length"]:
        needed["length"] = 'write the length of each, for example "7 ft 6 in"'
    for column, hint in needed.items():
        if column not in row.cells and column not in sheet.told:
            place = sheet.place(row.number, column)
            notebook.note(place, f"{with_article(kind)} needs its {column}", hint)
            if column not in sheet.columns:
                sheet.told.add(column)


def _name(kind: PartKind, values: Mapping[str, object]) -> PartName:
    bores = cast("tuple[float, ...]", values.get("size", ()))
    if kind in ("reducer", "adapter"):
        bores = tuple(sorted(bores))
    return PartName(
        kind=kind,
        style=cast("str | None", values.get("style")),
        sizes_m=bores,
        angles_deg=cast("tuple[float, ...]", values.get("angle", ())),
        radius=cast("float | None", values.get("radius")),
        make=cast("str | None", values.get("make")),
    )


def _filled(name: PartName) -> PartName:
    """Return a part with what a blank stands for; a wye of one size has it at every end."""
    style_of, angles, bores = name.style, name.angles_deg, name.sizes_m
    if name.kind in ("pipe", "coupling", "elbow"):
        usual = RECTANGULAR if any(map(sides, bores)) else default_style(_STYLED_LIKE[name.kind])
        style_of = style_of or usual
    if name.kind == "elbow" or name.kind == "reducer" or name.kind == "wye":
        angles = angles or TRAITS[name.kind].usual_deg
    if name.kind == "wye":
        bores = bores * (2 + len(angles)) if len(bores) == 1 else bores
        angles = angles * (len(bores) - 2) if len(angles) == 1 and len(bores) > 2 else angles
    return PartName(name.kind, style_of, bores, angles, name.radius, name.make)


def _refuse_sizes(name: PartName) -> None:
    """Refuse a number of sizes that the part cannot have."""
    count = len(name.sizes_m)
    if name.tapers and count not in (0, 2):
        raise UnreadableError(
            f"{with_article(name.kind)} has two sizes, {count} given", 'write both ends, for example "5 in x 4 in"'
        )
    uneven = count > 2 and len(name.angles_deg) > 1 and len(name.angles_deg) != count - 2
    if name.kind == "wye" and (count == 2 or uneven):
        raise UnreadableError(
            f"a wye has an outlet, a straight inlet and its branches; {count} sizes do not fit its angles",
            'write for example "6 in x 6 in x 4 in" with one angle, or "6 in x 6 in x 4 in x 4 in" with 30 + 30',
        )
    if not name.tapers and name.kind != "wye" and count > 1:
        raise UnreadableError(f"{with_article(name.kind)} has one size, {count} given", 'write for example "6 in"')

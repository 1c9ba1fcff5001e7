"""Writes a shop anew with other sizes: the duct table row by row as it was, with only its size cells changed."""

from __future__ import annotations

import csv
from dataclasses import replace
from io import StringIO
from pathlib import Path

from ductcalc.errors import InputError, Place, Problem
from ductcalc.shop import Piece, Run, Shop
from ductcalc.shop.hanging import settled_bores
from ductcalc.tables.decoding import decode
from ductcalc.tables.locate import COLLECTOR, DUCT, SETTINGS, ShopFiles, locate, read_bytes
from ductcalc.tables.new_files import refuse_to_overwrite, write_shop
from ductcalc.tables.reader import read_shop
from ductcalc.tables.records import SEPARATORS, announced_separator, lines_of
from ductcalc.units.closed_list import INCH_M

SAME_M = 1e-7
SIXTEENTHS, MILLIMETRE_M = 16.0, 0.001


def write_sized(source: Path, collector: Path | None, sized: Shop, folder: Path) -> list[Path]:
    """Write a shop that was read from `source` into another folder, with the sizes of `sized`; return the paths.

    Comments, notes and all other cells stay as they are, settings and collector are copied. The new shop is read again:
    its bores must be those of `sized`. Nothing is ever overwritten.
    Raises InputError when a file is there, the folder cannot be written, or the table cannot be changed row by row.
    """
    refuse_to_overwrite(folder)
    files = locate(source, collector)
    shop = read_shop(source, collector)
    data = {DUCT: _changed_table(files, _cells(shop, sized), shop).encode("utf-8")}
    for path, name in ((files.collector, COLLECTOR), (files.settings, SETTINGS)):
        if path is not None:
            data[name] = read_bytes(path)
    return write_shop(folder, data, lambda draft: _verify(draft, shop, sized))


def _cells(shop: Shop, sized: Shop) -> dict[int, str]:
    """Return the size cells to write, by row: where another size holds now, or a blank carried one on that changed."""
    found: dict[int, str] = {}
    for before, after in zip(shop.runs, sized.runs, strict=True):
        old, new = _bores(before), _bores(after)
        if all(abs(a - b) < SAME_M for a, b in zip(old, new, strict=True)):
            continue
        for piece, was, bore in zip(before.pieces, old, new, strict=True):
            if piece.place is not None and piece.place.row is not None and _differs(piece, was, bore):
                found[piece.place.row] = size_text(bore)
    return found


def _bores(run: Run) -> list[float]:
    if all(piece.size_m is None for piece in run.pieces):
        return []
    return settled_bores(run.pieces)


def _differs(piece: Piece, was_m: float, bore_m: float) -> bool:
    return piece.size_m is None or abs(was_m - bore_m) >= SAME_M


def size_text(bore_m: float) -> str:
    """Return a bore [m] as a size cell: inches when it is a whole number of sixteenths, else millimetres.

    >>> size_text(0.127), size_text(0.125)
    ('5 in', '125 mm')
    """
    inches = bore_m / INCH_M
    if abs(inches * SIXTEENTHS - round(inches * SIXTEENTHS)) < 1e-6:
        return f"{round(inches * SIXTEENTHS) / SIXTEENTHS:.10g} in"
    return f"{round(bore_m / MILLIMETRE_M, 6):.10g} mm"


def _changed_table(files: ShopFiles, cells: dict[int, str], shop: Shop) -> str:
    """Return the text of the duct table with its size cells changed."""
    text, _ = decode(read_bytes(files.duct), files.duct.name)
    lines = lines_of(text)
    announced = announced_separator(lines[0])
    first = 1 if announced else 0
    separator = announced or _separator(lines, min(cells, default=1))
    column = shop.table.columns.get("size")
    letter = "" if column is None else column.letter or ""
    place = _index(letter)
    for row, cell in cells.items():
        text_cell = cell.replace(".", ",") if shop.table.decimal_commas else cell
        lines[first + row - 1] = _with_cell(lines[first + row - 1], separator, place, text_cell, files.duct.name, row)
    return "\n".join(lines)


def _separator(lines: list[str], row: int) -> str:
    """Return the separator that parts a row into most cells."""
    return max(SEPARATORS, key=lambda separator: len(_split(lines[row - 1], separator)))


def _split(line: str, separator: str) -> list[str]:
    return next(csv.reader([line], delimiter=separator), [])


def _index(letter: str) -> int:
    """Return the place of a spreadsheet's column from 0, -1 without a letter."""
    place = 0
    for sign in letter:
        place = place * 26 + ord(sign) - ord("A") + 1
    return place - 1


def _with_cell(line: str, separator: str, place: int, cell: str, file: str, row: int) -> str:
    cells = _split(line, separator)
    if place < 0 or line.count('"') % 2:
        hint = "a table whose cells run over several lines cannot be changed row by row; nothing was written"
        raise InputError([Problem("this row's size cannot be written", hint, Place(file, row, "size"))])
    cells += [""] * (place + 1 - len(cells))
    cells[place] = cell
    target = StringIO()
    csv.writer(target, delimiter=separator, lineterminator="").writerow(cells)
    return target.getvalue()


def _verify(folder: Path, shop: Shop, sized: Shop) -> None:
    """Read the new shop again; raise InputError when its bores are not those that were meant, or all else changed."""
    try:
        again = read_shop(folder)
        pairs = zip(again.runs, sized.runs, strict=True)
        same = _unsized(again) == _unsized(shop) and all(
            abs(a - b) < SAME_M for one, other in pairs for a, b in zip(_bores(one), _bores(other), strict=True)
        )
    except (InputError, ValueError):
        same = False
    if not same:
        hint = "change the sizes in your own table by the report; nothing was written"
        raise InputError([Problem("the table cannot be written row by row as it is", hint, Place(DUCT))])


def _unsized(shop: Shop) -> list[tuple[str, list[Piece]]]:
    """Return all that was written of the runs but sizes and places."""
    return [(run.name, [replace(piece, size_m=None, place=None) for piece in run.pieces]) for run in shop.runs]

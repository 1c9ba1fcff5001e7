"""Files written whole or not at all: a shop to begin with, and a shop anew with other sizes."""

from __future__ import annotations

import csv
import os
import shutil
import stat
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import replace
from errno import EACCES, EEXIST, ELOOP
from io import StringIO
from pathlib import Path
from secrets import token_hex
from tempfile import mkdtemp

from ductcalc.catalog.read import data_folder
from ductcalc.errors import InputError, Place, Problem
from ductcalc.shop import Piece, Run, Shop
from ductcalc.shop.bore import Rectangle
from ductcalc.shop.hanging import settled_bores
from ductcalc.tables.files import (
    COLLECTOR,
    DUCT,
    SEPARATORS,
    SETTINGS,
    ShopFiles,
    announced_separator,
    decode,
    lines_of,
    locate,
    read_bytes,
)
from ductcalc.tables.reader import read_shop
from ductcalc.units.closed_list import INCH_M, UnitSystem

SHOP_FILES = (DUCT, COLLECTOR, SETTINGS)
DRAFT = ".ductcalc-"
SAME_M = 1e-7
SIXTEENTHS, MILLIMETRE_M = 16.0, 0.001


def refuse_to_overwrite(folder: Path, names: Iterable[str] = SHOP_FILES) -> None:
    """Raise InputError when the folder holds one of these files already, by default any of a shop's."""
    taken = [name for name in names if os.path.lexists(folder / name)]
    if taken:
        hint = "choose another folder; nothing was written"
        raise InputError([Problem("this file is there already", hint, Place(str(folder / name))) for name in taken])


def write_shop(
    folder: Path, files: Mapping[str, bytes], verify: Callable[[Path], None] = lambda draft: None
) -> list[Path]:
    """Write a shop's files into a folder, made if need be; return their paths in the order given.

    They stand in a folder within it until all are written and `verify` has been called with that folder; whatever
    fails or breaks off, nothing is left. Nothing is ever overwritten. Raises InputError when a file is there or the
    folder cannot be written, and what `verify` raises.
    """
    refuse_to_overwrite(folder, files)
    made = _missing(folder)
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _by_a_draft(folder, files, verify, written)
    except BaseException as error:
        _take_away(written, made)
        if not isinstance(error, OSError):
            raise
        reason = (error.strerror or "unwritable").casefold()
        hint = "choose a folder that you may write to; nothing was written"
        raise InputError([Problem(f"the folder cannot be written: {reason}", hint, Place(str(folder)))]) from None
    return written


def _by_a_draft(
    folder: Path, files: Mapping[str, bytes], verify: Callable[[Path], None], written: list[Path]
) -> None:
    draft = Path(mkdtemp(prefix=DRAFT, dir=folder))
    try:
        for name, data in files.items():
            _fill(draft / name, data)
        verify(draft)
        for name in files:
            _name_anew(draft / name, folder / name)
            written.append(folder / name)
    finally:
        shutil.rmtree(draft, ignore_errors=True)


def _missing(folder: Path) -> list[Path]:
    """Return the folders that must be made for this one to be there, the innermost first."""
    return [one for one in (folder, *folder.parents) if not os.path.lexists(one)]


def _take_away(written: list[Path], made: list[Path]) -> None:
    for path in written:
        with suppress(OSError):
            path.unlink()
    for folder in made:
        with suppress(OSError):
            folder.rmdir()


def write_whole(path: Path, data: bytes, replace: bool = False) -> None:
    """Write one file; `replace`: one that is there gives way, its permissions stay, and a link to it stays a link.

    What is neither file nor free name, as a device or a pipe, is written into. Raises OSError, with nothing left;
    FileExistsError when the name is taken and may not be replaced.
    """
    if replace and path.exists() and not path.is_file():
        path.write_bytes(data)
        return
    target = Path(os.path.realpath(path)) if replace else path
    if replace and target.is_symlink():
        raise OSError(ELOOP, os.strerror(ELOOP), str(target))
    if replace and target.exists() and not os.access(target, os.W_OK):
        raise PermissionError(EACCES, os.strerror(EACCES), str(target))
    draft = target.with_name(f"{DRAFT}{token_hex(8)}.part")
    try:
        _fill(draft, data)
        if replace:
            _like(draft, target)
            draft.replace(target)
        else:
            _name_anew(draft, target)
    finally:
        draft.unlink(missing_ok=True)


def _fill(path: Path, data: bytes) -> None:
    """Write a file that must not be there yet, down to the disk."""
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _like(draft: Path, old: Path) -> None:
    """Give a file the owner, as far as that is allowed, and the permissions of the one it will replace."""
    with suppress(FileNotFoundError):
        was = old.stat()
        with suppress(OSError, AttributeError):
            os.chown(draft, was.st_uid, was.st_gid)
        draft.chmod(stat.S_IMODE(was.st_mode))


def _name_anew(draft: Path, target: Path) -> None:
    """Give a file its name, which must be free; where a disk has no links, it is looked up first."""
    try:
        os.link(draft, target)
    except FileExistsError:
        raise
    except OSError:
        if os.path.lexists(target):
            raise FileExistsError(EEXIST, os.strerror(EEXIST), str(target)) from None
        draft.rename(target)


def write_starter(folder: Path | str) -> list[Path]:
    """Write the starter shop's files into a folder, made if need be, and return their paths.

    Nothing is ever overwritten: if one of the files is there, or the folder cannot be written, InputError is
    raised and nothing is written.
    """
    return write_shop(Path(folder), {name: (data_folder() / "starter" / name).read_bytes() for name in SHOP_FILES})


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


@contextmanager
def sized_shop(source: Path, collector: Path | None, sized: Shop, folder: Path) -> Iterator[list[Path]]:
    """Write a shop as `write_sized` does; it is taken away again when what stands in this context fails."""
    made = _missing(folder)
    written = write_sized(source, collector, sized, folder)
    try:
        yield written
    except BaseException:
        _take_away(written, made)
        raise


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
    if isinstance(bore_m, Rectangle):
        return f"{size_text(bore_m.width_m)} x {size_text(bore_m.height_m)}"
    inches = bore_m / INCH_M
    if abs(inches * SIXTEENTHS - round(inches * SIXTEENTHS)) < 1e-6:
        return f"{round(inches * SIXTEENTHS) / SIXTEENTHS:.10g} in"
    return f"{round(bore_m / MILLIMETRE_M, 6):.10g} mm"


def length_text(length_m: float, system: UnitSystem) -> str:
    """Return a length [m] as a cell: feet and inches to a sixteenth, or metres to a millimetre.

    >>> length_text(2.286, "inch"), length_text(2.286, "metric")
    ('7 ft 6 in', '2.286 m')
    """
    if system == "metric":
        return f"{round(length_m, 3):.10g} m"
    feet, inches = divmod(round(abs(length_m) / INCH_M * SIXTEENTHS) / SIXTEENTHS, 12.0)
    parts = [f"{feet:.0f} ft"] if feet or not inches else []
    return ("-" if length_m < 0.0 else "") + " ".join([*parts, *([f"{inches:.10g} in"] if inches else [])])


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

"""A shop's files: found, read as bytes, decoded to text, parted into records counted as a spreadsheet does."""

from __future__ import annotations

import codecs
import csv
import os
import re
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from ductcalc.errors import InputError, Place, Problem
from ductcalc.tables.limits import LARGEST_FILE
from ductcalc.tables.words import nearest
from ductcalc.units import visible

DUCT, COLLECTOR, SETTINGS = "duct.csv", "collector.csv", "shop.toml"
_LONGEST_PATH = 400
_START = "`ductcalc start FOLDER` writes a shop to begin with"
_BOOKS = (b"PK\x03\x04", b"PK\x05\x06", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")
_SAVE_AS = 'open it in the spreadsheet and save it as "CSV UTF-8"'
SEPARATORS = (",", ";", "\t")
_ERROR_AND_MORE = re.compile(r'#(?:[A-ZÀ-Ý][A-ZÀ-Ý0-9/]*[!?]|N/A|NV)"?[,;\t][^\w]*\w')
_LONGEST_COMMENT_LINES = 40
_LONGEST_RECORD_LINES = 1000


class ShopFiles(NamedTuple):
    """The files of one shop; None for one that is not there."""

    name: str
    duct: Path
    collector: Path | None
    settings: Path | None


def locate(path: Path, collector: Path | None) -> ShopFiles:
    """Find a shop's files: a folder's three, or a bare duct table.

    Raises InputError when there are none or when they may not be looked at.
    """
    try:
        return _located(path, collector)
    except OSError as error:
        reason = (error.strerror or "unreadable").casefold()
        hint = "check the path and that you may read it"
        raise InputError([Problem(f"nothing can be read here: {reason}", hint, Place(shown(path)))]) from None
    except ValueError:
        hint = "a path holds no character of code zero"
        raise InputError([Problem("there is no such file or folder", hint, Place(shown(path)))]) from None


def _located(path: Path, collector: Path | None) -> ShopFiles:
    """Find a shop's files: a folder's three, or a bare duct table. Raises InputError when there are none."""
    if path.is_dir():
        duct = path / DUCT
        if not duct.exists():
            raise InputError(
                [Problem(f"there is no {DUCT} in this folder", _other_tables(path), Place(shown(path)))]
            )
        table = collector or _if_there(path / COLLECTOR)
        return ShopFiles(path.resolve().name or "shop", duct, table, _if_there(path / SETTINGS))
    if not path.exists():
        if path.is_symlink():
            hint = "name the file itself, or mend the link"
            raise InputError([Problem("this link leads to no file or folder", hint, Place(shown(path)))])
        raise InputError([Problem("there is no such file or folder", _near_path(path), Place(shown(path)))])
    return ShopFiles(path.stem, path, collector, None)


def read_bytes(path: Path, most: int = LARGEST_FILE) -> bytes:
    """Return a file's bytes, `most` at the most. Raises InputError when it cannot be read, is larger or is no file.

    A pipe or a device is refused before it is opened: reading it might never end.
    """
    place = Place(shown(path.name or path))
    try:
        if not stat.S_ISREG(os.stat(path).st_mode) and not path.is_dir():
            raise InputError([Problem("this is a pipe or a device, not a file", "save it as a file first", place)])
        with path.open("rb") as file:
            data = file.read(most + 1)
    except FileNotFoundError:
        raise InputError([Problem("there is no such file", _near_path(path), place)]) from None
    except OSError as error:
        reason = (error.strerror or "unreadable").casefold()
        hint = "check that it is a file and that you may read it"
        raise InputError([Problem(f"the file cannot be read: {reason}", hint, place)]) from None
    except ValueError:
        raise InputError([Problem("there is no such file", "a path holds no character of code zero", place)]) from None
    if len(data) > most:
        hint = "a shop's table has some hundred rows: check that this is the right file"
        raise InputError([Problem(f"the file has more than {most / 1e6:.0f} million bytes", hint, place)])
    return data


def shown(path: Path | str) -> str:
    """Return a path for a message; nothing in it can do harm to a terminal."""
    return visible(str(path), _LONGEST_PATH)


def _if_there(path: Path) -> Path | None:
    """Return a path that is there, also a link that leads nowhere: it is told of, not passed over."""
    return path if os.path.lexists(path) else None


def _other_tables(folder: Path) -> str:
    """Say which shops or tables are there instead."""
    try:
        shops = sorted(entry.parent.name for entry in folder.glob(f"*/{DUCT}"))
        others = sorted(
            entry.name
            for entry in folder.iterdir()
            if entry.suffix.casefold() in (".csv", ".txt", ".xlsx", ".ods")
        )
    except OSError:
        shops, others = [], []
    if shops and not others:
        return f"name one of the shops in it: {', '.join(shown(folder / name) for name in shops[:5])}"
    if not others:
        return _START
    if all(name.casefold().endswith(".xlsx") for name in others):
        return f"a workbook is a shop by itself: name it, {shown(folder / others[0])}"
    return f"name the duct table {DUCT}; the folder holds {', '.join(map(shown, others[:5]))}"


def _near_path(path: Path) -> str:
    """Name the entry of the same folder that is spelled most alike."""
    try:
        near = nearest(path.name, [entry.name for entry in path.parent.iterdir()])
    except OSError:
        near = None
    return f"did you mean {shown(near)}?" if near else _START


def decode(data: bytes, file: str) -> tuple[str, tuple[str, ...]]:
    """Return the text of a file and remarks on what had to be decided.

    Raises InputError for a spreadsheet's own format, for an empty file and for bytes that are no text.
    """
    if data.startswith(_BOOKS):
        raise _error(file, "this is a spreadsheet's own file, not a table of text", _SAVE_AS)
    text, remarks = _decoded(data, file)
    if not text.strip("\ufeff \t\r\n\x00"):
        raise _error(file, "the file is empty", "`ductcalc start FOLDER` writes a shop to begin with")
    return text.lstrip("\ufeff"), remarks


def _decoded(data: bytes, file: str) -> tuple[str, tuple[str, ...]]:
    if data.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)) or _utf_32_without_mark(data):
        raise _error(file, "the file is in UTF-32, which few programs write", _SAVE_AS)
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return _strict(data, "utf-16", file), ()
    encoding = _utf_16_without_mark(data)
    if encoding is not None:
        return _strict(data, encoding, file), (f"{file} was read as UTF-16 without a byte-order mark",)
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        remark = f'{file} is not UTF-8 and was read as Windows-1252; save it as "CSV UTF-8" to be sure'
        return _strict(data.removeprefix(codecs.BOM_UTF8), "cp1252", file), (remark,)


def _utf_16_without_mark(data: bytes) -> str | None:
    """Guess UTF-16 by its zero bytes: plain letters have one in every second place."""
    start = data[:4096]
    even, odd = start[0::2].count(0), start[1::2].count(0)
    if max(even, odd) * 4 < len(start) or not start:
        return None
    return "utf-16-le" if odd > even else "utf-16-be"


def _utf_32_without_mark(data: bytes) -> bool:
    """Guess UTF-32 by its zero bytes: plain letters have three in every four."""
    start = data[: min(4096, len(data) // 4 * 4)]
    return any(start) and not (any(start[0::4] + start[1::4]) and any(start[2::4] + start[3::4]))


def _strict(data: bytes, encoding: str, file: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        raise _error(
            file, f"the file is not readable text: byte {error.start + 1} fits no letter", _SAVE_AS
        ) from None


def _error(file: str, message: str, hint: str) -> InputError:
    return InputError([Problem(message, hint, Place(file))])


class Record(NamedTuple):
    """One row: its number, its cells, whether it is a comment, and its text if its quotes are unsound."""

    row: int
    cells: tuple[str, ...]
    comment: bool = False
    fault: str | None = None


def lines_of(text: str) -> list[str]:
    """Return the lines of a text with Unix, Windows or old Mac ends."""
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def split_line(line: str, separator: str) -> tuple[str, ...]:
    """Split one line into cells; quotes are honoured when they are sound."""
    if '"' not in line:
        return tuple(line.split(separator))
    cells, _ = _record(iter([line]), separator)
    return cells if cells is not None else tuple(line.split(separator))


def announced_separator(line: str) -> str | None:
    """Return the separator that a first line like `sep=;` announces; spreadsheets swallow that line."""
    plain = line.strip().strip('"').replace(" ", "").casefold()
    if not line.strip(' "').casefold().startswith("sep"):
        return None
    if plain == "sep=" and "\t" in line:
        return "\t"
    return plain[4:] if plain[:4] == "sep=" and plain[4:] in SEPARATORS else None


def is_comment(line: str) -> bool:
    """Tell whether a line is a comment: its first sign is #, also inside a quote.

    A row whose first cell is an error of the spreadsheet, such as `#REF!`, is none: it would be lost unseen.
    """
    start = line.lstrip(" \t\u00a0")
    if not start.startswith(("#", '"')):
        return False
    text = start.lstrip('" ')
    return text.startswith("#") and _ERROR_AND_MORE.match(text) is None


def records(lines: list[str], separator: str) -> Iterator[Record]:
    """Yield every row that is not blank. A quoted cell of several lines is one row, as in a spreadsheet."""
    index, row = 0, 0
    while index < len(lines):
        line = lines[index]
        row += 1
        record, used = _one(lines, index, row, separator)
        index += used
        if line.strip() and (record.comment or record.fault or any(cell.strip() for cell in record.cells)):
            yield record


def _one(lines: list[str], index: int, row: int, separator: str) -> tuple[Record, int]:
    """Return the record that starts at a line, and how many lines it takes."""
    line = lines[index]
    comment = is_comment(line)
    if '"' not in line:
        return Record(row, tuple(line.split(separator)), comment), 1
    reach = min(len(lines), index + (_LONGEST_COMMENT_LINES if comment else _LONGEST_RECORD_LINES))
    cells, used = _record((lines[number] for number in range(index, reach)), separator)
    if cells is not None:
        return Record(row, cells, comment), used
    if comment:
        return Record(row, tuple(line.split(separator)), True), 1
    return Record(row, tuple(line.split(separator)), fault=line), 1


def _record(lines: Iterator[str], separator: str) -> tuple[tuple[str, ...] | None, int]:
    """Read one record strictly; None when its quotes are not sound."""
    reader = csv.reader((line + "\n" for line in lines), delimiter=separator, strict=True)
    try:
        return tuple(next(reader)), reader.line_num
    except (csv.Error, StopIteration):
        return None, 1

"""Text to records, counted as a spreadsheet counts its rows; comments are kept apart."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass

SEPARATORS = (",", ";", "\t")
_ERROR_AND_MORE = re.compile(r'#(?:[A-ZÀ-Ý][A-ZÀ-Ý0-9/]*[!?]|N/A|NV)"?[,;\t][^\w]*\w')
_LONGEST_COMMENT_LINES = 40
_LONGEST_RECORD_LINES = 1000


@dataclass(frozen=True)
class Record:
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

"""A workbook read as a shop: a sheet each named duct, collector and shop, put into the words of the text tables.

The text of each sheet goes the same way as a file's: rows keep their numbers, so that places are those of the sheet.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from io import BytesIO, StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ductcalc.errors import InputError, Place, Problem
from ductcalc.tables.files import COLLECTOR, DUCT, SETTINGS, locate, read_bytes, shown
from ductcalc.tables.limits import MOST_COLUMNS, MOST_ROWS

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

ENDINGS = (".xlsx", ".xlsm")
SHEETS = {"duct": DUCT, "collector": COLLECTOR, "shop": SETTINGS}
"""The sheets, and the file that each stands for."""
LACKING = Problem("a workbook is read by openpyxl, which is not here", 'pip install "ductcalc[xlsx]"')
LITERAL = re.compile(r"""(true|false|[+-]?\d[\d_]*(\.\d+)?|".*"|'.*'|\[.*\]|\{.*\})\Z""", re.DOTALL)
"""A value that is written as settings write it; any other is a text."""
BARE = re.compile(r"[A-Za-z0-9_-]+\Z")


def is_workbook(path: Path) -> bool:
    """Whether a path's ending is that of a workbook."""
    return path.suffix.casefold() in ENDINGS


def workbook_texts(path: Path) -> dict[str, str]:
    """Return a workbook's sheets as the texts of the files that they stand for, by the names of these.

    Raises InputError without a sheet named duct, for formulas without a value, and without openpyxl.
    """
    file = shown(path.name)
    values, formulas = (_opened(path, file, data_only) for data_only in (True, False))
    found = {name.strip().casefold(): name for name in values.sheetnames}
    if "duct" not in found:
        hint = f"name the sheet of the duct table duct; this workbook has {', '.join(map(shown, values.sheetnames))}"
        raise InputError([Problem("there is no sheet named duct", hint, Place(file))])
    texts: dict[str, str] = {}
    problems: list[Problem] = []
    for sheet in (name for name in SHEETS if name in found):
        rows = list(_rows(values[found[sheet]]))
        problems += _without_value(rows, formulas[found[sheet]], sheet_name(file, sheet))
        texts[SHEETS[sheet]] = _settings(rows, sheet_name(file, sheet)) if sheet == "shop" else _csv(rows)
    if problems:
        raise InputError(problems)
    return texts


def contents(path: Path, collector: Path | None) -> dict[str, bytes]:
    """Return a shop's files as they are, by the names that they have in a folder."""
    files = locate(path, collector)
    if is_workbook(files.duct):
        texts = workbook_texts(files.duct)
        own = {} if files.collector is None else {COLLECTOR: read_bytes(files.collector)}
        return {name: text.encode() for name, text in texts.items()} | own
    there = ((DUCT, files.duct), (COLLECTOR, files.collector), (SETTINGS, files.settings))
    return {name: read_bytes(file) for name, file in there if file is not None}


def sheet_name(file: str, sheet: str) -> str:
    """Return how a sheet is called in messages."""
    return f"{file}, sheet {sheet}"


def _opened(path: Path, file: str, data_only: bool) -> Workbook:
    try:
        from openpyxl import load_workbook
    except ImportError:
        raise InputError([LACKING]) from None
    try:
        return load_workbook(BytesIO(read_bytes(path)), read_only=True, data_only=data_only, keep_links=False)
    except InputError:
        raise
    except Exception:
        hint = "open it in the spreadsheet and save it anew as .xlsx"
        raise InputError([Problem("this is no workbook that can be read", hint, Place(file))]) from None


def _rows(sheet: Worksheet) -> Iterator[tuple[Any, ...]]:
    yield from sheet.iter_rows(max_row=MOST_ROWS + 1, max_col=MOST_COLUMNS + 1, values_only=True)


def _without_value(rows: Sequence[Sequence[Any]], sheet: Worksheet, name: str) -> Iterator[Problem]:
    """Yield the cells that hold a formula whose value was never saved."""
    hint = "open the workbook in the spreadsheet and save it, so that its values are in it"
    for number, (values, written) in enumerate(zip(rows, _rows(sheet), strict=False), start=1):
        for value, formula in zip(values, written, strict=False):
            if value is None and formula is not None:
                yield Problem("a formula stands here without its value", hint, Place(name, number), given=str(formula))


def _csv(rows: Sequence[Sequence[Any]]) -> str:
    target = StringIO()
    writer = csv.writer(target, lineterminator="\n")
    for row in rows:
        writer.writerow([_text(value) for value in row])
    return target.getvalue()


def _text(value: Any) -> str:
    """Return a cell as it would be typed: a number without a tail of noughts, a text on one line."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:.10g}"
    return " ".join(str(value).split("\n"))


def _settings(rows: Sequence[Sequence[Any]], name: str) -> str:
    """Return rows of section, key and value as settings; a blank section is that of the row above."""
    sections: dict[str, list[str]] = {}
    section = ""
    for number, row in enumerate(rows, start=1):
        first, key, value = (_text(cell).strip() for cell in (*row, None, None, None)[:3])
        if first.startswith("#") or not (first or key or value) or (number == 1 and first.casefold() == "section"):
            continue
        section = first.strip("[] ") or section
        if not (section and key and value):
            hint = "write a section, a key and a value in each row, for example air, altitude, 1200 ft"
            raise InputError([Problem("a setting needs its section, its key and its value", hint, Place(name, number))])
        sections.setdefault(section, []).append(f"{_key(key)} = {_value(value)}")
    return "".join(f"[{section}]\n{chr(10).join(lines)}\n" for section, lines in sections.items())


def _key(key: str) -> str:
    return key if BARE.match(key) or key.startswith('"') else _quoted(key)


def _value(value: str) -> str:
    return value if LITERAL.match(value) else _quoted(value)


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'

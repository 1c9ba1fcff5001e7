"""A shop's files, or rows given in code, to a checked Shop; every problem of every file is told at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

from ductcalc.errors import InputError, Notebook, Place, Problem
from ductcalc.shop import Collector, Settings, Shop, WrittenColumn, WrittenTable, key_of
from ductcalc.shop.hanging_checks import problems_of
from ductcalc.shop.tuned import FILE as TUNED
from ductcalc.tables.collectors import build_collectors, read_collectors
from ductcalc.tables.duct import Ducts, possible_machines, read_ducts
from ductcalc.tables.files import COLLECTOR, DUCT, SETTINGS, ShopFiles, decode, locate, read_bytes, shown
from ductcalc.tables.limits import LARGEST_FILE, LARGEST_SETTINGS
from ductcalc.tables.settings import read_settings, read_toml
from ductcalc.tables.sheet import Sheet, read_sheet, sheet_of_mappings
from ductcalc.tables.words import (
    COLLECTOR_COLUMNS,
    COLLECTOR_REQUIRED,
    DUCT_COLUMNS,
    DUCT_REQUIRED,
    guess,
)
from ductcalc.tables.workbook import SHEETS, is_workbook, sheet_name, workbook_texts
from ductcalc.units import quoted


class _Parts(NamedTuple):
    """What was read of a shop before it is put together."""

    name: str
    files: tuple[str, str, str]
    duct: Sheet | None
    collector: Sheet | None
    settings: Mapping[str, Any]
    remarks: tuple[str, ...] = ()


def read_shop(
    path: Path | str, collector: Path | str | None = None, tuned: Path | str | None = None
) -> Shop:
    """Read a shop folder (duct.csv, and if there: collector.csv, shop.toml, tuned.toml) or a bare duct table.

    collector: a collector table to use instead of the folder's. Without any, the shop has no collectors. tuned: fitted
    numbers to use instead of the folder's.
    Raises InputError with every problem of every file.
    """
    files = locate(Path(path), Path(collector) if collector is not None else None)
    notebook = Notebook()
    duct, table, toml = _texts(files, notebook)
    parts = _Parts(
        files.name,
        (duct.file, table.file, toml.file),
        None if duct.text is None else read_sheet(duct.text, duct.file, tuple(DUCT_COLUMNS), DUCT_REQUIRED, notebook),
        None if table.text is None else read_sheet(table.text, table.file, *_COLLECTOR, notebook),
        read_toml(toml.text, toml.file, notebook) if toml.text else {},
        duct.said + table.said + toml.said,
    )
    shop = _assemble(parts, notebook)
    fitted = Path(path) / TUNED if tuned is None else Path(tuned)
    if tuned is None and not (Path(path).is_dir() and fitted.exists()):
        return shop
    # only a shop with fitted numbers pays for deciding all numbers once more
    from ductcalc.tables.tuned import with_tuned

    return with_tuned(shop, fitted)


def shop_from_rows(
    duct: Sequence[Mapping[str, object]],
    collector: Sequence[Mapping[str, object]] = (),
    settings: Mapping[str, Any] | None = None,
    name: str = "shop",
) -> Shop:
    """Build a shop of rows given in code (column word to text), through the same checks as files.

    Places count rows from 1. settings: nested like shop.toml. Raises InputError with every problem.
    """
    notebook = Notebook()
    table = None
    if collector:
        table = sheet_of_mappings(collector, "collector", COLLECTOR_COLUMNS, COLLECTOR_REQUIRED, notebook)
    sheet = sheet_of_mappings(duct, "duct", tuple(DUCT_COLUMNS), DUCT_REQUIRED, notebook)
    return _assemble(_Parts(name, ("duct", "collector", "settings"), sheet, table, settings or {}), notebook)


_COLLECTOR = (COLLECTOR_COLUMNS, COLLECTOR_REQUIRED)


class _Text(NamedTuple):
    """What a file says (None: it is not there), its name in messages, remarks on how it was read."""

    text: str | None
    file: str
    said: tuple[str, ...] = ()


def _texts(files: ShopFiles, notebook: Notebook) -> tuple[_Text, _Text, _Text]:
    """Return the texts of duct table, collector table and settings, from three files or from one workbook."""
    table, toml = _text(files.collector, COLLECTOR, notebook), _text(files.settings, SETTINGS, notebook)
    if not is_workbook(files.duct):
        return _text(files.duct, DUCT, notebook), table, toml
    try:
        sheets = workbook_texts(files.duct)
    except InputError as error:
        notebook.extend(error.problems)
        return _Text(None, shown(files.duct.name)), table, toml
    file = shown(files.duct.name)
    duct, inside, settings = (_Text(sheets.get(name), sheet_name(file, sheet)) for sheet, name in SHEETS.items())
    return duct, inside if files.collector is None else table, settings


def _text(path: Path | None, name: str, notebook: Notebook) -> _Text:
    """Return a file's text and remarks; a file that cannot be read is noted. An empty shop.toml is fine."""
    if path is None:
        return _Text(None, name)
    file = shown(path.name)
    try:
        settings = path.name == SETTINGS
        data = read_bytes(path, LARGEST_SETTINGS if settings else LARGEST_FILE)
        if not data.strip() and settings:
            return _Text("", file)
        text, said = decode(data, file)
        return _Text(text, file, said)
    except InputError as error:
        notebook.extend(error.problems)
        return _Text(None, file)


def _assemble(parts: _Parts, notebook: Notebook) -> Shop:
    """Put a shop together and check how it hangs; raise InputError with every problem."""
    ducts = read_ducts(parts.duct, notebook) if parts.duct else Ducts(sound=False)
    drafts = read_collectors(parts.collector, notebook) if parts.collector else []
    machines = possible_machines(parts.duct, ducts)
    names = [draft.name for draft in drafts]
    runs = [run.name for run in ducts.runs]
    settings, said_of = read_settings(parts.settings, parts.files[2], machines, runs, names, notebook)
    collectors = build_collectors(drafts, said_of, parts.files[2], notebook)
    _check_collector_rows(ducts, parts.duct, names, notebook)
    shop = _shop(parts, ducts, collectors, settings)
    if ducts.sound and ducts.runs:
        notebook.extend(_hanging_problems(shop, parts.duct, notebook))
    notebook.close(parts.files)
    return shop


def _shop(parts: _Parts, ducts: Ducts, collectors: tuple[Collector, ...], settings: Settings) -> Shop:
    remarks = [*parts.remarks]
    for sheet in (parts.duct, parts.collector):
        remarks += sheet.remarks if sheet else ()
    if not collectors and "collector" in parts.settings:
        remarks.append(f"{parts.files[2]} speaks of a collector, but there is no collector table")
    table = _written(parts.duct)
    return Shop(parts.name, ducts.runs, collectors, settings, ducts.first_units, tuple(remarks), table=table)


def _written(sheet: Sheet | None) -> WrittenTable:
    """Return how a duct table was written."""
    if sheet is None:
        return WrittenTable()
    columns = {name: WrittenColumn(column.letter, column.unit) for name, column in sheet.columns.items()}
    return WrittenTable(columns, sheet.decimal_commas)


def _hanging_problems(shop: Shop, sheet: Sheet | None, notebook: Notebook) -> list[Problem]:
    """Return how the runs hang wrongly, with column letters; a cell noted already is not noted twice."""
    noted = {(p.place.file, p.place.row, p.place.column) for p in notebook.problems if p.place}
    unsized = any(column == "size" for _, _, column in noted)
    found = []
    for problem in problems_of(shop):
        place = problem.place
        if place is None or sheet is None:
            found.append(problem)
        elif (place.file, place.row, place.column) not in noted and not (unsized and place.column == "size"):
            found.append(problem._replace(place=_with_letter(place, sheet)))
    return found


def _with_letter(place: Place, sheet: Sheet) -> Place:
    column = sheet.columns.get(place.column or "")
    return replace(place, letter=column.letter if column else None)


def _check_collector_rows(
    ducts: Ducts, sheet: Sheet | None, names: Sequence[str], notebook: Notebook
) -> None:
    """Note a collector row of the duct table that names a collector which the collector table lacks."""
    keys = set(map(key_of, names))
    for run in ducts.runs if names and sheet else ():
        for piece in run.pieces:
            if piece.kind == "collector" and piece.machine and key_of(piece.machine) not in keys and sheet:
                row = piece.place.row if piece.place and piece.place.row else 0
                notebook.note(
                    sheet.place(row, "machine"),
                    f"no collector is named {quoted(piece.machine)}",
                    guess(piece.machine, names),
                    piece.machine,
                )

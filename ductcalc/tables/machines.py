"""A list of machines with their places along a main, read like the duct table, and the first table laid out from it."""

from __future__ import annotations

import csv
from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import TypeVar

from ductcalc.answers.first_layout import FirstLayout, first_layout
from ductcalc.catalog import kinds_like, machine_kind, machine_kinds
from ductcalc.errors import Notebook
from ductcalc.physics.velocity import bore_area
from ductcalc.shop import Piece, Settings
from ductcalc.shop.piece import Wanted
from ductcalc.shop.placed import MachineList, PlacedMachine, WantedAir
from ductcalc.tables import cells
from ductcalc.tables.duct import note_fast
from ductcalc.tables.files import DUCT, SETTINGS, decode, read_bytes
from ductcalc.tables.reader import read_shop
from ductcalc.tables.settings import read_settings, read_toml
from ductcalc.tables.sheet import Sheet, SheetRow
from ductcalc.tables.stock import Given, list_sheet
from ductcalc.tables.words import MACHINE_COLUMNS, MACHINE_REQUIRED, listed, nearest
from ductcalc.tables.writing import length_text, refuse_to_overwrite, size_text, write_shop
from ductcalc.units import Unit, UnreadableError, quoted, read, system_of
from ductcalc.units.closed_list import UnitSystem

T = TypeVar("T")
COLUMNS = ("run", "piece", "machine", "style", "size", "length", "angle", "count", "joins", "flow", "rise", "note")
HEAD = """\
# A first layout from a list of machines: every row is yours to change. Measure all lengths anew on the spot.
# Wanted air by kind comes from: ductcalc tables machine_airflow - a maker's own figure is better.
# Least air that keeps chips moving in each size: ductcalc tables least_flow
# Sizes by common practice (no source): a drop as its machine's port; the main for its largest use.
# ductcalc size looks for better ones.
"""
_EXAMPLES = {"port": "6 in", "along": "12 ft", "height": "5 ft 6 in"}


def read_machines(given: Given) -> MachineList:
    """Return the machines of a CSV file, or of rows given in code (column word to text).

    Columns: machine, kind or flow, port, along, height, reach, note; each row is one port. Raises InputError with
    every problem.
    """
    notebook = Notebook()
    sheet, file, remarks = list_sheet(given, "machines", MACHINE_COLUMNS, MACHINE_REQUIRED, notebook)
    rows = [_machine(sheet, row, notebook) for row in sheet.rows] if sheet else []
    notebook.close([file])
    assert sheet is not None
    return MachineList(tuple(row for row in rows if row), _units(sheet), remarks)


def _units(sheet: Sheet) -> UnitSystem:
    unit = sheet.columns["port"].unit
    systems = (system_of(row.cells["port"], "length", unit) for row in sheet.rows)
    return next((system for system in systems if system), "inch")


def _machine(sheet: Sheet, row: SheetRow, notebook: Notebook) -> PlacedMachine | None:
    """Return what a row says, None when a problem was noted."""
    before = len(notebook.problems)
    name = _needed(sheet, row, "machine", lambda text, unit: cells.machine(text), notebook)
    port = _needed(sheet, row, "port", cells.size, notebook)
    along = _needed(sheet, row, "along", cells.length, notebook)
    height = _needed(sheet, row, "height", cells.length, notebook)
    reach = _read(sheet, row, "reach", cells.length, notebook)
    air = _air(sheet, row, notebook)
    if air is not None and port is not None and air.wanted.flow_m3_s is not None:
        place = sheet.place(row.number, "flow" if "flow" in row.cells else "kind")
        note_fast(place, air.cell, row.cells["port"], air.wanted.flow_m3_s / float(bore_area(port)), notebook)
    if len(notebook.problems) > before or not sheet.header_sound:
        return None
    assert name is not None and port is not None and along is not None and height is not None and air is not None
    note = row.cells.get("note", "")
    return PlacedMachine(name, air, port, along, height, reach or 0.0, note, sheet.place(row.number))


def _needed(
    sheet: Sheet, row: SheetRow, column: str, reader: Callable[[str, Unit | None], T], notebook: Notebook
) -> T | None:
    """Return what a cell that must not be blank says."""
    if column not in row.cells and column in sheet.columns:
        example = f'write it, for example "{_EXAMPLES[column]}"' if column in _EXAMPLES else "write the machine's name"
        notebook.note(sheet.place(row.number, column), f"this row has no {column}", example)
    return _read(sheet, row, column, reader, notebook)


def _read(
    sheet: Sheet, row: SheetRow, column: str, reader: Callable[[str, Unit | None], T], notebook: Notebook
) -> T | None:
    text = row.cells.get(column)
    if text is None:
        return None
    unit = sheet.columns[column].unit
    return notebook.read(sheet.place(row.number, column), lambda given: reader(given, unit), text)


def _air(sheet: Sheet, row: SheetRow, notebook: Notebook) -> WantedAir | None:
    """Return the air of a row: the flow as written, else that of its kind."""
    kind = _kind(sheet, row, notebook) if "kind" in row.cells else None
    if "flow" in row.cells:
        return _read(sheet, row, "flow", lambda text, unit: _flow(text, unit, sheet.decimal_commas), notebook)
    if "kind" not in row.cells:
        column = "kind" if "kind" in sheet.columns else "flow"
        hint = 'write its kind, a word of `ductcalc tables machine_airflow`, or its flow, for example "20 m/s"'
        notebook.note(sheet.place(row.number, column), "this row has neither kind nor flow", hint)
    return kind


def _flow(text: str, unit: Unit | None, decimal_commas: bool) -> WantedAir:
    if decimal_commas:
        cells.refuse_point_of_thousands(text)
    wanted = cells.wanted(text, unit)
    return WantedAir(text if wanted.off or _has_unit(text) else f"{text} {unit.name if unit else ''}".strip(), wanted)


def _has_unit(text: str) -> bool:
    try:
        return read(text, ("flow", "speed")).unit is not None
    except UnreadableError:
        return False


def _kind(sheet: Sheet, row: SheetRow, notebook: Notebook) -> WantedAir | None:
    text = row.cells["kind"]
    kind = machine_kind(text)
    if kind is None:
        notebook.note(sheet.place(row.number, "kind"), f"no kind of machine is named {quoted(text)}", _hint(text), text)
        return None
    row_of, fact = machine_kinds()[kind]
    size = f", {row_of['size']}" if row_of["size"] else ""
    source = f"{row_of['item']}{size}: {fact.cited}"
    return WantedAir(f"{float(row_of['value']):g} {row_of['unit']}", Wanted(flow_m3_s=fact.value), source)


def _hint(text: str) -> str:
    """Return how to name a kind: one of the machine's sizes, the nearest one, or all of them."""
    like = kinds_like(text)
    near = like[0] if len(like) == 1 else None if like else nearest(text, machine_kinds())
    other = 'or leave kind blank and write the flow, for example "20 m/s"'
    if near is None:
        return f"write one of: {listed(like or tuple(machine_kinds()))}; {other}"
    return f"did you mean {near}? Else see `ductcalc tables machine_airflow`, {other}"


def write_first_layout(folder: Path, given: Given) -> tuple[list[Path], FirstLayout]:
    """Write the duct table for a list of machines into a folder, made if need be; return its path and the layout.

    A `shop.toml` that is there counts: its named sets size the main, its sizes are bought. Nothing is ever overwritten.
    Raises InputError with every problem of the list, and when the folder holds a duct table or cannot be written.
    """
    refuse_to_overwrite(folder, (DUCT,))
    machines = read_machines(given)
    layout = first_layout(machines, _settings(folder / SETTINGS, machines))
    data = {DUCT: table_text(layout).encode("utf-8")}
    return write_shop(folder, data, lambda draft: _verify(draft / DUCT)), layout


def _verify(table: Path) -> None:
    read_shop(table)


def _settings(path: Path, machines: MachineList) -> Settings:
    """Return the settings of a folder; the defaults when it has none."""
    if not path.exists():
        return Settings()
    notebook, names = Notebook(), list(dict.fromkeys(one.machine for one in machines.machines))
    text, _ = decode(read_bytes(path), SETTINGS)
    settings, _ = read_settings(read_toml(text, SETTINGS, notebook), SETTINGS, names, None, [], notebook)
    notebook.close([SETTINGS])
    return settings


def table_text(layout: FirstLayout) -> str:
    """Return a first layout as a duct table."""
    target = StringIO()
    table = csv.DictWriter(target, COLUMNS, restval="", lineterminator="\n")
    table.writeheader()
    for run in layout.runs:
        table.writerows({"run": "" if n else run.name, **_cells(p, layout.units)} for n, p in enumerate(run.pieces))
    return HEAD + target.getvalue()


def _cells(piece: Piece, units: UnitSystem) -> dict[str, str]:
    """Return the cells of a row; a wanted air stands as it was written."""
    lengths = {"length": piece.length_m, "rise": piece.rise_m}
    return {
        "piece": piece.kind,
        "machine": piece.machine or "",
        "style": piece.style or "",
        "size": size_text(piece.size_m or 0.0),
        **{column: length_text(metres, units) for column, metres in lengths.items() if metres is not None},
        "angle": " + ".join(f"{angle:g}" for angle in piece.angles_deg),
        "count": "" if piece.count is None else str(piece.count),
        "joins": " + ".join(piece.joins),
        "flow": piece.cells.get("flow", ""),
        "note": piece.note or "",
    }

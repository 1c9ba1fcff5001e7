"""One row of the duct table to a Piece."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from ductcalc.shop import Piece, PieceKind
from ductcalc.shop.kinds import TRAITS
from ductcalc.tables import cells, limits
from ductcalc.tables.catalog_words import material, style
from ductcalc.tables.notebook import Notebook
from ductcalc.tables.sheet import Row, Sheet
from ductcalc.tables.words import DUCT_COLUMNS, with_article
from ductcalc.units import Unit, UnreadableError, quoted

DENSITY_OF_STATED_SUCTION_KG_M3 = 1.2
_NO_LENGTH = "write its length on the rows of pipe beside it; an elbow's own loss is in its coefficient"
_HINTS: dict[tuple[str, str], str] = {
    ("count", "pipe"): 'write several alike as a length, for example "3 x 10 ft"',
    ("count", "gate"): "write one row for each gate",
    ("count", "wye"): "write one row for each wye",
    ("length", "elbow"): _NO_LENGTH,
    ("length", "gate"): _NO_LENGTH,
    ("length", "wye"): _NO_LENGTH,
    ("length", "reducer"): _NO_LENGTH,
    ("size", "like"): "leave it blank: the run named under joins is copied with its sizes",
    ("machine", "pipe"): "name the machine on its port row",
}

Reader = Callable[[str, Unit | None, PieceKind], Any]
_READERS: dict[str, tuple[str, Reader]] = {
    "machine": ("machine", lambda text, unit, kind: cells.machine(text)),
    "style": ("style", lambda text, unit, kind: style(kind, text)),
    "size": ("size_m", lambda text, unit, kind: cells.size(text, unit)),
    "length": ("length_m", lambda text, unit, kind: cells.length(text, unit)),
    "angle": ("angles_deg", cells.angles),
    "count": ("count", lambda text, unit, kind: cells.count(text, kind)),
    "joins": ("joins", lambda text, unit, kind: cells.joins(text)),
    "flow": ("wanted", lambda text, unit, kind: cells.wanted(text, unit)),
    "drop": ("drop", lambda text, unit, kind: cells.drop(text, unit)),
    "inlet": ("inlet_m2", lambda text, unit, kind: cells.inlet(text, unit)),
    "material": ("material", lambda text, unit, kind: material(text)),
    "k": ("k", lambda text, unit, kind: cells.coefficient(text)),
    "radius": ("radius", lambda text, unit, kind: cells.radius(text)),
    "factor": ("factor", lambda text, unit, kind: cells.hose_factor(text)),
    "roughness": ("roughness_m", lambda text, unit, kind: cells.roughness(text, unit)),
    "opening": ("opening", lambda text, unit, kind: cells.opening(text, unit)),
    "leak": ("leak", lambda text, unit, kind: cells.leak(text, unit)),
    "rise": ("rise_m", lambda text, unit, kind: cells.rise(text, unit)),
    "note": ("note", lambda text, unit, kind: text),
}
_WITH_THOUSANDS = frozenset({"flow", "drop"})


def read_piece(sheet: Sheet, row: Row, kind: PieceKind, notebook: Notebook) -> Piece:
    """Return a row's piece in SI units; a cell that is wrong is noted and left out."""
    values: dict[str, Any] = {}
    for column, text in row.cells.items():
        if column == "run" or column == "piece":
            continue
        if kind not in DUCT_COLUMNS[column]:
            _misplaced(sheet, row, column, kind, notebook)
            continue
        try:
            field, reader = _READERS[column]
            if sheet.decimal_commas and column in _WITH_THOUSANDS:
                cells.refuse_point_of_thousands(text)
            values[field] = reader(text, sheet.columns[column].unit, kind)
        except UnreadableError as error:
            notebook.note_unreadable(sheet.place(row.number, column), error, text)
    for need in TRAITS[kind].needs:
        if need.column not in row.cells and need.column not in sheet.told:
            if need.column not in sheet.columns:
                sheet.told.add(need.column)
            notebook.note(sheet.place(row.number, need.column), need.message, need.hint)
    piece = Piece(kind=kind, place=sheet.place(row.number), cells=row.cells, **values)
    _check_together(sheet, row, piece, notebook)
    return piece


def field_of(column: str) -> str:
    """Return the field of a Piece that a column of the duct table gives."""
    return _READERS[column][0]


def _misplaced(sheet: Sheet, row: Row, column: str, kind: PieceKind, notebook: Notebook) -> None:
    """Note a cell that means nothing on this kind of piece."""
    owners = ", ".join(sorted(DUCT_COLUMNS[column]))
    hint = _HINTS.get((column, kind), f"leave it blank; {column} belongs to {owners}")
    text = row.cells[column]
    notebook.note(
        sheet.place(row.number, column),
        f"{with_article(kind)} has no {column}, but {quoted(text)} is written",
        hint,
        text,
    )


def _check_together(sheet: Sheet, row: Row, piece: Piece, notebook: Notebook) -> None:
    """Check cells that must fit each other."""
    if (
        piece.rise_m is not None
        and piece.length_m is not None
        and abs(piece.rise_m) > piece.length_m * (1.0 + 1e-9)
    ):
        notebook.note(
            sheet.place(row.number, "rise"),
            f"the rise {quoted(row.cells['rise'])} is more than the length {quoted(row.cells['length'])}",
            "the rise is the part of the length that goes up: it is the length at most",
            row.cells["rise"],
        )
    if piece.wanted is not None and piece.wanted.flow_m3_s is not None and piece.size_m is not None:
        _check_speed_of_flow(sheet, row, piece.wanted.flow_m3_s / _area_m2(piece.size_m), notebook)
    if piece.drop is not None:
        _check_drop(sheet, row, piece, notebook)


def _check_speed_of_flow(sheet: Sheet, row: Row, speed_m_s: float, notebook: Notebook) -> None:
    if speed_m_s > limits.FASTEST_IN_PORT_M_S:
        notebook.note(
            sheet.place(row.number, "flow"),
            f"{quoted(row.cells['flow'])} through {quoted(row.cells['size'])} is {speed_m_s:.0f} m/s",
            "check the flow's unit and the size; 20 m/s is usual",
            row.cells["flow"],
        )


def _check_drop(sheet: Sheet, row: Row, piece: Piece, notebook: Notebook) -> None:
    """Refuse a static suction below its own velocity pressure: the loss would be negative."""
    drop = piece.drop
    if drop is None or drop.total:
        return
    speed = drop.speed_m_s
    if speed is None and drop.flow_m3_s is not None and piece.size_m is not None:
        speed = drop.flow_m3_s / _area_m2(piece.size_m)
    if speed is None:
        return
    velocity_pressure = DENSITY_OF_STATED_SUCTION_KG_M3 * speed * speed / 2.0
    if drop.pressure_pa < velocity_pressure * (1.0 - 1e-9):
        notebook.note(
            sheet.place(row.number, "drop"),
            f"{quoted(row.cells['drop'])} is less than the air's own velocity pressure there,"
            f" {velocity_pressure:.0f} Pa at {speed:.1f} m/s",
            "a static suction contains it: check the numbers, or write total for a loss of total pressure",
            row.cells["drop"],
        )


def _area_m2(size_m: float) -> float:
    return math.pi * size_m * size_m / 4.0

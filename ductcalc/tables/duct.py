"""The rows of the duct table to runs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import cast

from ductcalc.errors import Place
from ductcalc.shop import Piece, PieceKind, Run, key_of
from ductcalc.shop.kinds import PIECE_KINDS
from ductcalc.shop.settings import UnitSystem
from ductcalc.tables.commented import note_commented_heads
from ductcalc.tables.names import run_name
from ductcalc.tables.notebook import Notebook
from ductcalc.tables.pieces import read_piece
from ductcalc.tables.sheet import Row, Sheet
from ductcalc.tables.words import likely, piece_kind
from ductcalc.units import UnreadableError, system_of


@dataclass
class Ducts:
    """What a duct table gave. sound: rows, names and joins were readable, so that hanging can be checked."""

    runs: tuple[Run, ...] = ()
    first_units: UnitSystem = "inch"
    sound: bool = True


@dataclass
class _Draft:
    """A run while its rows are read."""

    name: str
    place: Place
    pieces: list[Piece] = field(default_factory=list)


def read_ducts(sheet: Sheet, notebook: Notebook) -> Ducts:
    """Return the runs in the order of the table; note every problem."""
    before = len(notebook.problems)
    note_commented_heads(sheet, notebook)
    ducts = Ducts(sound=len(notebook.problems) == before and sheet.header_sound)
    drafts: list[_Draft] = []
    for row in sheet.rows:
        _read_row(sheet, row, drafts, ducts, notebook)
    ducts.runs = tuple(Run(d.name, tuple(d.pieces), d.place) for d in drafts if d.pieces)
    ducts.first_units = _first_units(sheet)
    return ducts


def _read_row(sheet: Sheet, row: Row, drafts: list[_Draft], ducts: Ducts, notebook: Notebook) -> None:
    _start_run(sheet, row, drafts, ducts, notebook)
    kind = _kind(sheet, row, notebook)
    if kind is None:
        ducts.sound = False
        return
    before = len(notebook.problems)
    piece = read_piece(sheet, row, kind, notebook)
    if len(notebook.problems) > before and "joins" in row.cells and not piece.joins:
        ducts.sound = False
    if drafts:
        drafts[-1].pieces.append(piece)


def _start_run(sheet: Sheet, row: Row, drafts: list[_Draft], ducts: Ducts, notebook: Notebook) -> None:
    """Begin a new run when the row names another one than the row above."""
    text = row.cells.get("run")
    place = sheet.place(row.number, "run")
    if text is None:
        if not drafts:
            ducts.sound = False
            if "run" in sheet.columns and row is sheet.rows[0]:
                notebook.note(place, "the first row names no run", "write the run's name in its first row")
        return
    try:
        found = run_name(text)
    except UnreadableError as error:
        notebook.note_unreadable(place, error, text)
        ducts.sound, found = False, text
    if not drafts or key_of(drafts[-1].name) != key_of(found):
        drafts.append(_Draft(found, sheet.place(row.number)))


def _kind(sheet: Sheet, row: Row, notebook: Notebook) -> PieceKind | None:
    """Return a row's piece; a mistyped one is noted and read on as the likely one."""
    text = row.cells.get("piece")
    place = sheet.place(row.number, "piece")
    if text is None:
        if "piece" in sheet.columns:
            notebook.note(
                place, "this row names no piece", "write for example pipe, elbow or wye, or remove the row"
            )
        return None
    try:
        return piece_kind(text)
    except UnreadableError as error:
        notebook.note_unreadable(place, error, text)
        return cast("PieceKind | None", likely(text, PIECE_KINDS))


def _first_units(sheet: Sheet) -> UnitSystem:
    """Return the unit system of the first readable size cell."""
    column = sheet.columns.get("size")
    for row in sheet.rows if column else ():
        system = (
            system_of(row.cells["size"], "length", column.unit if column else None)
            if "size" in row.cells
            else None
        )
        if system is not None:
            return system
    return "inch"


def machines_of(runs: Iterable[Run]) -> tuple[str, ...]:
    """Return the names of all machines, each once: those of port and like rows, else the run's."""
    names: dict[str, str] = {}
    for run in runs:
        for piece in run.pieces:
            if piece.traits.is_machine:
                machine = piece.machine or run.name
                names.setdefault(key_of(machine), machine)
    return tuple(names.values())


def possible_machines(sheet: Sheet | None, ducts: Ducts) -> tuple[str, ...] | None:
    """Return the names that the settings may use; None when the table's machines cannot be told.

    Of a table with unreadable rows every name in it counts: none is called unknown for another fault.
    """
    if sheet is None or not sheet.header_sound:
        return None
    names = machines_of(ducts.runs)
    if ducts.sound:
        return names
    written = (row.cells.get(column) for row in sheet.rows for column in ("machine", "run"))
    return tuple(dict.fromkeys([*names, *(name for name in written if name)]))

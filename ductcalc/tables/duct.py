"""The rows of the duct table to pieces and runs."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any, cast

from ductcalc.errors import Notebook, Place
from ductcalc.shop import Piece, PieceKind, Run, key_of
from ductcalc.shop.kinds import PIECE_KINDS, TRAITS
from ductcalc.tables import cells, limits
from ductcalc.tables.sheet import Sheet, SheetRow
from ductcalc.tables.words import DUCT_COLUMNS, likely, material, piece_kind, style, with_article, word_key
from ductcalc.units import Unit, UnreadableError, quoted, system_of
from ductcalc.units.closed_list import UnitSystem

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
    "style": ("style", lambda text, unit, kind: cells.make_and_wall(text) if kind == "pipe" else style(kind, text)),
    "size": ("size_m", cells.size),
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
_HEADS = frozenset(kind for kind, traits in TRAITS.items() if not traits.in_line)


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


def _read_row(sheet: Sheet, row: SheetRow, drafts: list[_Draft], ducts: Ducts, notebook: Notebook) -> None:
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


def _start_run(sheet: Sheet, row: SheetRow, drafts: list[_Draft], ducts: Ducts, notebook: Notebook) -> None:
    """Begin a new run when the row names another one than the row above."""
    text = row.cells.get("run")
    place = sheet.place(row.number, "run")
    if text is None:
        if not drafts:
            ducts.sound = False
            if "run" in sheet.columns and row is sheet.rows[0]:
                notebook.note(place, "the first row names no run", "write the run's name in its first row")
        return
    found = notebook.read(place, cells.run_name, text)
    if found is None:
        ducts.sound, found = False, text
    if not drafts or key_of(drafts[-1].name) != key_of(found):
        drafts.append(_Draft(found, sheet.place(row.number)))


def _kind(sheet: Sheet, row: SheetRow, notebook: Notebook) -> PieceKind | None:
    """Return a row's piece; a mistyped one is noted and read on as the likely one."""
    text = row.cells.get("piece")
    place = sheet.place(row.number, "piece")
    if text is None:
        if "piece" in sheet.columns:
            notebook.note(
                place, "this row names no piece", "write for example pipe, elbow or wye, or remove the row"
            )
        return None
    return notebook.read(place, piece_kind, text) or cast("PieceKind | None", likely(text, PIECE_KINDS))


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


def read_piece(sheet: Sheet, row: SheetRow, kind: PieceKind, notebook: Notebook) -> Piece:
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
    if kind == "flex":
        _bends_of_straight(sheet, row, values, notebook)
    elif kind == "pipe" and "style" in values:
        values["style"], values["wall_m"] = values["style"]
    piece = Piece(kind=kind, place=sheet.place(row.number), cells=row.cells, **values)
    _check_together(sheet, row, piece, notebook)
    return piece


def _bends_of_straight(sheet: Sheet, row: SheetRow, values: dict[str, Any], notebook: Notebook) -> None:
    """Count no bends in a hose whose style is straight, its only one."""
    if values.pop("style", None) is None:
        return
    if values.get("count"):
        hint = "write 0 under count, or leave the style blank"
        message = f"a straight hose has no bends, but the count is {quoted(row.cells['count'])}"
        notebook.note(sheet.place(row.number, "count"), message, hint, row.cells["count"])
    values["count"] = 0


def field_of(column: str) -> str:
    """Return the field of a Piece that a column of the duct table gives."""
    return _READERS[column][0]


def _misplaced(sheet: Sheet, row: SheetRow, column: str, kind: PieceKind, notebook: Notebook) -> None:
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


def _check_together(sheet: Sheet, row: SheetRow, piece: Piece, notebook: Notebook) -> None:
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
        speed = piece.wanted.flow_m3_s / _area_m2(piece.size_m)
        note_fast(sheet.place(row.number, "flow"), row.cells["flow"], row.cells["size"], speed, notebook)
    if piece.drop is not None:
        _check_drop(sheet, row, piece, notebook)


def note_fast(place: Place, flow: str, size: str, speed_m_s: float, notebook: Notebook) -> None:
    """Note a flow through a port's size, both as written, at a speed that no port has."""
    if speed_m_s > limits.FASTEST_IN_PORT_M_S:
        said = f"{quoted(flow)} through {quoted(size)} is {speed_m_s:.0f} m/s"
        notebook.note(place, said, "check the flow's unit and the size; 20 m/s is usual", flow)


def _check_drop(sheet: Sheet, row: SheetRow, piece: Piece, notebook: Notebook) -> None:
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


def note_commented_heads(sheet: Sheet, notebook: Notebook) -> None:
    """Note every comment that looks like the first row of a run whose next rows have no run name."""
    comments = [row for row in sheet.comments if _looks_like_a_head(row)]
    current, waiting = "", 0
    for row in sheet.rows:
        head: SheetRow | None = None
        while waiting < len(comments) and comments[waiting].number < row.number:
            head = comments[waiting]
            waiting += 1
        if "run" in row.cells:
            current = key_of(row.cells["run"])
        elif head is not None and key_of(head.cells["run"]) != current:
            _note(sheet, head, row, notebook)
            current = key_of(head.cells["run"])


def _looks_like_a_head(row: SheetRow) -> bool:
    return bool(row.cells.get("run")) and word_key(row.cells.get("piece", "")) in _HEADS


def _note(sheet: Sheet, head: SheetRow, follower: SheetRow, notebook: Notebook) -> None:
    name = head.cells["run"]
    notebook.note(
        sheet.place(head.number, "run"),
        f"the first row of run {quoted(name)} is a comment, but others follow from row {follower.number}:"
        " they would join the run above",
        "to leave the machine out, keep the row and write off as its flow; to leave the whole run out,"
        " comment all its rows and write cap under joins of its wye",
        name,
    )

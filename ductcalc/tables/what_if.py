"""What-ifs in a person's words, `RUN: PIECE N COLUMN = VALUE`, read like the table cell that they stand for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from ductcalc.errors import Notebook, Place, Problem
from ductcalc.shop import Piece, Run, Shop, WrittenColumn, key_of
from ductcalc.shop.change import Change, cell_value, changed, place_of, together
from ductcalc.shop.hanging_checks import problems_of
from ductcalc.tables.duct import field_of, read_piece
from ductcalc.tables.sheet import Sheet, SheetColumn, SheetRow
from ductcalc.tables.words import DUCT_COLUMNS, column_hint, column_meant, guess, piece_kind, with_article, word_key
from ductcalc.units import UnreadableError, quoted

OPTION = "--with"
NAMES: dict[str, str] = {
    "run": "the name of a run is no figure",
    "piece": "a what-if keeps the pieces as they are",
    "machine": "the name of a machine is no figure",
    "note": "a note is no figure",
}
"""Columns that a what-if does not touch, and why; the collector's machine is which collector it is."""

_TABLE_INSTEAD = "change it in a copy of the table, and compare the two shops"
_QUOTES = "\"'“”„‟‘’‚‛«»"
_LEFT_SIDE = re.compile(
    r"(?P<piece>\D.*?)\s*(?:#|\bno\.?)?\s*(?P<number>\d{1,6})?\s+(?P<column>[^\s\d]\S*)", re.IGNORECASE
)


@dataclass(frozen=True)
class _Wish:
    """One what-if that names a cell: its number among the texts, run, piece (from 1 of its kind), column, text."""

    text_number: int
    run: Run
    piece: Piece
    number: int
    column: str
    value: str

    @property
    def place(self) -> Place:
        return _place(self.text_number)

    @property
    def label(self) -> str:
        """The what-if in the spelling of the table."""
        alone = sum(piece.kind == self.piece.kind for piece in self.run.pieces) == 1
        which = self.piece.kind if alone else f"{self.piece.kind} {self.number}"
        return f"{self.run.name}: {which} {self.column} = {self.value or 'blank'}"

    @property
    def row(self) -> tuple[str, str, int]:
        """What tells its row from all others."""
        return key_of(self.run.name), self.piece.kind, self.number


def read_changes(shop: Shop, texts: Sequence[str]) -> tuple[Change, ...]:
    """Return the changes that texts `RUN: PIECE N COLUMN = VALUE` ask for, in their order.

    N counts the run's pieces of that kind from its start, and may be left out when there is one. The value is a cell of
    the table: its units, words and checks are the table's, and all texts are read as if their cells had been edited
    together. Raises InputError with every problem of all texts, and of how the changed shop hangs together.

    >>> from ductcalc.tables import shop_from_rows
    >>> rows = [{"run": "main", "piece": "port", "size": "4 in"}, {"piece": "pipe", "length": "9 ft"}]
    >>> shop = shop_from_rows([*rows, {"piece": "collector"}])
    >>> read_changes(shop, ["Main: Pipe length=12 ft"])[0].label
    'main: pipe length = 12 ft'
    """
    notebook = Notebook()
    found = (
        notebook.read(_place(number), partial(_named, shop, number), text) for number, text in enumerate(texts, start=1)
    )
    wishes = _each_cell_once([wish for wish in found if wish is not None], notebook)
    changes = [change for row in _by_row(wishes) for change in _read_row(shop, row, notebook)]
    noted = {problem.place for problem in notebook.problems}
    whole = len(wishes) == len(texts) and not any(w.column == "joins" and w.place in noted for w in wishes)
    notebook.extend(_hanging_problems(shop, [change for _, change in changes], wishes, noted, whole))
    notebook.close([_place(number).file for number in range(1, len(texts) + 1)])
    return tuple(change for _, change in sorted(changes, key=lambda pair: pair[0]))


def _place(number: int) -> Place:
    return Place(f"{OPTION} {number}")


def _named(shop: Shop, number: int, text: str) -> _Wish:
    """Find run, piece and column. Raises UnreadableError with the nearest known one."""
    run, rest = _run(shop, text)
    left, equals, value = rest.partition("=")
    parts = _LEFT_SIDE.fullmatch(left.strip())
    if not equals or parts is None:
        raise _not_a_change(shop, text)
    kind = piece_kind(parts["piece"])
    count = None if parts["number"] is None else int(parts["number"])
    place = _which(run, kind, count, shop)
    piece = run.pieces[place]
    column = _column(parts["column"], piece)
    among = sum(other.kind == kind for other in run.pieces[: place + 1])
    return _Wish(number, run, piece, among, column, _unquoted(value.strip()))


def _not_a_change(shop: Shop, text: str) -> UnreadableError:
    run = shop.runs[0]
    piece = next((p for p in run.pieces if p.traits.has_length), run.pieces[0])
    example = f"{run.name}: {piece.kind} 1 size = 5 in"
    return UnreadableError(
        f"{quoted(text)} is not a change", f'write it as RUN: PIECE N COLUMN = VALUE, for example "{example}"'
    )


def _run(shop: Shop, text: str) -> tuple[Run, str]:
    """Return the run that a text begins with, and what follows its colon; a run's name may hold colons too."""
    known = {key_of(run.name): run for run in shop.runs}
    colons = [place for place, sign in enumerate(text) if sign == ":"]
    if not colons:
        raise _not_a_change(shop, text)
    for colon in reversed(colons):
        for name in (text[:colon], _unquoted(text[:colon].strip())):
            if key_of(name) in known:
                return known[key_of(name)], text[colon + 1 :]
    given = text[: colons[0]].strip()
    raise UnreadableError(f"no run is named {quoted(given)}", _run_hint(shop, given))


def _run_hint(shop: Shop, given: str) -> str:
    """Name the run of a machine or stretch when that was given instead, else the run that is spelled most alike."""
    for run in shop.runs:
        for piece in run.pieces:
            if piece.traits.is_machine and piece.machine and key_of(piece.machine) == key_of(given):
                return f"that is a machine: its run is {run.name}"
    stretch = re.fullmatch(r"(?P<run>.*\S)\s+(?P<number>\d{1,6})", given)
    parted = next((run for run in shop.runs if stretch and key_of(run.name) == key_of(stretch["run"])), None)
    pipes = [] if parted is None or stretch is None else _pipes_of(parted, int(stretch["number"]))
    if parted is not None and pipes:
        return f"that is a stretch of run {parted.name}: after {parted.name}: {_rows_hint(pipes)}"
    return guess(given, [run.name for run in shop.runs])


def _pipes_of(run: Run, stretch: int) -> list[tuple[int, Piece]]:
    """Return the pipes of a run's stretch (from 1; a wye begins the next), with their numbers in the run."""
    found, pipes, number = [], 0, 1
    for place, piece in enumerate(run.pieces):
        number += place > 0 and piece.kind == "wye"
        if piece.kind == "pipe":
            pipes += 1
            if number == stretch:
                found.append((pipes, piece))
    return found


def _which(run: Run, kind: str, number: int | None, shop: Shop) -> int:
    """Return where in its run the piece stands, from 0."""
    same = [piece for piece in run.pieces if piece.kind == kind]
    if not same:
        raise UnreadableError(f"run {quoted(run.name)} has no {kind}", _kinds_hint(run))
    counted = list(enumerate(same, start=1))
    if number is None and len(same) > 1:
        raise UnreadableError(f"run {quoted(run.name)} has {len(same)} rows of {kind}: which one?", _rows_hint(counted))
    place = place_of(run, same[0].kind, 1 if number is None else number)
    if place is None:
        rows = "one row" if len(same) == 1 else f"{len(same)} rows"
        raise UnreadableError(f"run {quoted(run.name)} has {rows} of {kind}, not {kind} {number}", _rows_hint(counted))
    return place


def _kinds_hint(run: Run) -> str:
    head = run.pieces[0]
    if head.kind == "like":
        return f"it is like {' + '.join(head.joins)}: its pieces are changed there, and here only the row like"
    return f"it has: {', '.join(dict.fromkeys(piece.kind for piece in run.pieces))}"


def _rows_hint(counted: Sequence[tuple[int, Piece]]) -> str:
    """List pieces of one kind with the number to write, their row and what is written there."""
    said = []
    for number, piece in counted:
        row = [f"row {piece.place.row}"] if piece.place is not None and piece.place.row is not None else []
        cells = [piece.cells[c] for c in ("machine", "size", "length", "angle", "joins") if c in piece.cells]
        about = ", ".join([*row, *cells])
        said.append(f"{piece.kind} {number}" + (f" ({about})" if about else ""))
    return "write " + (said[0] if len(said) == 1 else f"{', '.join(said[:-1])} or {said[-1]}")


def _column(text: str, piece: Piece) -> str:
    column = word_key(text)
    if column not in DUCT_COLUMNS:
        fitting = [name for name, kinds in DUCT_COLUMNS.items() if piece.kind in kinds and name not in NAMES]
        meant = column_meant(text, fitting)
        hint = column_hint(meant) if meant else f"known are: {', '.join(fitting)}"
        raise UnreadableError(f"no column is named {quoted(text)}", hint)
    if column in NAMES and (column, piece.kind) != ("machine", "collector"):
        raise UnreadableError(f"the column {column} cannot be changed here: {NAMES[column]}", _TABLE_INSTEAD)
    return column


def _unquoted(text: str) -> str:
    """Take away quotes around a whole text, as a hint shows them; an inch sign at the end alone stays."""
    if len(text) > 1 and text[0] in _QUOTES and text[-1] in _QUOTES:
        return text[1:-1].strip()
    return text


def _each_cell_once(wishes: Sequence[_Wish], notebook: Notebook) -> list[_Wish]:
    """Note a cell that an earlier text changes already."""
    seen: dict[tuple[object, ...], _Wish] = {}
    for wish in wishes:
        before = seen.setdefault((*wish.row, wish.column), wish)
        if before is not wish:
            notebook.note(
                wish.place,
                f"{before.place} changes the same cell already: {quoted(before.label)}",
                "keep one of the two",
                wish.value,
            )
    return list(seen.values())


def _by_row(wishes: Iterable[_Wish]) -> list[list[_Wish]]:
    rows: dict[tuple[object, ...], list[_Wish]] = {}
    for wish in wishes:
        rows.setdefault(wish.row, []).append(wish)
    return list(rows.values())


def _read_row(shop: Shop, wishes: Sequence[_Wish], notebook: Notebook) -> list[tuple[int, Change]]:
    """Read a row with all cells that are changed in it, as the table's reader does; each change with its number."""
    piece = wishes[0].piece
    edited = {wish.column: wish.value for wish in wishes}
    cells = {column: text for column, text in {**piece.cells, **edited}.items() if text}
    own = Notebook()
    read = read_piece(_sheet(shop), SheetRow(_row_number(piece), cells), piece.kind, own)
    noted = [*own.problems, *_blank_in_vain(wishes)]
    for problem in noted:
        column = problem.place.column if problem.place else None
        # a piece that no table was read for has no other cells, whose lack would prove nothing
        if piece.cells or column in edited:
            at = next((wish for wish in wishes if wish.column == column), wishes[-1])
            notebook.extend([problem._replace(place=at.place)])
    _check_collector(shop, wishes, notebook)
    return [(wish.text_number, _change(wish, read, cells)) for wish in wishes]


def _change(wish: _Wish, read: Piece, cells: dict[str, str]) -> Change:
    fields = [field_of(wish.column), *(["wall_m"] if wish.column == "style" else [])]
    return together(wish.label, [
        cell_value(wish.run.name, wish.piece.kind, wish.number, field, getattr(read, field), wish.label, cells)
        for field in fields
    ])  # fmt: skip


def _row_number(piece: Piece) -> int:
    return piece.place.row if piece.place is not None and piece.place.row is not None else 0


def _sheet(shop: Shop) -> Sheet:
    """Return a sheet that has every column, those of the table with their units."""
    written = shop.table.columns
    columns = {name: SheetColumn(name, *written.get(name, WrittenColumn(None, None))) for name in DUCT_COLUMNS}
    return Sheet(OPTION, columns, separator=";" if shop.table.decimal_commas else None)


def _blank_in_vain(wishes: Iterable[_Wish]) -> Iterable[Problem]:
    """Note a blank for a column that means nothing on this piece: it would change nothing."""
    for wish in wishes:
        owners = DUCT_COLUMNS[wish.column]
        if not wish.value and wish.piece.kind not in owners:
            yield Problem(
                f"{with_article(wish.piece.kind)} has no {wish.column}",
                f"{wish.column} belongs to {', '.join(sorted(owners))}",
                Place(OPTION, column=wish.column),
            )


def _check_collector(shop: Shop, wishes: Iterable[_Wish], notebook: Notebook) -> None:
    names = [collector.name for collector in shop.collectors]
    for wish in wishes:
        if wish.column == "machine" and wish.value and names and key_of(wish.value) not in map(key_of, names):
            message = f"no collector is named {quoted(wish.value)}"
            notebook.note(wish.place, message, guess(wish.value, names), wish.value)


def _hanging_problems(
    shop: Shop, changes: Iterable[Change], wishes: Sequence[_Wish], noted: set[Place | None], whole: bool
) -> list[Problem]:
    """Return how the changed runs hang wrongly: in a changed cell at its text, else where it stands in the table.

    noted: places of texts that are wrong already: they are not noted twice. whole: every text named a cell and every
    joins could be read; else a lack elsewhere proves nothing, and only changed cells are told of.
    """
    by_cell = {(wish.piece.place.row, wish.column): wish for wish in wishes if wish.piece.place is not None}
    unsized = any(wish.column == "size" for wish in wishes if wish.place in noted)
    own = {wish.place for wish in wishes}
    found = []
    for problem in problems_of(changed(shop, changes)):
        if unsized and problem.place is not None and problem.place.column == "size":
            continue
        placed = _placed(problem, by_cell, shop)
        if placed.place not in noted and (whole or placed.place in own):
            found.append(placed)
    return found


def _placed(problem: Problem, by_cell: dict[tuple[int | None, str], _Wish], shop: Shop) -> Problem:
    place = problem.place
    if place is None:
        return problem
    wish = by_cell.get((place.row, place.column or ""))
    if wish is not None:
        return problem._replace(place=wish.place)
    column = shop.table.columns.get(place.column or "")
    at = replace(place, letter=column.letter if column else None)
    return problem._replace(message=f"with the changes, {problem.message}", place=at)

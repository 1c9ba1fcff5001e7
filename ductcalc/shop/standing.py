"""The pieces of a shop that is spelled out, where they stand: in their run, in their section, among their like."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from ductcalc.shop.bore import Rectangle
from ductcalc.shop.hanging import Hanging, Wye
from ductcalc.shop.kinds import PieceKind
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Piece, Run
from ductcalc.shop.shop import Shop

Spot = tuple[str, str, int]
SAME_M = 1e-6
"""Bores [m] so near are the same."""


class PlacedPiece(NamedTuple):
    """A piece where it stands: its run, the number of its section (0: the outlet duct), its place in the run, its bore
    [m], and its number among the run's pieces of its kind (from 1).
    """

    run: Run
    section: int
    place: int
    piece: Piece
    bore_m: float
    number: int

    @property
    def name(self) -> str:
        """The section's name; the outlet duct has none of its own."""
        return f"{self.run.name} {self.section}" if self.section else self.run.name

    @property
    def rows(self) -> tuple[int, ...]:
        """Its row in the duct table, if it is known."""
        row = self.piece.place.row if self.piece.place else None
        return () if row is None else (row,)

    @property
    def spot(self) -> Spot:
        """What tells the piece from all others."""
        return ("piece", key_of(self.run.name), self.place)


def standing(run: Run) -> Iterator[PlacedPiece]:
    """Yield the pieces of a run that is spelled out."""
    counts: dict[PieceKind, int] = {}
    section = 0 if run.pieces[0].traits.ends_stretch else 1
    for place, piece in enumerate(run.pieces):
        counts[piece.kind] = counts.get(piece.kind, 0) + 1
        section += piece.kind == "wye"
        assert piece.size_m is not None
        yield PlacedPiece(run, section, place, piece, piece.size_m, counts[piece.kind])


def by_section(run: Run) -> dict[int, list[PlacedPiece]]:
    """Return the pieces of a run section by section."""
    found: dict[int, list[PlacedPiece]] = {}
    for one in standing(run):
        found.setdefault(one.section, []).append(one)
    return found


def rows_of(pieces: Sequence[PlacedPiece]) -> tuple[int, ...]:
    """Return the rows of some pieces."""
    return tuple(dict.fromkeys(row for piece in pieces for row in piece.rows))


def in_run(shop: Shop, name: str, pieces: Sequence[Piece]) -> Shop:
    """Return the shop with other pieces in one run."""
    key = key_of(name)
    runs = (replace(run, pieces=tuple(pieces)) if key_of(run.name) == key else run for run in shop.runs)
    return replace(shop, runs=tuple(runs))


def run_named(shop: Shop, name: str) -> Run:
    """Return a run by its name."""
    return next(run for run in shop.runs if key_of(run.name) == key_of(name))


def in_sizes(placed: Sequence[PlacedPiece], size_of: Callable[[PlacedPiece], float | None]) -> Iterator[Piece]:
    """Yield the pieces of a run in the bores [m] that their sections get, None for one that stays.

    Ports, the collector and rectangular duct keep their own; a reducer takes that of what follows it.
    """
    for place, one in enumerate(placed):
        size = size_of(one)
        fixed = one.piece.traits.keeps_bore and one.piece.kind not in ("reducer", "cap")
        if size is None or fixed or isinstance(one.bore_m, Rectangle):
            yield one.piece
            continue
        if one.piece.kind == "reducer" and place + 1 < len(placed):
            after = placed[place + 1]
            size = after.bore_m if after.piece.kind == "collector" else size_of(after) or one.bore_m
        yield one.piece if abs(one.bore_m - size) < SAME_M else replace(one.piece, size_m=size)


def section_titles(hanging: Hanging) -> tuple[str, ...]:
    """Return the title of every section: the run's name, and in a run of several where it begins and ends.

    A run joins where it ends, so that a drop is told apart by its name alone; a main is told by what joins it.
    """
    ends = section_ends(hanging)
    return tuple(title_between(one.run, *between) for one, between in zip(hanging.sections, ends, strict=True))


def title_between(run: str, start: str, end: str) -> str:
    """Return the title of a stretch of a run, which may bear its start's name; without a start it is all of the run."""
    begun = run if key_of(start) in key_of(run) else f"{run}, {start}"
    return f"{begun} to {end}" if start else run


def section_ends(hanging: Hanging) -> tuple[tuple[str, str], ...]:
    """Return where every section begins and ends; nothing where it is all of its run."""
    below, above = hanging.wye_below(), {wye.outlet: wye for wye in hanging.wyes}
    of_run: dict[str, int] = {}
    for section in hanging.sections:
        of_run[key_of(section.run)] = of_run.get(key_of(section.run), 0) + 1
    machines = {port.section: port.machine for port in reversed(hanging.ports)}
    ends = []
    for number, section in enumerate(hanging.sections):
        if of_run[key_of(section.run)] == 1:
            ends.append(("", ""))
            continue
        ends_in = below[number]
        start = _joining(above[number]) if number in above else machines.get(number, "its capped end")
        end = "the collector" if ends_in is None else _end(section.run, hanging.wyes[ends_in])
        ends.append((start, end))
    return tuple(ends)


def _joining(wye: Wye) -> str:
    """Return the runs that join at a wye; a capped branch is only told when nothing else joins."""
    names = [name for name in wye.hung.piece.joins if key_of(name) != "cap"]
    return " and ".join(names) or "a capped branch"


def _end(run: str, wye: Wye) -> str:
    """Return where a section ends: what joins its own run there, or the run that it joins."""
    return _joining(wye) if key_of(wye.hung.run) == key_of(run) else wye.hung.run

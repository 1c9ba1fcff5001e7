"""One thing that may be changed: what, where, from what to what; and the pieces of a shop as the families walk them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Literal

from ductcalc.model.collector import FilterState
from ductcalc.shop.change import Change
from ductcalc.shop.hanging import spelled_out
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Piece, PieceKind, Run
from ductcalc.shop.shop import Shop

Kind = Literal[
    "pipe size",
    "main size",
    "shorter hose",
    "pipe for hose",
    "easier elbows",
    "slanted wye",
    "bigger port",
    "second port",
    "smoother hood",
    "clean filter",
    "no outlet duct",
    "outdoors",
    "tighter gates",
    "faster blower",
]
Measured = Literal["size", "length", "angle", "share", "build", "radius", "count", "state"]
Value = float | str | None
Spot = tuple[str, str, int]
IN_PLACE, PORT, SECTION, BENT, JOINED, WHOLE = range(6)
"""In which order changes that go together are applied: those that put rows in come after those that count rows."""


@dataclass(frozen=True)
class Candidate:
    """One thing that may be changed.

    run, section: where, None for what belongs to the whole shop; sections: the stretches it changes. rows: rows of the
    duct table. before, after: what `measured` says, lengths in [m], angles in [deg], shares and ratios [1]. bends: of a
    hose, or how many elbows. build: of elbows as they are. step: the change, of a shop that is spelled out. touches:
    what two changes cannot both have. rank: see IN_PLACE; place: of changes with the same rank the one furthest down
    its run goes first. filter: filter state it holds for. written_like: the run that its own one is a copy of; copies:
    the runs that are written like its own.
    """

    kind: Kind
    step: Change
    measured: Measured
    before: Value
    after: Value
    run: str | None = None
    section: str | None = None
    sections: tuple[str, ...] = ()
    rows: tuple[int, ...] = ()
    bends: int | None = None
    build: str | None = None
    touches: frozenset[object] = frozenset()
    rank: int = IN_PLACE
    place: int = 0
    filter: FilterState = "loaded"
    written_like: str | None = None
    copies: tuple[str, ...] = ()

    @property
    def change(self) -> Change:
        """The change, of any shop that hangs together: spelled out first, so that no other piece moves with it."""
        return Change(self.step.label, lambda shop: self.step.apply(spelled_out(shop)))

    def excludes(self, other: Candidate) -> bool:
        """Whether the two cannot be made together, as they change the same thing."""
        return not self.touches.isdisjoint(other.touches)


def as_written(shop: Shop, candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Return changes with what `like` of the shop as written has to do with their runs."""
    likes = {key_of(r.name): r.pieces[0].joins[0] for r in shop.runs if r.pieces[0].kind == "like"}
    names = {key_of(run.name): run.name for run in shop.runs}
    copies: dict[str, tuple[str, ...]] = {}
    for key in likes:
        source = key_of(likes[key])
        while source in likes:
            source = key_of(likes[source])
        copies[source] = (*copies.get(source, ()), names[key])
    return tuple(
        replace(one, written_like=likes.get(key_of(one.run)), copies=copies.get(key_of(one.run), ()))
        if one.run is not None
        else one
        for one in candidates
    )


def in_order(candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Return changes that go together in the order in which they are applied."""
    return tuple(sorted(candidates, key=lambda one: (one.rank, -one.place)))


def with_all(shop: Shop, candidates: Sequence[Candidate]) -> Shop:
    """Return a spelled out shop with changes made together."""
    return reduce(lambda so_far, one: one.step.apply(so_far), in_order(candidates), shop)


def together(label: str, changes: Sequence[Change]) -> Change:
    """Return several changes as one."""
    return Change(label, lambda shop: reduce(lambda so_far, change: change.apply(so_far), changes, shop))


@dataclass(frozen=True)
class Standing:
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


def standing(run: Run) -> Iterator[Standing]:
    """Yield the pieces of a run that is spelled out."""
    counts: dict[PieceKind, int] = {}
    head = run.pieces[0].kind
    section = 0 if head in ("wye", "collector") else 1
    for place, piece in enumerate(run.pieces):
        counts[piece.kind] = counts.get(piece.kind, 0) + 1
        section += piece.kind == "wye"
        assert piece.size_m is not None
        yield Standing(run, section, place, piece, piece.size_m, counts[piece.kind])


def is_outlet(run: Run) -> bool:
    """Whether a run is the outlet duct."""
    return run.pieces[0].kind == "collector"


def by_section(run: Run) -> dict[int, list[Standing]]:
    """Return the pieces of a run section by section."""
    found: dict[int, list[Standing]] = {}
    for one in standing(run):
        found.setdefault(one.section, []).append(one)
    return found


def rows_of(pieces: Sequence[Standing]) -> tuple[int, ...]:
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

"""What every row of the duct table takes: fittings by build, size and angle; reducers as the model assumed them.

And what no row names: hangers and sealed joints by length, hose clamps.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from typing import Literal, NamedTuple

from ductcalc.catalog import HOSE, default_style, fact, is_adapter, pipe_make
from ductcalc.errors import Place
from ductcalc.model.loss import Loss
from ductcalc.model.model import Model
from ductcalc.model.sections import model_section
from ductcalc.shop.bore import RECTANGULAR, Rectangle, perimeter
from ductcalc.shop.hanging import HungPiece, Section, Wye
from ductcalc.shop.kinds import TAPER_ANGLE_DEG, LossKind
from ductcalc.shop.names import key_of
from ductcalc.shop.parts import PartName
from ductcalc.shop.piece import Piece

SHORTEST_M = 0.0001
"""Shorter rows of pipe or hose are nothing that is cut."""
ROUNDING = 1e-9


@dataclass(frozen=True)
class PartSource:
    """Where a need comes from: run and row, so many pieces, and their length [m] where length counts."""

    run: str
    place: Place | None
    count: int = 1
    length_m: float | None = None


@dataclass(frozen=True)
class PartUse:
    """A part that a row takes. assumed: no row says it, or its build; a neighbour's row stands for it."""

    name: PartName
    source: PartSource
    assumed: bool = False


@dataclass(frozen=True)
class PipeStretch:
    """Pieces one behind the other without a wye between, and what the model made of them.

    heads: losses from each port to the shared body. starts_at: the wye, cap or collector ahead, None for a machine's
    port (which is among the losses). ends_at: the wye or collector behind, None for open air.
    """

    run: str
    start_bore_m: float
    pieces: tuple[HungPiece, ...]
    heads: tuple[tuple[Loss, ...], ...]
    body: tuple[Loss, ...]
    starts_at: Piece | None
    ends_at: Piece | None


def stretches(model: Model) -> Iterator[PipeStretch]:
    """Yield the sections between wyes and the outlet duct."""
    hanging = model.hanging
    below = hanging.wye_below()
    above = {wye.outlet: wye.hung.piece for wye in hanging.wyes}
    caps = {key_of(run.name): run.pieces[0] for run in model.shop.runs}
    for number, section in enumerate(hanging.sections):
        wye = below[number]
        yield PipeStretch(
            section.run,
            section.bore_m,
            section.pieces,
            model.sections[number].heads,
            model.sections[number].body,
            caps[key_of(section.run)] if section.starts == "cap" else above.get(number),
            hanging.collector if wye is None else hanging.wyes[wye].hung.piece,
        )
    if hanging.outlet:
        head = hanging.outlet[0]
        yield PipeStretch(head.run, head.bore_m, hanging.outlet, (), _outlet(model), head.piece, None)


def _outlet(model: Model) -> tuple[Loss, ...]:
    """Return the outlet's losses; without a collector table by the model's rule for any other section."""
    if model.collector is not None:
        return model.collector.outlet
    head = model.hanging.outlet[0]
    section = Section(head.run, head.run, "cap", model.hanging.outlet, head.bore_m)
    return model_section(section, (), model.shop.settings, model.junction).body


def uses(model: Model) -> Iterator[PartUse]:
    """Yield every fitting, hose, pipe, port and cap of the table, and the reducers that the model put between."""
    for wye in model.hanging.wyes:
        yield from _wye(wye, model)
    for port in model.hanging.ports:
        piece = port.hung.piece
        yield PartUse(PartName("port", piece.style, (port.hung.bore_m,)), PartSource(port.run, piece.place))
    for stretch in stretches(model):
        if stretch.starts_at is not None and not stretch.starts_at.traits.ends_stretch:
            cap = PartName("cap", None, (stretch.start_bore_m,), make=_make(stretch.pieces))
            yield PartUse(cap, PartSource(stretch.run, stretch.starts_at.place))
        yield from _pieces(stretch)
        yield from _assumed(stretch)


def _pieces(stretch: PipeStretch) -> Iterator[PartUse]:
    before = stretch.start_bore_m
    for place, hung in enumerate(stretch.pieces):
        if hung.piece.traits.in_line and not _is_nothing(hung.piece):
            yield _piece(hung, before, _make(stretch.pieces[place:], stretch.pieces[place::-1]))
        before = hung.bore_m
    for first, second in pairwise(hung for hung in stretch.pieces if not _is_nothing(hung.piece)):
        if first.piece.kind == second.piece.kind and first.piece.traits.has_length and first.bore_m == second.bore_m:
            yield PartUse(_joint(first, second), PartSource(second.run, second.piece.place), True)


def _joint(first: HungPiece, second: HungPiece) -> PartName:
    """Return what joins two straights of one size: a coupling, or an adapter where the make of pipe changes."""
    bore, (one, other) = second.bore_m, (_own_make(first), _own_make(second))
    if second.piece.kind == "flex":
        return PartName("coupling", HOSE, (bore,))
    if one != other:
        return PartName("adapter", None, (bore, bore), make=f"{one} to {other}")
    return PartName("coupling", other, (bore,))


def _own_make(hung: HungPiece) -> str:
    """Return the make of a pipe; a rectangle of none written is of no make of round pipe."""
    blank = RECTANGULAR if isinstance(hung.bore_m, Rectangle) else None
    return hung.piece.style or blank or pipe_make(hung.piece)


def _make(*ways: Sequence[HungPiece]) -> str | None:
    """Return the make of the first pipe on the first of some ways that has any; None without pipe."""
    pipes = (hung for way in ways for hung in way if hung.piece.kind == "pipe")
    found = next(pipes, None)
    return None if found is None else _own_make(found)


def _is_nothing(piece: Piece) -> bool:
    """Tell whether a row is pipe or hose of no length, of which nothing is cut."""
    return piece.length_m is not None and piece.length_m < SHORTEST_M


def _piece(hung: HungPiece, before_m: float, make: str | None) -> PartUse:
    piece, traits, usual = hung.piece, hung.piece.traits, default_style(hung.piece.kind)
    source = PartSource(hung.run, piece.place, piece.count or 1 if traits.alike else 1, piece.length_m)
    if piece.kind == "reducer":
        return PartUse(_taper(before_m, hung.bore_m, piece.settled_deg), source)
    assert traits.part is not None
    # a fitting of its own k may be of any build; pipe has a make whatever it takes
    style = piece.style or (usual if piece.k is None or traits.has_length else None)
    if piece.style is None and isinstance(hung.bore_m, Rectangle):
        style = usual = RECTANGULAR if traits.has_length else None
    if piece.kind == "other":
        style = style or piece.note
    make = make if traits.part == "gate" else None
    name = PartName(traits.part, style, (hung.bore_m,), piece.settled_deg, piece.radius, make)
    return PartUse(name, source, usual not in (None, RECTANGULAR) and piece.style is None)


def _taper(first_m: float, second_m: float, angles_deg: tuple[float, ...] = (TAPER_ANGLE_DEG,)) -> PartName:
    return PartName("reducer", None, tuple(sorted((first_m, second_m))), angles_deg)


def _between(first_m: float, second_m: float) -> PartName:
    """Return what goes between unlike neighbours: a reducer, or an adapter where the nominal size is the same."""
    if is_adapter(first_m, second_m):
        return PartName("adapter", None, tuple(sorted((first_m, second_m))))
    return _taper(first_m, second_m)


def _assumed(stretch: PipeStretch) -> Iterator[PartUse]:
    """Yield a reducer, or an adapter between ends of one nominal size, wherever the model assumed a taper."""
    for loss in assumed_tapers(stretch):
        assert loss.ends_m is not None
        yield PartUse(_between(*loss.ends_m), PartSource(stretch.run, loss.place), True)


def assumed_tapers(stretch: PipeStretch) -> Sequence[Loss]:
    """Return the tapers that the model put between unlike neighbours."""
    return [loss for part in (*stretch.heads, stretch.body) for loss in part if loss.assumed]


def _wye(wye: Wye, model: Model) -> Iterator[PartUse]:
    """Yield a wye with the sizes of its outlet, its straight inlet and its branches, and a cap for each closed one."""
    piece, sections = wye.hung.piece, model.hanging.sections
    source = PartSource(wye.hung.run, piece.place)
    straight = [sections[stream.section].end_bore_m for stream in wye.streams if stream.straight]
    coming = iter([(sections[s.section].end_bore_m, s.angle_deg) for s in wye.streams if not s.straight])
    ways = [sections[wye.outlet].pieces, *(sections[s.section].pieces[::-1] for s in wye.streams)]
    branches, make = [], _make(*ways)
    for number, joining in enumerate(piece.joins):
        if key_of(joining) == "cap":
            branches.append((wye.hung.bore_m, _angle(piece, number)))
            yield PartUse(PartName("cap", None, (wye.hung.bore_m,), make=make), source)
        else:
            branches.append(next(coming))
    sizes = (wye.hung.bore_m, *straight, *(bore for bore, _ in branches))
    name = PartName("wye", piece.style, sizes, tuple(angle for _, angle in branches), make=make)
    yield PartUse(name, source, not piece.angles_deg)


def _angle(piece: Piece, number: int) -> float:
    """Return the angle [deg] of one of the joining runs."""
    angles = piece.settled_deg[-len(piece.joins) :]
    return angles[number] if len(angles) > 1 else angles[0]


def hangers(used: Sequence[PartUse], spacing_m: float) -> Iterator[PartUse]:
    """Yield hangers by row: one for each started spacing [m] of pipe of one size in one run.

    A row stands for those hangers that its length adds to the rows of its run and size before it.
    """
    so_far: dict[tuple[str, tuple[float, ...]], float] = {}
    for use in used:
        if use.name.kind != "pipe":
            continue
        key = (use.source.run, use.name.sizes_m)
        before = so_far.get(key, 0.0)
        after = so_far[key] = before + (use.source.length_m or 0.0)
        count = started(after, spacing_m) - started(before, spacing_m)
        source = PartSource(use.source.run, use.source.place, count, use.source.length_m)
        yield PartUse(PartName("hanger", None, use.name.sizes_m), source, True)


def started(length_m: float, each_m: float) -> int:
    """Return how many of a thing a length takes, one for each started length."""
    return ceil(length_m / each_m - ROUNDING)


def clamps(used: Sequence[PartUse], coupled: Sequence[PartUse]) -> Iterator[PartUse]:
    """Yield the clamps of each piece of hose, those at a coupling within a row among them."""
    each = round(fact("parts", "clamps").value)
    hoses = [use for use in used if use.name.kind == "flex"]
    for use in (*hoses, *(one for one in coupled if one.name.style == HOSE)):
        source = PartSource(use.source.run, use.source.place, each * use.source.count)
        yield PartUse(PartName("clamp", None, use.name.sizes_m), source, True)


def seams(
    wyes: Sequence[Wye], found: Sequence[PipeStretch], used: Sequence[PartUse], coupled: Sequence[PartUse]
) -> Iterator[PartSource]:
    """Yield every joint that is sealed, with the length around it [m]; the ends of hoses are clamped instead.

    A joint belongs to the row behind it. coupled: couplings within a row, which make two joints each; a coupling
    between two rows, among those used, makes two joints of one.
    """
    for stretch in found:
        yield from _seams_of(stretch)
    for wye in wyes:
        closed = sum(key_of(name) == "cap" for name in wye.hung.piece.joins)
        if closed:
            yield _seam(wye.hung.run, wye.hung.piece.place, wye.hung.bore_m, closed)
    for use in used:
        bore = use.name.sizes_m[0]
        if use.name.kind == "elbow" and use.source.count > 1:
            yield _seam(use.source.run, use.source.place, bore, use.source.count - 1)
        elif (use.name.kind == "coupling" and use.name.style != HOSE) or (use.name.kind == "adapter" and use.name.make):
            yield _seam(use.source.run, use.source.place, bore, use.source.count)
    for use in coupled:
        if use.name.style != HOSE:
            yield _seam(use.source.run, use.source.place, use.name.sizes_m[0], 2 * use.source.count)


def _seam(run: str, place: Place | None, bore_m: float, count: int) -> PartSource:
    return PartSource(run, place, count, count * perimeter(bore_m))


class End(NamedTuple):
    """A thing in the line: what it is, its bores [m] upstream and downstream, its row."""

    kind: LossKind | Literal["wye", "end"]
    before_m: float
    after_m: float
    place: Place | None


FITTINGS = frozenset({"elbow", "reducer", "gate", "other", "wye"})
"""What has an end made to slip into pipe, so that two of them meet in a sleeve only."""


def sleeves(found: Sequence[PipeStretch], used: Sequence[PartUse]) -> Iterator[PartUse]:
    """Yield what joins fitting to fitting where neither pipe nor hose is between them, by row: a sleeve of no make."""
    for stretch in found:
        for line in _lines(stretch):
            for one, two in pairwise(line):
                if one.kind in FITTINGS and two.kind in FITTINGS:
                    yield _sleeve(two.before_m, PartSource(stretch.run, two.place))
    for use in used:
        if use.name.kind == "elbow" and use.source.count > 1:
            between = PartSource(use.source.run, use.source.place, use.source.count - 1)
            yield _sleeve(use.name.sizes_m[0], between)


def _sleeve(bore_m: float, source: PartSource) -> PartUse:
    return PartUse(PartName("coupling", None, (bore_m,)), source, True)


def _seams_of(stretch: PipeStretch) -> Iterator[PartSource]:
    for line in _lines(stretch):
        for one, two in pairwise(line):
            if "hose" not in (one.kind, two.kind):
                yield _seam(stretch.run, two.place, two.before_m, 1)


def _lines(stretch: PipeStretch) -> Iterator[list[End]]:
    """Yield what stands one behind the other, a line for each port of a shared hose: the hose is put on by hand."""
    first = stretch.heads[0] if stretch.heads else ()
    collector = stretch.ends_at.place if stretch.ends_at is not None else None
    # a collector row with a coefficient of its own is a loss as well as the end
    line = [_end(loss) for loss in (*first, *stretch.body) if loss.kind != "other" or loss.place != collector]
    if stretch.starts_at is not None:
        line.insert(0, _wye_or_end(stretch.starts_at, stretch.start_bore_m))
    if stretch.ends_at is not None:
        bore = stretch.pieces[-1].bore_m if stretch.pieces else stretch.start_bore_m
        line.append(_wye_or_end(stretch.ends_at, bore))
    yield line
    for other in stretch.heads[1:]:
        yield [_end(loss) for loss in other if loss.assumed or loss.kind == "machine"]


def _end(loss: Loss) -> End:
    return End(loss.kind, *(loss.ends_m or (loss.bore_m, loss.bore_m)), loss.place)


def _wye_or_end(piece: Piece, bore_m: float) -> End:
    return End("wye" if piece.kind == "wye" else "end", bore_m, bore_m, piece.place)

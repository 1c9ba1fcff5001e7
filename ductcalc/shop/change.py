"""What-if: a `Change` makes a new shop of a shop; the one way to say it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Any

from ductcalc.shop.bore import Rectangle
from ductcalc.shop.kinds import PieceKind
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Piece, Run, Wanted
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import PlacedPiece, in_run, in_sizes, run_named, standing

BLEED = "air bleed"
HOLE, HOLE_DEG = "hole", 74.0
"""A hole's branch, and its angle: the steepest for which momentum is balanced; from 75 on tables of fittings hold."""

ORIFICE_K = 1.0 / 0.61**2 - 1.0
"""Loss of a sharp-edged opening on its own VP beyond that VP itself; 0.61 from memory, as for leaking gates."""
TINY_FLOW_M3_S = 1e-9


@dataclass(frozen=True)
class Change:
    """One thing changed: `label` says it in plain words to the reader, `apply` gives the changed shop."""

    label: str
    apply: Callable[[Shop], Shop]


def changed(shop: Shop, changes: Iterable[Change]) -> Shop:
    """Return the shop with changes applied in order; it keeps their labels, so that a report can say them."""
    for change in changes:
        shop = replace(change.apply(shop), changes=(*shop.changes, change.label))
    return shop


def together(label: str, changes: Sequence[Change]) -> Change:
    """Return several changes as one."""
    return Change(label, lambda shop: reduce(lambda so_far, change: change.apply(so_far), changes, shop))


def gate_leak(share: float) -> Change:
    """Let every gate leak this share of its bore when shut."""

    def apply(shop: Shop) -> Shop:
        settings = replace(shop.settings, gates=shop.settings.gates._replace(leak=share))
        leaking = _each_piece(shop, lambda piece: replace(piece, leak=None) if piece.kind == "gate" else piece)
        return replace(leaking, settings=settings)

    return Change(f"every shut gate leaks {100.0 * share:g} % of its bore", apply)


def sections_sized(sizes: Mapping[tuple[str, int], float]) -> Change:
    """Give sections other bores [m], by run as names are compared and number in it (from 1).

    Of a shop that is spelled out. Reducers follow, ports and the collector keep the size that was written for them.
    """

    def size_of(one: PlacedPiece) -> float | None:
        run = key_of(one.run.name)
        leads = one.piece.kind == "reducer" and (run, one.section + 1) in sizes
        return sizes.get((run, one.section), one.bore_m if leads else None)

    def apply(shop: Shop) -> Shop:
        for run in dict.fromkeys(run for run, _ in sizes):
            shop = in_run(shop, run, list(in_sizes(list(standing(run_named(shop, run))), size_of)))
        return shop

    named = (f"{run} {number}: bore {1000.0 * size:.5g} mm" for (run, number), size in sizes.items())
    return Change(", ".join(named), apply)


def section_at_most(run: str, number: int, size_m: float) -> Change:
    """Give every piece of a section of a run (counted from 1) that is wider than a bore [m] that bore.

    Its wye's outlet and its reducers are included; ports and the collector keep their size. For a shop that is spelled
    out (`spelled_out`): where sizes are blank or a run says `like`, other pieces would follow.
    """
    label = f"{run} {number}: bore {1000.0 * size_m:.5g} mm at most"
    return _in_run(label, run, lambda found: _at_most(found, number, size_m))


def air_bleed(run: str, number: int, area_m2: float) -> Change:
    """Let air in through an opening of this free area [m2] where a section of a run begins.

    It is a port without a machine's name but `BLEED`, always open, with a sharp-edged orifice's loss.
    """
    bore = 2.0 * math.sqrt(area_m2 / math.pi)
    opening = Piece("port", machine=BLEED, size_m=bore, k=ORIFICE_K, wanted=Wanted(flow_m3_s=TINY_FLOW_M3_S))

    def apply(shop: Shop) -> Shop:
        runs = [_with_bleed(r, number) if r.name == run else r for r in shop.runs]
        return replace(shop, runs=(*runs, Run(BLEED, (opening,))))

    return Change(f"{run} {number}: {10_000.0 * area_m2:.3g} cm2 open to the room where it begins", apply)


def holes(places: Sequence[tuple[str, int]]) -> Change:
    """Let air in where a piece with length (its run, its place there) is halfway, or at the end of its run.

    Each is a steep branch of its own, as wide as the duct, without a gate: `HOLE` and its number. Half
    of the length stands on either side. For a shop that is spelled out (`spelled_out`).
    """

    def apply(shop: Shop) -> Shop:
        numbered = {(key_of(run), place): number for number, (run, place) in enumerate(places, start=1)}
        runs = [replace(run, pieces=tuple(_with_holes(run, numbered))) for run in shop.runs]
        by_name = {key_of(run.name): run for run in shop.runs}
        bores = {number: _hole_bore(by_name[run], place) for (run, place), number in numbered.items()}
        return replace(shop, runs=(*runs, *(_hole(number, bores[number]) for number in sorted(bores))))

    return Change(f"{len(places)} places where air may leak in", apply)


def _hole(number: int, bore_m: float) -> Run:
    name, wanted = f"{HOLE} {number}", Wanted(flow_m3_s=TINY_FLOW_M3_S)
    return Run(name, (Piece("port", machine=name, size_m=bore_m, k=ORIFICE_K, wanted=wanted),))


def _with_holes(run: Run, numbered: Mapping[tuple[str, int], int]) -> Iterable[Piece]:
    for place, piece in enumerate(run.pieces):
        number = numbered.get((key_of(run.name), place))
        if number is None:
            yield piece
            continue
        wye = Piece("wye", size_m=_hole_bore(run, place), joins=(f"{HOLE} {number}",), angles_deg=(HOLE_DEG,))
        if not piece.traits.has_length:
            yield from (wye, piece)
            continue
        rise = None if piece.rise_m is None else 0.5 * piece.rise_m
        half = replace(piece, length_m=0.5 * (piece.length_m or 0.0), rise_m=rise)
        yield from (half, wye, replace(half, count=0) if piece.kind == "flex" else half)


def _hole_bore(run: Run, place: int) -> float:
    """Return the bore [m] of the duct in which a hole is: a piece's own, or that of the row ahead of the collector."""
    piece = run.pieces[place]
    if not piece.traits.has_length and place:
        piece = run.pieces[place - 1]
    assert piece.size_m is not None
    return piece.size_m


def cell_value(
    run: str, kind: PieceKind, number: int, field: str, value: Any, label: str, cells: Mapping[str, str] | None = None
) -> Change:
    """Replace one field of a piece: the `number`th (from 1) of its kind in a run. A value is in SI, None is blank.

    cells: the row as it would then be written, when it is known.
    Raises ValueError on `apply` when the shop has no such piece.
    """
    named = {field: value} | ({} if cells is None else {"cells": cells})
    return _in_run(label, run, lambda found: _with_fields(found, kind, number, named))


def place_of(run: Run, kind: PieceKind, number: int) -> int | None:
    """Return where the `number`th piece (from 1) of a kind stands in its run, from 0; None when there is none."""
    places = [place for place, piece in enumerate(run.pieces) if piece.kind == kind]
    return places[number - 1] if 1 <= number <= len(places) else None


def _in_run(label: str, name: str, change: Callable[[Run], Run]) -> Change:
    """Return a change of one run, found by its name."""

    def apply(shop: Shop) -> Shop:
        same = key_of(name)
        return replace(shop, runs=tuple(change(run) if key_of(run.name) == same else run for run in shop.runs))

    return Change(label, apply)


def _with_fields(run: Run, kind: PieceKind, number: int, named: Mapping[str, Any]) -> Run:
    place = place_of(run, kind, number)
    if place is None:
        raise ValueError(f"run {run.name!r} has no {kind} {number}")
    pieces = list(run.pieces)
    pieces[place] = replace(pieces[place], **named)
    return replace(run, pieces=tuple(pieces))


def _with_bleed(run: Run, number: int) -> Run:
    """Let the bleed join at the wye that the section starts from, beside what comes in there."""
    pieces, section = [], 0 if run.pieces[0].kind == "wye" else 1
    for piece in run.pieces:
        if piece.kind == "wye":
            section += 1
            if section == number:
                angles = piece.angles_deg or (45.0,)
                count = len(piece.joins)
                branches = angles * count if len(angles) == 1 else angles
                pieces.append(replace(piece, joins=(*piece.joins, BLEED), angles_deg=(*branches, 45.0)))
                continue
        pieces.append(piece)
    return replace(run, pieces=tuple(pieces))


def _each_piece(shop: Shop, change: Callable[[Piece], Piece]) -> Shop:
    runs = tuple(replace(run, pieces=tuple(change(piece) for piece in run.pieces)) for run in shop.runs)
    return replace(shop, runs=runs)


def _at_most(run: Run, number: int, size_m: float) -> Run:
    """Return a run with what is wider in a section in another bore, reducers too."""
    pieces, section = [], 0 if run.pieces[0].kind == "wye" else 1
    for piece in run.pieces:
        if piece.kind == "wye":
            section += 1
        fixed = piece.traits.keeps_bore and piece.kind != "reducer"
        fits = isinstance(piece.size_m, Rectangle) or (piece.size_m is not None and piece.size_m <= size_m)
        pieces.append(replace(piece, size_m=size_m) if section == number and not fixed and not fits else piece)
    return replace(run, pieces=tuple(pieces))

"""Hoses: shortened to the least length, pulled straight, or swapped for pipe."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ductcalc.answers.improve.candidate import BENT, Candidate
from ductcalc.catalog import default_style, fact
from ductcalc.shop.change import Change, cell_value, place_of, together
from ductcalc.shop.piece import Piece
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import PlacedPiece, in_run, run_named, standing


def least_hose_m(shop: Shop) -> float:
    """Return the shortest hose [m] that a machine can do with: the settings', else table `hose`, least length."""
    stated = shop.settings.improve.least_hose_m
    metric = " metric" if shop.system == "metric" else ""
    return fact("hose", f"least length{metric}").value if stated is None else stated


def hoses(shop: Shop) -> Iterator[Candidate]:
    """Yield every hose shortened, pulled straight, and swapped for pipe; with its own k it loses the same anyhow."""
    least = least_hose_m(shop)
    for run in shop.runs:
        for one in standing(run):
            if one.piece.kind == "flex" and one.piece.k is None:
                yield from _shorter(one, least)
                yield from _straighter(one)
                yield _pipe(one)


def bends_of(piece: Piece) -> int:
    """Return the bends of a hose; none counted stands for the default. Source: table `hose`, default bends."""
    return int(fact("hose", "default bends").value) if piece.count is None else piece.count


def _shorter(one: PlacedPiece, least: float) -> Iterator[Candidate]:
    length, rise = one.piece.length_m or 0.0, one.piece.rise_m
    if length <= least:
        return
    named = f"{one.run.name}: hose {one.number}"
    steps = [cell_value(one.run.name, "flex", one.number, "length_m", least, named)]
    if rise is not None:
        steps.append(cell_value(one.run.name, "flex", one.number, "rise_m", rise * least / length, named))
    yield Candidate(
        "shorter hose",
        together(f"{named} {least:.4g} m long in place of {length:.4g} m", steps),
        "length",
        length,
        least,
        one.run.name,
        one.name,
        (one.name,),
        one.rows,
        bends_of(one.piece),
        touches=frozenset([(*one.spot, "length")]),
    )


def _straighter(one: PlacedPiece) -> Iterator[Candidate]:
    bends = bends_of(one.piece)
    if bends:
        label = f"{one.run.name}: hose {one.number} pulled straight"
        yield Candidate(
            "straighter hose",
            cell_value(one.run.name, "flex", one.number, "count", 0, label),
            "count",
            float(bends),
            0.0,
            one.run.name,
            one.name,
            (one.name,),
            one.rows,
            bends,
            touches=frozenset([(*one.spot, "bends")]),
        )


def _pipe(one: PlacedPiece) -> Candidate:
    bends = bends_of(one.piece)
    return Candidate(
        "pipe for hose",
        pipe_for_hose(one.run.name, one.number),
        "length",
        one.piece.length_m,
        one.piece.length_m,
        one.run.name,
        one.name,
        (one.name,),
        one.rows,
        bends,
        touches=frozenset([(*one.spot, "length"), (*one.spot, "bends")]),
        rank=BENT,
        place=one.place,
    )


def pipe_for_hose(run: str, number: int) -> Change:
    """Put straight pipe of the default make in place of a hose, as long as it is; its bends become default elbows."""

    def apply(shop: Shop) -> Shop:
        found = run_named(shop, run)
        place = place_of(found, "flex", number)
        if place is None:
            raise ValueError(f"run {run!r} has no hose {number}")
        hose = found.pieces[place]
        pipe = replace(hose, kind="pipe", style=default_style("pipe"), count=None, factor=None, roughness_m=None)
        bends = bends_of(hose)
        elbow = Piece("elbow", style=default_style("elbow"), size_m=hose.size_m, count=bends, place=hose.place)
        inserted = [pipe, elbow] if bends else [pipe]
        return in_run(shop, run, [*found.pieces[:place], *inserted, *found.pieces[place + 1 :]])

    return Change(f"{run}: pipe in place of hose {number}", apply)

"""What-if: a shop with one thing changed, as a new shop; the one way to say it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from ductcalc.shop.piece import Piece, Run, Wanted
from ductcalc.shop.shop import Shop

BLEED = "air bleed"
ORIFICE_K = 1.0 / 0.61**2 - 1.0
"""Loss of a sharp-edged opening on its own VP beyond that VP itself; 0.61 from memory, as for leaking gates."""
TINY_FLOW_M3_S = 1e-9


def with_gate_leak(shop: Shop, share: float) -> Shop:
    """Return the shop with every gate leaking this share of its bore when shut."""
    settings = replace(shop.settings, gates=replace(shop.settings.gates, leak=share))
    changed = _each_piece(shop, lambda piece: replace(piece, leak=None) if piece.kind == "gate" else piece)
    return replace(changed, settings=settings)


def with_section_size(shop: Shop, run: str, number: int, size_m: float) -> Shop:
    """Return the shop with a section of a run (counted from 1) in another bore [m], its wye's outlet included.

    Ports, reducers and the collector keep the size that was written for them.
    """
    return replace(shop, runs=tuple(_resized(r, number, size_m) if r.name == run else r for r in shop.runs))


def with_air_bleed(shop: Shop, run: str, number: int, area_m2: float) -> Shop:
    """Return the shop with an opening of this free area [m2] that lets air in where a section of a run begins.

    It is a port without a machine's name but `BLEED`, always open, with a sharp-edged orifice's loss.
    """
    bore = 2.0 * math.sqrt(area_m2 / math.pi)
    opening = Piece("port", machine=BLEED, size_m=bore, k=ORIFICE_K, wanted=Wanted(flow_m3_s=TINY_FLOW_M3_S))
    runs = [_with_bleed(r, number) if r.name == run else r for r in shop.runs]
    return replace(shop, runs=(*runs, Run(BLEED, (opening,))))


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


def _resized(run: Run, number: int, size_m: float) -> Run:
    pieces, section = [], 0 if run.pieces[0].kind == "wye" else 1
    for piece in run.pieces:
        if piece.kind == "wye":
            section += 1
        fixed = piece.kind in ("port", "reducer", "collector", "cap", "like")
        pieces.append(replace(piece, size_m=size_m) if section == number and not fixed else piece)
    return replace(run, pieces=tuple(pieces))

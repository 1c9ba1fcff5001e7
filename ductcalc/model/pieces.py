"""What each row of the duct table takes: pipe, hose, elbow, reducer, gate, other."""

from __future__ import annotations

from dataclasses import replace
from typing import assert_never

from ductcalc.catalog import elbow, fact, gate_part_open, roughness
from ductcalc.errors import InputError, Problem
from ductcalc.model.decided import Decided, from_fact, given
from ductcalc.model.loss import Loss
from ductcalc.physics.fittings import narrowing_k, no_regain_k, shut_gate_k, widening_k
from ductcalc.shop.bore import RECTANGULAR, Rectangle
from ductcalc.shop.hanging import HungPiece
from ductcalc.shop.kinds import TAPER_ANGLE_DEG
from ductcalc.shop.settings import Junction, Settings

PIPE_MAKE = "make of pipe"
ELBOW_BUILD = "build of elbows"
HOSE_BENDS = "bends in hoses"
HOSE_FACTOR = "hose factor"
GATE_LEAK = "leak of shut gates"


def piece_loss(hung: HungPiece, bore_before_m: float, settings: Settings, junction: Junction) -> Loss:
    """Return what a piece takes, given the bore [m] ahead of it; ports and wyes have rules of their own.

    Raises InputError when the piece lacks what its kind cannot do without.
    """
    piece = hung.piece
    lacking = [need for need in piece.traits.needs if getattr(piece, need.field) is None]
    if lacking:
        raise InputError([Problem(need.message, need.hint, piece.place) for need in lacking])
    if piece.k is not None:
        return _own_k(hung, bore_before_m, settings)
    match piece.kind:
        case "pipe":
            return _pipe(hung)
        case "flex":
            return _hose(hung, settings)
        case "elbow":
            return _elbow(hung)
        case "reducer":
            return reducer_loss(bore_before_m, hung, junction)
        case "gate":
            return _gate(hung, settings)
        case "other" | "port" | "wye" | "cap" | "collector" | "like":
            raise ValueError(f"a piece of kind {piece.kind} has no loss of its own but its k")
        case _:
            assert_never(piece.kind)


def _label(hung: HungPiece) -> str:
    return hung.piece.machine or hung.piece.style or hung.piece.note or hung.piece.kind


def _own_k(hung: HungPiece, bore_before_m: float, settings: Settings) -> Loss:
    piece, tapers = hung.piece, hung.piece.kind == "reducer"
    assert piece.k is not None and piece.traits.loss is not None
    count = piece.count or 1 if piece.traits.alike else 1
    return Loss(
        piece.traits.loss,
        _label(hung),
        min(hung.bore_m, bore_before_m) if tapers else hung.bore_m,
        given(piece.k * count, "loss coefficient as written"),
        shut_k=_shut_k(hung, settings) if piece.kind == "gate" else None,
        length_m=piece.length_m or 0.0,
        rise_m=piece.rise_m or 0.0,
        place=piece.place,
        note=piece.note,
        ends_m=(bore_before_m, hung.bore_m) if tapers else None,
    )


def _pipe_roughness(hung: HungPiece) -> Decided:
    piece = hung.piece
    if piece.roughness_m is not None:
        return given(piece.roughness_m, "roughness as written")
    make = piece.style if piece.kind == "pipe" else None
    assumed = PIPE_MAKE if piece.kind == "pipe" and piece.style is None else None
    decided = from_fact(roughness(make), f"{make or 'spiral'} pipe", assumed)
    if not isinstance(hung.bore_m, Rectangle):
        return decided
    cited = fact("rectangular", "hydraulic diameter, area over perimeter").cited
    reason = f"{decided.reason}; rectangular, on its hydraulic diameter of 4 A / P"
    return replace(decided, source=f"{decided.source}; {cited}", reason=reason)


def _pipe(hung: HungPiece) -> Loss:
    piece = hung.piece
    return Loss(
        "pipe",
        piece.style or (RECTANGULAR if isinstance(hung.bore_m, Rectangle) else "spiral"),
        hung.bore_m,
        length_m=piece.length_m or 0.0,
        roughness_m=_pipe_roughness(hung),
        factor=given(1.0, "pipe"),
        rise_m=piece.rise_m or 0.0,
        place=piece.place,
        note=piece.note,
    )


def _hose(hung: HungPiece, settings: Settings) -> Loss:
    piece, method = hung.piece, settings.method
    if piece.factor is not None:
        factor = given(piece.factor, "hose factor as written")
    elif piece.roughness_m is not None:
        factor = given(1.0, "no hose factor beside a roughness")
    elif method.flex_factor is not None:
        factor = given(method.flex_factor, "hose factor of the settings")
    else:
        factor = from_fact(fact("hose", "factor"), "times the friction of spiral pipe", HOSE_FACTOR)
    return Loss(
        "hose",
        piece.style or "hose",
        hung.bore_m,
        _bends(hung, method.hose_bend_k),
        length_m=piece.length_m or 0.0,
        roughness_m=_pipe_roughness(hung),
        factor=factor,
        rise_m=piece.rise_m or 0.0,
        place=piece.place,
        note=piece.note,
    )


def _bends(hung: HungPiece, bend_k: float | None) -> Decided | None:
    count = hung.piece.count
    if count == 0:
        return None
    assumed = HOSE_BENDS if count is None else None
    reason = "one bend assumed" if count is None else f"{count} bend{'s' if count > 1 else ''}"
    if bend_k is not None:
        value = bend_k * (count or 1)
        return Decided(value, 0.0 if count is None else value, value, "your settings", reason, assumed)
    return from_fact(fact("hose", "bend"), reason, assumed).times(count or 1)


def _elbow(hung: HungPiece) -> Loss:
    piece = hung.piece
    angle = piece.settled_deg[0]
    found = elbow(piece.style, piece.radius, angle, hung.bore_m)
    count = piece.count or 1
    build = piece.style or "5-gore"
    reason = f"{build}, {angle:g} degrees" + (f", {count} of them" if count > 1 else "")
    k = from_fact(found, reason, None if piece.style else ELBOW_BUILD).times(count)
    return Loss(
        "elbow",
        f"{count} x {build}" if count > 1 else build,
        hung.bore_m,
        k,
        place=piece.place,
        note=piece.note,
    )


def reducer_loss(before_m: float, hung: HungPiece, junction: Junction, assumed: bool = False) -> Loss:
    """Return a taper's loss between two bores [m] on the smaller one's VP (handbook: no regain when it widens).

    assumed: nobody wrote it; it stands ahead of the piece `hung`.
    """
    after_m, angle_deg = hung.bore_m, TAPER_ANGLE_DEG if assumed else hung.piece.settled_deg[0]
    small, large = min(before_m, after_m), max(before_m, after_m)
    formula = "narrowing" if before_m > after_m else "widening"
    if before_m == after_m:
        k, reason = 0.0, "both ends alike"
    elif before_m > after_m:
        k, reason = float(narrowing_k(small, large, angle_deg)), f"narrowing, {angle_deg:g} degrees included"
    elif junction == "handbook":
        k, reason, formula = float(no_regain_k(small, large)), "widening, nothing regained", "widening by the sheet"
    else:
        k, reason = float(widening_k(small, large, angle_deg)), f"widening, {angle_deg:g} degrees included"
    if isinstance(before_m, Rectangle) or isinstance(after_m, Rectangle):
        reason += ", by the true areas"
    if assumed:
        reason += "; assumed between unlike neighbours"
    label = "reducer (assumed)" if assumed else "reducer"
    return Loss(
        "reducer",
        label,
        small,
        Decided(k, k, k, fact("transition", formula).cited, reason),
        place=hung.piece.place,
        note=None if assumed else hung.piece.note,
        assumed=assumed,
        ends_m=(before_m, after_m),
    )


def _gate(hung: HungPiece, settings: Settings) -> Loss:
    piece = hung.piece
    opening = 1.0 if piece.opening is None else piece.opening
    reason = "gate open" if opening == 1.0 else f"gate {opening:.0%} open"
    k = from_fact(gate_part_open(opening), reason)
    return Loss(
        "gate",
        piece.machine or "gate",
        hung.bore_m,
        k,
        _shut_k(hung, settings),
        place=piece.place,
        note=piece.note,
    )


def _shut_k(hung: HungPiece, settings: Settings) -> Decided:
    """Return the coefficient of a shut gate on its own bore's VP; infinite when it is tight."""
    stated = hung.piece.leak if hung.piece.leak is not None else settings.gates.leak
    if stated is not None:
        return given(float(shut_gate_k(stated)), f"shut, leaks {stated:.3g} of its bore")
    share = from_fact(fact("gate", "leak"), "shut, leaks through a share of its bore", GATE_LEAK)
    value, low, high = (float(shut_gate_k(part)) for part in (share.value, share.low, share.high))
    return Decided(value, low, high, share.source, share.reason, GATE_LEAK)

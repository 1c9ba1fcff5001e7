"""A bigger port, a second port, a smoother hood."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ductcalc.answers.improve.candidate import JOINED, PORT, Candidate
from ductcalc.answers.improve.hoses import least_hose_m
from ductcalc.answers.improve.sizes import next_sizes
from ductcalc.model.machine import wanted_flow
from ductcalc.physics.velocity import velocity
from ductcalc.shop.change import Change, cell_value
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Drop, Piece, Run, Wanted
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import PlacedPiece, by_section, in_run, run_named

SECOND = " second port"
SMOOTHER = {"plain": ("flanged", "tapered"), "flanged": ("tapered",)}


def ports(shop: Shop) -> Iterator[Candidate]:
    """Yield every port a size bigger, a second one for machines that have one, and smoother bare hoods."""
    heads = [(run, _head(run)) for run in shop.runs if not run.is_outlet]
    used = [key_of(one.piece.machine or run.name) for run, head in heads for one in head]
    for run, head in heads:
        for one in head:
            if one.piece.wanted is not None and one.piece.wanted.off:
                continue
            yield from _bigger(shop, one, len(head) == 1)
            yield from _smoother(one)
            if len(head) == 1 and used.count(key_of(one.piece.machine or run.name)) == 1:
                yield _second(shop, one)


def _head(run: Run) -> list[PlacedPiece]:
    return [one for one in by_section(run).get(1, []) if one.piece.kind == "port"]


def _bigger(shop: Shop, one: PlacedPiece, own_hose: bool) -> Iterator[Candidate]:
    for size in next_sizes(shop, [one], one.bore_m):
        if size > one.bore_m:
            yield Candidate(
                "bigger port",
                bigger_port(one.run.name, one.number, size, own_hose),
                "size",
                one.bore_m,
                size,
                one.run.name,
                one.name,
                (one.name,),
                one.rows,
                touches=frozenset([(*one.spot, "size")]),
                rank=PORT,
            )


def bigger_port(run: str, number: int, size_m: float, with_hose: bool = True) -> Change:
    """Make a port bigger; it wants the same air [m3/s] and keeps its loss coefficient, now on the bigger bore.

    with_hose: a narrower hose right behind it gets the same size; what follows gets a taper.
    """

    def apply(shop: Shop) -> Shop:
        pieces = list(run_named(shop, run).pieces)
        place = [n for n, piece in enumerate(pieces) if piece.kind == "port"][number - 1]
        pieces[place] = replace(_same_wish(pieces[place]), size_m=size_m)
        behind = place + 1
        if with_hose and behind < len(pieces) and pieces[behind].kind == "flex":
            pieces[behind] = replace(pieces[behind], size_m=max(size_m, pieces[behind].size_m or 0.0))
        return in_run(shop, run, pieces)

    return Change(f"{run}: port of {1000.0 * size_m:.5g} mm", apply)


def _same_wish(port: Piece) -> Piece:
    """Return a port with its wish as a flow, and a suction stated at a flow as one at the speed that this was."""
    assert port.size_m is not None
    wanted = Wanted(flow_m3_s=wanted_flow(port, port.size_m)[0])
    return replace(port, wanted=wanted, drop=_at_speed(port.drop, port.size_m))


def _at_speed(drop: Drop | None, bore_m: float) -> Drop | None:
    if drop is None or drop.flow_m3_s is None:
        return drop
    return Drop(drop.pressure_pa, speed_m_s=float(velocity(drop.flow_m3_s, bore_m)), total=drop.total)


def _second(shop: Shop, one: PlacedPiece) -> Candidate:
    return Candidate(
        "second port",
        second_port(one.run.name, least_hose_m(shop)),
        "count",
        1.0,
        2.0,
        one.run.name,
        one.name,
        (one.name,),
        one.rows,
        touches=frozenset([(*one.spot, "count")]),
        rank=JOINED,
    )


def second_port(run: str, hose_m: float) -> Change:
    """Give a machine a second port like the first, half the air wanted at each, joined at a wye right behind the first.

    A hose behind the first port stays ahead of the wye, and the second port gets one like it; without one, a hose of
    the least length [m] with one bend. A reducer right there becomes the wye's outlet.
    """

    def apply(shop: Shop) -> Shop:
        pieces = run_named(shop, run).pieces
        port = _half(pieces[0])
        hose = pieces[1] if len(pieces) > 1 and pieces[1].kind == "flex" else None
        rest = pieces[2:] if hose else pieces[1:]
        own = hose or Piece("flex", size_m=port.size_m, length_m=hose_m, count=1)
        name = _unused_name(shop, f"{run}{SECOND}")
        size = rest[0].size_m if rest else own.size_m
        wye = Piece("wye", size_m=size, joins=(name,), angles_deg=(45.0,))
        with_wye = in_run(shop, run, [port, *([hose] if hose else []), wye, *rest])
        twin = Run(name, (replace(port, machine=port.machine or run), own))
        return replace(with_wye, runs=(*with_wye.runs, twin))

    return Change(f"{run}: a second port beside the first", apply)


def _half(port: Piece) -> Piece:
    wished = _same_wish(port)
    assert wished.wanted is not None and wished.wanted.flow_m3_s is not None
    inlet = None if port.inlet_m2 is None else 0.5 * port.inlet_m2
    return replace(wished, wanted=Wanted(flow_m3_s=0.5 * wished.wanted.flow_m3_s), inlet_m2=inlet)


def _unused_name(shop: Shop, name: str) -> str:
    known = {key_of(run.name) for run in shop.runs}
    while key_of(name) in known:
        name += "*"
    return name


def origin(run: str, known: Sequence[str]) -> str:
    """Return the run that a port belongs to: its own, or the one beside which it was put."""
    return run if run in known else run.rpartition(SECOND)[0]


def _smoother(one: PlacedPiece) -> Iterator[Candidate]:
    piece = one.piece
    if piece.k is not None or piece.drop is not None or piece.inlet_m2 is not None:
        return
    for style in SMOOTHER.get(piece.style or "", ()):
        label = f"{one.run.name}: {style} hood"
        yield Candidate(
            "smoother hood",
            cell_value(one.run.name, "port", one.number, "style", style, label),
            "build",
            piece.style,
            style,
            one.run.name,
            one.name,
            (one.name,),
            one.rows,
            touches=frozenset([(*one.spot, "hood")]),
        )



"""A bigger port, a second port, a smoother hood.

A machine resists in its throat and cabinet as before when its port alone grows or gets a second one beside it: at the
same air it takes the same pressure there, and the mouth's loss alone shrinks. Only a bare mouth keeps its coefficient.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from ductcalc.answers.improve.candidate import JOINED, PORT, Candidate, Kind
from ductcalc.answers.improve.hoses import least_hose_m
from ductcalc.catalog import hood_entry, is_adapter, sizes_for
from ductcalc.model.machine import port_k, wanted_flow
from ductcalc.model.model import Model
from ductcalc.physics.fittings import FLUSH_ENTRY_K
from ductcalc.physics.velocity import bore_area, velocity
from ductcalc.shop.bore import Rectangle
from ductcalc.shop.change import Change, cell_value
from ductcalc.shop.names import key_of
from ductcalc.shop.piece import Drop, Piece, Run, Wanted
from ductcalc.shop.shop import Shop
from ductcalc.shop.standing import PlacedPiece, by_section, in_run, run_named

SECOND = " second port"
SMOOTHER = {"plain": ("flanged", "bellmouth", "tapered"), "flanged": ("bellmouth", "tapered")}


class Resistance(NamedTuple):
    """Loss coefficients on a port's VP: of its mouth, and of the machine behind it."""

    mouth: float
    machine: float

    def with_area(self, times: float) -> float:
        """Return both on the VP of a port of so many times the area; the machine takes the same at the same air."""
        return self.mouth + self.machine * times**2


def ports(model: Model) -> Iterator[Candidate]:
    """Yield every port a size bigger, a second one for machines that have one, and smoother bare hoods."""
    shop = model.shop
    heads = [(run, _head(run)) for run in shop.runs if not run.is_outlet]
    used = [key_of(one.piece.machine or run.name) for run, head in heads for one in head]
    for run, head in heads:
        for one in head:
            if (one.piece.wanted is not None and one.piece.wanted.off) or isinstance(one.bore_m, Rectangle):
                continue
            k = _resistance(one, shop)
            yield from _bigger(shop, one, k, len(head) == 1)
            yield from _smoother(one)
            if len(head) == 1 and used.count(key_of(one.piece.machine or run.name)) == 1:
                yield from _second(shop, one, k)


def _resistance(one: PlacedPiece, shop: Shop) -> Resistance | None:
    """Return what a machine loses behind its port and at its mouth, on the port's VP; None of a bare mouth, and where
    the free inlet area says it by itself.
    """
    piece = one.piece
    if piece.inlet_m2 is not None and piece.k is None and piece.drop is None:
        return None
    if piece.style is not None and piece.k is None and piece.drop is None:
        return None
    k = port_k(piece, one.bore_m, shop.settings.method).value
    entry = FLUSH_ENTRY_K if piece.style is None else hood_entry(piece.style, next(iter(piece.angles_deg), None)).value
    mouth = min(k, entry)
    return Resistance(mouth, k - mouth)


def _head(run: Run) -> list[PlacedPiece]:
    return [one for one in by_section(run).get(1, []) if one.piece.kind == "port"]


def _bigger(shop: Shop, one: PlacedPiece, inner: Resistance | None, own_hose: bool) -> Iterator[Candidate]:
    sold = (size for size in sizes_for(shop, [one.piece]) if size > one.bore_m and not is_adapter(size, one.bore_m))
    for size in sorted(sold)[:1]:
        k = None if inner is None else inner.with_area(float(bore_area(size) / bore_area(one.bore_m)))
        for kind, own_k in _made(k, "bigger port", "wider throat"):
            yield Candidate(
                kind,
                bigger_port(one.run.name, one.number, size, own_k, own_hose),
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


def _made(k: float | None, as_it_is: Kind, opened: Kind) -> Iterator[tuple[Kind, float | None]]:
    """Yield a port's change as the machine is, with the coefficient that it then has, and with the machine opened."""
    yield as_it_is, k
    if k is not None:
        yield opened, None


def bigger_port(run: str, number: int, size_m: float, k: float | None = None, with_hose: bool = True) -> Change:
    """Make a port bigger; it wants the same air [m3/s].

    k: its loss coefficient on the bigger bore, None when it keeps the one it has, as if the machine were opened up too.
    with_hose: a narrower hose right behind it gets the same size; what follows gets a taper.
    """

    def apply(shop: Shop) -> Shop:
        pieces = list(run_named(shop, run).pieces)
        place = [n for n, piece in enumerate(pieces) if piece.kind == "port"][number - 1]
        pieces[place] = replace(_losing(_same_wish(pieces[place]), k), size_m=size_m)
        behind = place + 1
        if with_hose and behind < len(pieces) and pieces[behind].kind == "flex":
            pieces[behind] = replace(pieces[behind], size_m=max(size_m, pieces[behind].size_m or 0.0))
        return in_run(shop, run, pieces)

    return Change(f"{run}: port of {1000.0 * size_m:.5g} mm", apply)


def _losing(port: Piece, k: float | None) -> Piece:
    return port if k is None else replace(port, k=k, drop=None)


def _same_wish(port: Piece) -> Piece:
    """Return a port with its wish as a flow, and a suction stated at a flow as one at the speed that this was."""
    assert port.size_m is not None
    wanted = Wanted(flow_m3_s=wanted_flow(port, port.size_m)[0])
    return replace(port, wanted=wanted, drop=_at_speed(port.drop, port.size_m))


def _at_speed(drop: Drop | None, bore_m: float) -> Drop | None:
    if drop is None or drop.flow_m3_s is None:
        return drop
    return Drop(drop.pressure_pa, speed_m_s=float(velocity(drop.flow_m3_s, bore_m)), total=drop.total)


def _second(shop: Shop, one: PlacedPiece, inner: Resistance | None) -> Iterator[Candidate]:
    k = None if inner is None else inner.with_area(2.0)
    for kind, own_k in _made(k, "second port", "second opening"):
        yield Candidate(
            kind,
            second_port(one.run.name, least_hose_m(shop), own_k),
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


def second_port(run: str, hose_m: float, k: float | None = None) -> Change:
    """Give a machine a second port like the first, half the air wanted at each, joined at a wye right behind the first.

    k: the loss coefficient of each, None when they keep the first one's, as if the machine were opened up too. A hose
    behind the first port stays ahead of the wye, and the second port gets one like it; without one, a hose of the least
    length [m] with one bend. A reducer right there becomes the wye's outlet.
    """

    def apply(shop: Shop) -> Shop:
        pieces = run_named(shop, run).pieces
        port = _losing(_half(pieces[0]), k)
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



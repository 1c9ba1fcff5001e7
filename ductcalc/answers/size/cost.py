"""What a choice of sizes costs: the shop's own prices, else kilograms of sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from math import pi
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.parts.buying import hoses_of, price_of, sticks_of
from ductcalc.answers.parts.uses import HOSE, Use, pipe_make, uses
from ductcalc.answers.size.stretches import Plan, Stretch
from ductcalc.catalog import fact, pipe_weight
from ductcalc.model.model import Model, build_model
from ductcalc.shop.hanging import HungPiece, Wye
from ductcalc.shop.names import key_of
from ductcalc.shop.parts import PartName, Price
from ductcalc.shop.shop import Shop

Floats = NDArray[np.float64]
Places = NDArray[np.intp]
Money = Literal["weight", "money"]


@dataclass(frozen=True)
class WyeCost:
    """A wye's price by the places of its stretches: the outlet's first, then those that come in."""

    stretches: tuple[int, ...]
    table: Floats


@dataclass(frozen=True)
class Costs:
    """Costs of a plan in [kg] of sheet or in money.

    own: for each stretch the cost at each of its places. wyes: what depends on several stretches. now: as written,
    None where something has no price. unpriced: kinds of parts that have no price and count as nothing.
    """

    kind: Money
    own: tuple[Floats, ...]
    wyes: tuple[WyeCost, ...]
    now: float | None
    unpriced: tuple[str, ...] = ()

    def of(self, places: Places) -> Floats:
        """Return what sizings (sizings, stretches) cost (sizings,)."""
        total = np.zeros(len(places))
        for number, own in enumerate(self.own):
            total += own[places[:, number]]
        for wye in self.wyes:
            total += wye.table[tuple(places[:, number] for number in wye.stretches)]
        return total

    def least(self) -> tuple[Floats, ...]:
        """Return for each stretch and place the least that it adds, whatever the others are; the bound's costs."""
        found = [own.copy() for own in self.own]
        for wye in self.wyes:
            rest = tuple(range(1, wye.table.ndim))
            found[wye.stretches[0]] += wye.table.min(axis=rest) if rest else wye.table
        return tuple(found)


def costs_of(shop: Shop, plan: Plan) -> tuple[Plan, Costs, tuple[str, ...]]:
    """Return the plan without sizes that have no price, its costs, and what had to be decided about them."""
    prices = shop.settings.parts.prices
    if not prices:
        return plan, _weights(plan), ()
    priced = _priced_plan(plan, prices)
    if priced is None:
        said = "prices are written, but not for pipe and hose of every stretch: sized by the weight of sheet instead"
        return plan, _weights(plan), (said,)
    left_out = sorted({f"{1000.0 * size:g}" for size in _all_sizes(plan) - _all_sizes(priced)}, key=float)
    remarks = (f"sizes without a price were left out: {', '.join(left_out)} mm",) if left_out else ()
    return priced, _prices(priced, prices), remarks


def _all_sizes(plan: Plan) -> set[float]:
    return {size for stretch in plan.stretches for size in stretch.sizes_m}


def _pieces(plan: Plan, stretch: Stretch) -> Iterator[HungPiece]:
    return (hung for section in stretch.sections for hung in plan.hanging.sections[section].pieces)


def _weights(plan: Plan) -> Costs:
    own = []
    for stretch in plan.stretches:
        sizes = stretch.sizes_m or (None,)
        own.append(np.array([sum(_weight(h, size) for h in _pieces(plan, stretch)) for size in sizes]))
    now = sum(_weight(h, None) for stretch in plan.stretches for h in _pieces(plan, stretch))
    return Costs("weight", tuple(own), (), float(now))


def _weight(hung: HungPiece, size_m: float | None) -> float:
    """Return the sheet [kg] of a pipe, a hose as if it were pipe, or elbows by the length of their middle line."""
    bore = hung.bore_m if size_m is None else size_m
    piece = hung.piece
    if piece.traits.has_length:
        return (piece.length_m or 0.0) * pipe_weight(bore)
    if piece.kind == "elbow":
        radius = (piece.radius or fact("elbow", "default r_over_d").value) * bore
        return (piece.count or 1) * radius * piece.settled_deg[0] * pi / 180.0 * pipe_weight(bore)
    return 0.0


def _priced_plan(plan: Plan, prices: Sequence[Price]) -> Plan | None:
    """Return the plan with only those sizes whose pipe and hose have a price; None when a stretch has none."""
    kept = []
    for stretch in plan.stretches:
        makes = {_straight(hung) for hung in _pieces(plan, stretch) if hung.piece.traits.has_length}
        sizes = tuple(
            size
            for size in stretch.sizes_m
            if all(_per_m(replace(name, sizes_m=(size,)), plan.shop, prices) is not None for name in makes)
        )
        if stretch.sizes_m and not sizes:
            return None
        kept.append(replace(stretch, sizes_m=sizes))
    return replace(plan, stretches=tuple(kept))


def _straight(hung: HungPiece) -> PartName:
    if hung.piece.kind == "flex":
        return PartName("flex", None, (hung.bore_m,))
    return PartName("pipe", pipe_make(hung.piece), (hung.bore_m,))


def _per_m(name: PartName, shop: Shop, prices: Sequence[Price]) -> float | None:
    """Return the least price per metre of pipe or hose over the lengths sold; None without a price."""
    sold = hoses_of(shop) if name.kind == "flex" else sticks_of(name.style or HOSE, shop)
    found = [(price_of(name, length, prices), length) for length in sold.lengths_m]
    return min((price / length for price, length in found if price is not None), default=None)


def _price(use: Use, shop: Shop, prices: Sequence[Price]) -> float | None:
    if use.name.by_length:
        per_m = _per_m(use.name, shop, prices)
        return None if per_m is None else per_m * (use.source.length_m or 0.0)
    price = price_of(use.name, None, prices)
    return None if price is None else price * use.source.count


def _prices(plan: Plan, prices: Sequence[Price]) -> Costs:
    """Price every stretch at each of its sizes, all others at one; what a wye costs hangs on several stretches."""
    unpriced: dict[str, None] = {}
    places = plan.nearest()
    base = _sum(build_model(plan.with_sizes(places)), plan.shop, prices, unpriced)
    own = []
    for number, stretch in enumerate(plan.stretches):
        costs = np.zeros(stretch.ways)
        for place in range(len(stretch.sizes_m)):
            moved = places.copy()
            moved[number] = place
            costs[place] = _sum(build_model(plan.with_sizes(moved)), plan.shop, prices, unpriced) - base
        own.append(costs)
    own[0] = own[0] + base
    model = build_model(plan.shop)
    wyes = tuple(_wye_costs(model, plan, prices, unpriced))
    return Costs("money", tuple(own), wyes, _now(model, plan.shop, prices), tuple(unpriced))


def _sum(model: Model, shop: Shop, prices: Sequence[Price], unpriced: dict[str, None]) -> float:
    """Add up everything but wyes and machines' own ports; what has no price counts as nothing and is noted."""
    total = 0.0
    for use in uses(model):
        if use.name.kind in ("wye", "port"):
            continue
        price = _price(use, shop, prices)
        if price is None:
            unpriced.setdefault(use.name.kind)
        total += price or 0.0
    return total


def _now(model: Model, shop: Shop, prices: Sequence[Price]) -> float | None:
    found = [_price(use, shop, prices) for use in uses(model) if use.name.kind != "port"]
    straights = [_price(use, shop, prices) for use in uses(model) if use.name.by_length]
    return None if None in straights else sum(price or 0.0 for price in found)


def _wye_costs(model: Model, plan: Plan, prices: Sequence[Price], unpriced: dict[str, None]) -> Iterator[WyeCost]:
    names = [use.name for use in uses(model) if use.name.kind == "wye"]
    for wye, name in zip(model.hanging.wyes, names, strict=True):
        sections = (wye.outlet, *(stream.section for stream in wye.streams))
        stretches = tuple(int(plan.stretch_of[section]) for section in sections)
        shape = tuple(plan.stretches[number].ways for number in stretches)
        table = np.zeros(shape)
        for places in product(*map(range, shape)):
            price = price_of(replace(name, sizes_m=_wye_sizes(plan, wye, places)), None, prices)
            if price is None:
                unpriced.setdefault("wye")
            table[places] = price or 0.0
        yield WyeCost(stretches, table)


def _wye_sizes(plan: Plan, wye: Wye, places: Sequence[int]) -> tuple[float, ...]:
    """Return a wye's sizes (outlet, straight inlet, branches) with these places; closed branches have the outlet's."""
    outlet = plan.size_m(int(plan.stretch_of[wye.outlet]), places[0]) or wye.hung.bore_m
    ends = [_end_m(plan, stream.section, place) for stream, place in zip(wye.streams, places[1:], strict=True)]
    straight = [end for end, stream in zip(ends, wye.streams, strict=True) if stream.straight]
    coming = iter([end for end, stream in zip(ends, wye.streams, strict=True) if not stream.straight])
    branches = [outlet if key_of(name) == "cap" else next(coming) for name in wye.hung.piece.joins]
    return (outlet, *straight, *branches)


def _end_m(plan: Plan, number: int, place: int) -> float:
    """Return the bore [m] with which a section arrives at its wye."""
    section = plan.hanging.sections[number]
    fixed = bool(section.pieces) and section.pieces[-1].piece.traits.keeps_bore
    size = None if fixed else plan.size_m(int(plan.stretch_of[number]), place)
    return section.end_bore_m if size is None else size

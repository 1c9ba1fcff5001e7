"""What a design costs: the shop's own prices, else kilograms of sheet; and what its changes of size are worth."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import pi
from typing import Literal

from ductcalc.answers.parts.buying import hoses_of, price_of, sticks_of
from ductcalc.answers.parts.uses import PartUse, uses
from ductcalc.answers.size.stretches import Design, Plan
from ductcalc.catalog import HOSE, fact, pipe_weight
from ductcalc.model.model import Model
from ductcalc.shop.hanging import HungPiece
from ductcalc.shop.standing import SAME_M

Money = Literal["weight", "money"]
NOT_PRICED = ("port", "coupling")
"""A machine's port is its own; how many couplings are bought hangs on the sticks."""


@dataclass(frozen=True)
class Costs:
    """Costs of a plan's designs in [kg] of sheet or in money."""

    plan: Plan
    written: Model
    kind: Money

    @classmethod
    def of(cls, plan: Plan, written: Model) -> tuple[Costs, tuple[str, ...]]:
        """Return the costs of a plan, and what had to be decided about them."""
        if not plan.shop.settings.parts.prices:
            return cls(plan, written, "weight"), ()
        priced = cls(plan, written, "money")
        if priced.of_model(written) is not None:
            return priced, ()
        said = "prices are written, but not for all pipe and hose as written: sized by the weight of sheet instead"
        return cls(plan, written, "weight"), (said,)

    def of_model(self, model: Model) -> float | None:
        """Return what a shop costs; None where a pipe or hose of it has no price."""
        if self.kind == "weight":
            hung = (hung for section in model.hanging.sections for hung in section.pieces)
            return sum(map(_weight, hung))
        total = 0.0
        for use, price in self._prices(model):
            if price is None and use.name.by_length:
                return None
            total += price or 0.0
        return total

    def unpriced(self, model: Model) -> tuple[str, ...]:
        """Return kinds of parts that have no price and count as nothing."""
        if self.kind == "weight":
            return ()
        return tuple(dict.fromkeys(use.name.kind for use, price in self._prices(model) if price is None))

    def changes(self, design: Design) -> float:
        """Return what changes of size along straight runs and behind ports must be worth, as a cost.

        Source: table `parts`, size change.
        """
        unlike = [pair for pair in self._pairs(design) if abs(pair[0] - pair[1]) > SAME_M]
        return fact("parts", "size change").value * self._per_kg * sum(pipe_weight(max(pair)) for pair in unlike)

    def _pairs(self, design: Design) -> Iterator[tuple[float, float]]:
        """Yield bores [m] that follow one another straight on."""
        plan = self.plan
        yield from ((design[start], design[to]) for start, to, straight in plan.joints if straight)
        yield from ((s.port_m, bore) for s, bore in zip(plan.stretches, design, strict=True) if s.port_m)

    @cached_property
    def _per_kg(self) -> float:
        """What a kilogram of pipe costs: 1 where sheet is the cost, else the mean of the shop as written."""
        if self.kind == "weight":
            return 1.0
        hung = (hung for section in self.written.hanging.sections for hung in section.pieces)
        weight = sum(_weight(one) for one in hung if one.piece.traits.has_length)
        money = sum(price or 0.0 for use, price in self._prices(self.written) if use.name.by_length)
        return money / weight if weight else 0.0

    def _prices(self, model: Model) -> Iterator[tuple[PartUse, float | None]]:
        shop, prices = self.plan.shop, self.plan.shop.settings.parts.prices
        for use in uses(model):
            if use.name.kind in NOT_PRICED:
                continue
            if not use.name.by_length:
                price = price_of(use.name, None, prices)
                yield use, None if price is None else price * use.source.count
                continue
            sold = hoses_of(shop) if use.name.kind == "flex" else sticks_of(use.name.style or HOSE, shop)
            found = [(price_of(use.name, length, prices), length) for length in sold.lengths_m]
            per_m = min((price / length for price, length in found if price is not None), default=None)
            yield use, None if per_m is None else per_m * (use.source.length_m or 0.0)


def _weight(hung: HungPiece) -> float:
    """Return the sheet [kg] of a pipe, a hose as if it were pipe, or elbows by the length of their middle line."""
    piece = hung.piece
    if piece.traits.has_length:
        return (piece.length_m or 0.0) * pipe_weight(hung.bore_m)
    if piece.kind != "elbow":
        return 0.0
    radius = (piece.radius or fact("elbow", "default r_over_d").value) * hung.bore_m
    return (piece.count or 1) * radius * piece.settled_deg[0] * pi / 180.0 * pipe_weight(hung.bore_m)

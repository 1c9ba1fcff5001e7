"""Pipe and hose: the rows of one make and size as pieces, and the sticks they are cut from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ductcalc.answers.parts.cutting import CutPlan, Stock, cut_plan
from ductcalc.answers.parts.rules import Sold
from ductcalc.answers.parts.uses import Source, Use
from ductcalc.errors import Place
from ductcalc.shop.parts import PartName, StockPart

NANOMETRES = 1_000_000_000
"""In a metre: sixty-fourths of an inch and tenths of a millimetre are both whole numbers of them."""


@dataclass(frozen=True)
class Cut:
    """A piece [m] that is cut, and the row it is for."""

    length_m: float
    run: str
    place: Place | None


@dataclass(frozen=True)
class Stick:
    """A stick [m], bought or lying around, what is cut from it, and what is left [m]."""

    length_m: float
    bought: bool
    cuts: tuple[Cut, ...]
    left_m: float


@dataclass(frozen=True)
class Lengths:
    """The cut plan of one make and size.

    at_least_m: no plan buys less length [m]. at_least: nor, buying the least, fewer sticks. proven: no plan is better.
    bought_without_kerf: sticks to buy if nothing were lost in the cuts, None when nothing is lost.
    couplings: where a straight longer than a stick is put together, by row. around: what lies around of it.
    """

    name: PartName
    sources: tuple[Source, ...]
    sold: Sold
    kerf_m: float
    sticks: tuple[Stick, ...]
    at_least: int
    at_least_m: float
    proven: bool
    bought_without_kerf: int | None
    couplings: tuple[Source, ...]
    around: tuple[StockPart, ...]

    @property
    def needed_m(self) -> float:
        """Length [m] of all pieces."""
        return sum(source.length_m or 0.0 for source in self.sources)

    @property
    def bought(self) -> tuple[Stick, ...]:
        """The sticks to buy."""
        return tuple(stick for stick in self.sticks if stick.bought)

    @property
    def lots(self) -> tuple[tuple[float, int], ...]:
        """Lengths [m] to buy and how many of each, long ones first."""
        counts: dict[float, int] = {}
        for stick in sorted(self.bought, key=lambda stick: -stick.length_m):
            counts[stick.length_m] = counts.get(stick.length_m, 0) + 1
        return tuple(counts.items())

    @property
    def waste_m(self) -> float:
        """Length [m] of the sticks used that ends in no piece: left-overs and saw cuts."""
        return sum(stick.length_m for stick in self.sticks) - sum(c.length_m for s in self.sticks for c in s.cuts)


def lengths_of(name: PartName, used: Sequence[Use], sold: Sold, kerf_m: float, have: Sequence[StockPart]) -> Lengths:
    """Return the cut plan for all rows of one make and size. have: what lies around of it.

    A straight longer than the longest stick is whole sticks and a remainder.
    """
    longest = _whole(sold.lengths_m[-1])
    cuts = [cut for use in used for cut in _cuts(use.source, longest)]
    pieces = [_whole(cut.length_m) for cut in cuts]
    around = sorted((part for part in have if part.length_m), key=lambda part: part.length_m or 0.0)
    stocks = [Stock(_whole(length)) for length in sold.lengths_m]
    stocks += [Stock(_whole(part.length_m or 0.0), part.count) for part in around]
    plan = cut_plan(pieces, stocks, _whole(kerf_m))
    return Lengths(
        name=name,
        sources=tuple(use.source for use in used),
        sold=sold,
        kerf_m=kerf_m,
        sticks=_sticks(plan, cuts, stocks, _whole(kerf_m)),
        at_least=plan.sticks_at_least,
        at_least_m=plan.at_least / NANOMETRES,
        proven=plan.proven,
        bought_without_kerf=_bought(cut_plan(pieces, stocks), stocks) if kerf_m > 0.0 else None,
        couplings=tuple(_joined(use.source, longest) for use in used if _whole(use.source.length_m or 0.0) > longest),
        around=_untouched(around, plan, len(sold.lengths_m)),
    )


def _whole(length_m: float) -> int:
    return round(length_m * NANOMETRES)


def _cuts(source: Source, longest: int) -> list[Cut]:
    """Return a row's length as one piece, or as whole sticks and a remainder."""
    length = _whole(source.length_m or 0.0)
    whole, rest = divmod(length, longest)
    parts = [longest] * whole + ([rest] if rest else [])
    if len(parts) == 1:
        return [Cut(source.length_m or 0.0, source.run, source.place)]
    return [Cut(part / NANOMETRES, source.run, source.place) for part in parts]


def _joined(source: Source, longest: int) -> Source:
    return replace(source, count=len(_cuts(source, longest)) - 1, length_m=None)


def _bought(plan: CutPlan, stocks: Sequence[Stock]) -> int:
    return sum(stocks[stick.stock].count is None for stick in plan.sticks)


def _sticks(plan: CutPlan, cuts: Sequence[Cut], stocks: Sequence[Stock], kerf: int) -> tuple[Stick, ...]:
    """Return the sticks of a plan, what lies around first, then the bought ones, long ones first."""
    found = []
    for stick in plan.sticks:
        stock = stocks[stick.stock]
        taken = [cuts[number] for number in stick.pieces]
        left = stock.length - sum(_whole(cut.length_m) + kerf for cut in taken)
        found.append(Stick(stock.length / NANOMETRES, stock.count is None, tuple(taken), max(left, 0) / NANOMETRES))
    return tuple(sorted(found, key=lambda stick: (stick.bought, -stick.length_m)))


def _untouched(around: Sequence[StockPart], plan: CutPlan, first: int) -> tuple[StockPart, ...]:
    """Return what lies around that the plan does not touch."""
    left = []
    for number, part in enumerate(around, start=first):
        used = sum(stick.stock == number for stick in plan.sticks)
        if used < part.count:
            left.append(replace(part, count=part.count - used))
    return tuple(left)

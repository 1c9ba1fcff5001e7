"""Pipe and hose: the rows of one make and size as pieces, and the sticks they are cut from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ductcalc.answers.parts.buying import Sold
from ductcalc.answers.parts.cutting import CutPlan, Stock
from ductcalc.answers.parts.splitting import SplitPlan, Task, split_plan
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
class Joined:
    """A straight longer than a stick and the parts [m] that it is put together from, long ones first."""

    source: Source
    parts_m: tuple[float, ...]


@dataclass(frozen=True)
class Lengths:
    """The cut plan of one make and size.

    at_least_m: no plan buys less length [m], however straights longer than a stick are split. at_least: nor, buying the
    least, fewer sticks. proven: no plan is better. pieces_proven: no other plan for the pieces cut here is better.
    bought_without_kerf: sticks to buy for these pieces if nothing were lost in the cuts, None when nothing is lost.
    joined: straights that are put together from several parts. around: what lies around and is not used.
    """

    name: PartName
    sources: tuple[Source, ...]
    sold: Sold
    kerf_m: float
    sticks: tuple[Stick, ...]
    at_least: int
    at_least_m: float
    proven: bool
    pieces_proven: bool
    bought_without_kerf: int | None
    joined: tuple[Joined, ...]
    around: tuple[StockPart, ...]

    @property
    def couplings(self) -> tuple[Source, ...]:
        """The couplings of straights that are put together, by row."""
        return tuple(replace(one.source, count=len(one.parts_m) - 1, length_m=None) for one in self.joined)

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

    A straight longer than the longest stick is split, where a part is chosen freely not shorter than the bore (common
    practice, no source).
    """
    around = sorted((part for part in have if part.length_m), key=lambda part: part.length_m or 0.0)
    stocks = [Stock(_whole(length)) for length in sold.lengths_m]
    stocks += [Stock(_whole(part.length_m or 0.0), part.count) for part in around]
    kerf, sources = _whole(kerf_m), [use.source for use in used]
    longest = _whole(sold.lengths_m[-1])
    long = [source for source in sources if _length(source) > longest]
    short = [source for source in sources if _length(source) <= longest]
    straights, pieces = (tuple(map(_length, group)) for group in (long, short))
    task = Task(straights, pieces, tuple(stocks), kerf, _whole(name.sizes_m[0]))
    found = split_plan(task)
    cuts = _cuts(found, long, short)
    sticks = [_merged(stick.pieces, cuts) for stick in found.plan.sticks]
    return Lengths(
        name=name,
        sources=tuple(sources),
        sold=sold,
        kerf_m=kerf_m,
        sticks=_sticks(found.plan, sticks, stocks, kerf),
        at_least=found.sticks_at_least,
        at_least_m=found.at_least / NANOMETRES,
        proven=found.proven,
        pieces_proven=found.plan.proven,
        bought_without_kerf=_bought_without_kerf(task, found) if kerf > 0 else None,
        joined=_joined(long, sticks),
        around=_untouched(around, found.plan, len(sold.lengths_m)),
    )


def _whole(length_m: float) -> int:
    return round(length_m * NANOMETRES)


def _length(source: Source) -> int:
    return _whole(source.length_m or 0.0)


_Numbered = tuple[int | None, Cut]
"""A piece, and the number of the long straight that it is part of."""


def _cuts(found: SplitPlan, long: Sequence[Source], short: Sequence[Source]) -> list[_Numbered]:
    """Return the pieces as the plan numbers them: the parts of the long straights, then the others."""
    parts: list[_Numbered] = [
        (number, Cut(part / NANOMETRES, source.run, source.place))
        for number, (source, split) in enumerate(zip(long, found.splits, strict=True))
        for part in split
    ]
    return [*parts, *((None, Cut(source.length_m or 0.0, source.run, source.place)) for source in short)]


def _merged(pieces: Sequence[int], cuts: Sequence[_Numbered]) -> list[_Numbered]:
    """Return what is cut from one stick; parts of one straight on the same stick are one piece."""
    merged: list[_Numbered] = []
    for piece in pieces:
        straight, cut = cuts[piece]
        before = next((n for n, (other, _) in enumerate(merged) if straight is not None and other == straight), None)
        if before is None:
            merged.append((straight, cut))
        else:
            length = _whole(merged[before][1].length_m) + _whole(cut.length_m)
            merged[before] = (straight, replace(cut, length_m=length / NANOMETRES))
    return merged


def _joined(long: Sequence[Source], sticks: Sequence[Sequence[_Numbered]]) -> tuple[Joined, ...]:
    """Return the long straights that come from more than one stick."""
    parts: list[list[float]] = [[] for _ in long]
    for stick in sticks:
        for straight, cut in stick:
            if straight is not None:
                parts[straight].append(cut.length_m)
    found = zip(long, parts, strict=True)
    return tuple(Joined(source, tuple(sorted(of, reverse=True))) for source, of in found if len(of) > 1)


def _bought_without_kerf(task: Task, found: SplitPlan) -> int:
    """Return the sticks to buy for the same pieces if nothing were lost in the cuts."""
    plan = replace(task, kerf=0).plan(found.splits)
    return sum(task.stocks[stick.stock].count is None for stick in (plan or found.plan).sticks)


def _sticks(plan: CutPlan, cut: Sequence[Sequence[_Numbered]], stocks: Sequence[Stock], kerf: int) -> tuple[Stick, ...]:
    """Return the sticks of a plan, what lies around first, then the bought ones, long ones first."""
    found = []
    for stick, numbered in zip(plan.sticks, cut, strict=True):
        stock, taken = stocks[stick.stock], tuple(piece for _, piece in numbered)
        left = stock.length - sum(_whole(piece.length_m) + kerf for piece in taken)
        found.append(Stick(stock.length / NANOMETRES, stock.count is None, taken, max(left, 0) / NANOMETRES))
    return tuple(sorted(found, key=lambda stick: (stick.bought, -stick.length_m)))


def _untouched(around: Sequence[StockPart], plan: CutPlan, first: int) -> tuple[StockPart, ...]:
    """Return what lies around that the plan does not touch."""
    left = []
    for number, part in enumerate(around, start=first):
        used = sum(stick.stock == number for stick in plan.sticks)
        if used < part.count:
            left.append(replace(part, count=part.count - used))
    return tuple(left)

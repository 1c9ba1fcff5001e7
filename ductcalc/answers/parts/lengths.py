"""Pipe and hose: the rows of one make and size as pieces, and the sticks they are cut from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ductcalc.answers.parts.buying import Sold, price_of
from ductcalc.answers.parts.cutting import cut
from ductcalc.answers.parts.quick_cutting import CutPlan, CutStick, Job, Stock
from ductcalc.answers.parts.uses import PartSource, PartUse
from ductcalc.catalog import HOSE
from ductcalc.errors import Place
from ductcalc.shop.parts import PartName, Price, StockPart

NANOMETRES = 1_000_000_000
"""In a metre: sixty-fourths of an inch and tenths of a millimetre are both whole numbers of them."""

HUNDREDTHS_OF_A_CENT = 10_000
"""In what prices are written in: money is reckoned in whole numbers too."""


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

    source: PartSource
    parts_m: tuple[float, ...]


@dataclass(frozen=True)
class Lengths:
    """The cut plan of one make and size.

    in_money: the least money is spent, else the least length is bought. proven: no plan spends or buys less.
    at_least_m: no plan buys less length [m]. at_least: nor, of that length, fewer sticks.
    bought_without_kerf: sticks to buy if nothing were lost in the cuts, None when nothing is lost.
    joined: straights that are put together from several parts. around: what lies around and is not used.
    """

    name: PartName
    sources: tuple[PartSource, ...]
    sold: Sold
    kerf_m: float
    sticks: tuple[Stick, ...]
    in_money: bool
    proven: bool
    at_least: int
    at_least_m: float
    bought_without_kerf: int | None
    joined: tuple[Joined, ...]
    around: tuple[StockPart, ...]

    @property
    def couplings(self) -> tuple[PartSource, ...]:
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


def coupling(name: PartName) -> PartName:
    """Return what joins two parts of pipe or hose."""
    return PartName("coupling", HOSE if name.kind == "flex" else name.style, name.sizes_m)


def lengths_of(
    name: PartName,
    used: Sequence[PartUse],
    sold: Sold,
    kerf_m: float,
    have: Sequence[StockPart] = (),
    prices: Sequence[Price] = (),
) -> Lengths:
    """Return the cut plan for all rows of one make and size. have: what lies around of it.

    A straight longer than the longest stick is joined from parts, none shorter than the bore (common practice, no
    source). The least money is spent where all lengths sold have a price, else the least length is bought.
    """
    sources = [use.source for use in used]
    around = sorted((part for part in have if part.length_m), key=lambda part: part.length_m or 0.0)
    counts: Counter[int] = Counter()
    for part in around:
        counts[_whole(part.length_m)] += part.count
    stocks = [Stock(_whole(length), None, _price(name, length, prices)) for length in sold.lengths_m]
    job = Job(
        pieces=tuple(_whole(source.length_m) for source in sources),
        stocks=(*stocks, *(Stock(length, count) for length, count in counts.items())),
        kerf=_whole(kerf_m),
        shortest=_whole(name.sizes_m[0]),
        joint=_price(coupling(name), None, prices) or 0,
    )
    plan = cut(job)
    return Lengths(
        name=name,
        sources=tuple(sources),
        sold=sold,
        kerf_m=kerf_m,
        sticks=tuple(sorted((_stick(stick, job, sources) for stick in plan.sticks), key=_order)),
        in_money=job.in_money,
        proven=plan.proven,
        at_least=plan.sticks_at_least,
        at_least_m=plan.at_least / NANOMETRES,
        bought_without_kerf=_bought(cut(replace(job, kerf=0)), job) if job.kerf else None,
        joined=_joined(plan, sources),
        around=_untouched(around, plan, job),
    )


def _whole(length_m: float | None) -> int:
    return round((length_m or 0.0) * NANOMETRES)


def _price(name: PartName, length_m: float | None, prices: Sequence[Price]) -> int | None:
    price = price_of(name, length_m, prices)
    return None if price is None else round(price * HUNDREDTHS_OF_A_CENT)


def _stick(stick: CutStick, job: Job, sources: Sequence[PartSource]) -> Stick:
    stock = job.stocks[stick.stock]
    cuts = tuple(Cut(length / NANOMETRES, sources[piece].run, sources[piece].place) for piece, length in stick.cuts)
    left = stock.length - sum(length + job.kerf for _, length in stick.cuts)
    return Stick(stock.length / NANOMETRES, stock.count is None, cuts, max(left, 0) / NANOMETRES)


def _order(stick: Stick) -> tuple[object, ...]:
    """Order sticks: what lies around first, long ones first, then as they are cut."""
    return stick.bought, -stick.length_m, [-cut.length_m for cut in stick.cuts]


def _joined(plan: CutPlan, sources: Sequence[PartSource]) -> tuple[Joined, ...]:
    """Return the straights that come from more than one stick."""
    parts: dict[int, list[float]] = {}
    for piece, length in (one for stick in plan.sticks for one in stick.cuts):
        parts.setdefault(piece, []).append(length / NANOMETRES)
    found = ((piece, sorted(of, reverse=True)) for piece, of in sorted(parts.items()))
    return tuple(Joined(sources[piece], tuple(of)) for piece, of in found if len(of) > 1)


def _bought(plan: CutPlan, job: Job) -> int:
    return sum(stick.stock in job.sold for stick in plan.sticks)


def _untouched(around: Sequence[StockPart], plan: CutPlan, job: Job) -> tuple[StockPart, ...]:
    """Return what lies around that the plan does not touch."""
    used = Counter(job.stocks[stick.stock].length for stick in plan.sticks if stick.stock not in job.sold)
    left = []
    for part in around:
        here = min(part.count, used[_whole(part.length_m)])
        used[_whole(part.length_m)] -= here
        if part.count > here:
            left.append(replace(part, count=part.count - here))
    return tuple(left)

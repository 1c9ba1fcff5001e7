"""Which pieces are cut from which stick: for the least money where prices are given, else for the least length.

Lengths are whole numbers of any small unit. A stick of length S gives pieces whose lengths, with one saw cut between
neighbours, do not exceed S. What lies around costs nothing and is there a limited number of times; what is sold can be
bought without limit. A piece longer than every stick sold is joined from parts of several sticks, with one joint more
than needed at most. Of plans that cost the same the one with fewer sticks is the better one.

Here stand plans that are made in one go, and a lower bound that proves most of them the best there is.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations, product
from math import gcd, inf

RESTS, MOST_RESTS = 12, 3
"""Rests of sticks that a long piece is joined from: so many are tried, so many are taken at most."""


@dataclass(frozen=True)
class Stock:
    """Sticks of one length; count: so many lie around, None: sold, as many as wanted. price: of one that is sold."""

    length: int
    count: int | None = None
    price: int | None = None


@dataclass(frozen=True)
class Job:
    """Pieces to cut, the stocks to cut them from, and what one saw cut takes.

    shortest: no part of a long piece is shorter, but for what whole sticks leave of it. joint: price of a joint.
    """

    pieces: tuple[int, ...]
    stocks: tuple[Stock, ...]
    kerf: int = 0
    shortest: int = 1
    joint: int = 0

    @cached_property
    def sold(self) -> tuple[int, ...]:
        """Numbers of the stocks that are sold, long ones first."""
        found = (number for number, stock in enumerate(self.stocks) if stock.count is None)
        return tuple(sorted(found, key=lambda number: -self.stocks[number].length))

    @cached_property
    def longest(self) -> int:
        """Length of the longest stick sold."""
        return self.stocks[self.sold[0]].length

    @cached_property
    def long(self) -> tuple[int, ...]:
        """Numbers of the pieces that are longer than every stick sold, the longest first."""
        found = (number for number, length in enumerate(self.pieces) if length > self.longest)
        return tuple(sorted(found, key=lambda number: -self.pieces[number]))

    @cached_property
    def short(self) -> tuple[int, ...]:
        """Numbers of the other pieces."""
        return tuple(number for number, length in enumerate(self.pieces) if length <= self.longest)

    @cached_property
    def in_money(self) -> bool:
        """Whether every length sold has a price."""
        return all(self.stocks[number].price is not None for number in self.sold)

    def price(self, number: int) -> int:
        """Return what a stick costs: money, or its length; nothing for what lies around."""
        stock = self.stocks[number]
        if stock.count is not None:
            return 0
        return (stock.price or 0) if self.in_money else stock.length

    @property
    def joint_price(self) -> int:
        """What a joint costs: nothing where length counts."""
        return self.joint if self.in_money else 0

    def fewest_parts(self, piece: int) -> int:
        """Return of how many parts a long piece is at the least."""
        return -(-self.pieces[piece] // max(stock.length for stock in self.stocks if stock.count != 0))

    def most_parts(self, piece: int) -> int:
        """Return of how many parts a long piece is at the most."""
        return -(-self.pieces[piece] // self.longest) + 1

    def shortest_part(self, piece: int) -> int:
        """Return the length that no part of a long piece goes below."""
        return min(self.shortest, self.pieces[piece] % self.longest or self.longest)


@dataclass(frozen=True)
class CutStick:
    """A stick (number of its stock) and what is cut from it: numbers of pieces and lengths, long ones first."""

    stock: int
    cuts: tuple[tuple[int, int], ...]


Sticks = tuple[CutStick, ...]


@dataclass(frozen=True)
class CutPlan:
    """Every piece whole. proven: no plan costs less, or as much with fewer sticks.

    at_least: no plan buys less length. sticks_at_least: nor fewer sticks where length counts.
    """

    sticks: Sticks
    at_least: int
    sticks_at_least: int
    proven: bool


def cost_of(job: Job, sticks: Sticks) -> tuple[int, int, int]:
    """Return what a plan costs, how many sticks it buys and how many joints it makes."""
    joints = sum(len(stick.cuts) for stick in sticks) - len(job.pieces)
    cost = sum(job.price(stick.stock) for stick in sticks) + joints * job.joint_price
    return cost, sum(job.stocks[stick.stock].count is None for stick in sticks), joints


def least_cost(job: Job, prices: Sequence[int], joint: int) -> tuple[int, int]:
    """Return what every plan costs at least, and how many sticks it buys, at these prices of stocks and of a joint.

    Pieces get weights of which no stick can hold more than is said: their length and a saw cut; or a whole stick where
    no piece of some length fits beside it, as its length where one does, nothing where it is shorter. Source of such
    weights: dual feasible functions of bin packing (S. P. Fekete, J. Schepers, New classes of fast lower bounds for bin
    packing problems, 2001, from memory); the ones for sticks of several lengths are derived here.
    """
    rooms = [stock.length + job.kerf for stock in job.stocks]
    weights = Counter(job.pieces[piece] + job.kerf for piece in job.short)
    plain = sum(weight * count for weight, count in weights.items())
    plain += sum(job.pieces[piece] + job.fewest_parts(piece) * job.kerf for piece in job.long)
    most = 0
    for weight, holds in ((plain, rooms), *_split_weights(weights, rooms, job.longest + job.kerf)):
        lacking = weight - sum((stock.count or 0) * held for stock, held in zip(job.stocks, holds, strict=True))
        if lacking > 0:
            most = max(most, min(-(-lacking * prices[n] // holds[n]) for n in job.sold if holds[n]))
    step = gcd(*(prices[number] for number in job.sold)) or 1
    most = -(-most // step) * step
    joints = sum(job.fewest_parts(piece) - 1 for piece in job.long)
    return most + joint * joints, -(-most // (max(prices) or 1))


def _split_weights(weights: Counter[int], rooms: Sequence[int], largest: int) -> Iterator[tuple[int, list[int]]]:
    """Yield the weight of all pieces and what a stick of each room holds, for each length that may be the small one."""
    for small in (weight for weight in weights if 2 * weight <= largest):
        whole = sum(count for weight, count in weights.items() if weight > largest - small)
        rest = sum(weight * count for weight, count in weights.items() if small <= weight <= largest - small)
        yield whole * largest + rest, [_holds(room, largest, small) for room in rooms]


def _holds(room: int, largest: int, small: int) -> int:
    """Return the most weight on a stick: so many large pieces, the rest in middling ones."""
    most, large, rest = (room if room >= small else 0), 1, room - (largest - small)
    while rest > 0:
        most = max(most, large * largest + (rest if rest > small else 0))
        large, rest = large + 1, rest - (largest - small)
    return most


def quick_plans(job: Job) -> Iterator[Sticks]:
    """Yield plans made in one go: for each length sold, and for each way to join what is longer than a stick."""
    short = [(job.pieces[piece], piece) for piece in job.short]
    whole = [(job.longest, piece) for piece in job.long for _ in range(job.pieces[piece] // job.longest)]
    whole += [(rest, piece) for piece in job.long if (rest := job.pieces[piece] % job.longest)]
    for sold in job.sold:
        if short and job.stocks[sold].length < max(short)[0]:
            continue
        yield _Bench(job, sold).best_fit([*short, *whole]).sticks()
        for extra, few in product((0, 1), (True, False)) if job.long else ():
            bench = _Bench(job, sold).best_fit(short)
            for piece in job.long:
                bench.join(piece, job.most_parts(piece) - 1 + extra, few)
            yield bench.sticks()


@dataclass
class _Bench:
    """Sticks that are being cut: what lies around from the start, then what is bought. open: their room, by size."""

    job: Job
    sold: int
    stocks: list[int] = field(default_factory=list)
    cuts: list[dict[int, int]] = field(default_factory=list)
    open: list[tuple[int, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        for number, stock in enumerate(self.job.stocks):
            for _ in range(stock.count or 0):
                self._add(number)

    def best_fit(self, parts: Sequence[tuple[int, int]]) -> _Bench:
        """Cut parts (length, piece), the longest first, from the stick that each fills best, else from a new one."""
        for length, piece in sorted(parts, key=lambda part: (-part[0], part[1])):
            place = bisect_left(self.open, (length + self.job.kerf, -1))
            self._cut(piece, length, *(self.open[place] if place < len(self.open) else self._buy(length)))
        return self

    def join(self, piece: int, most: int, few: bool) -> None:
        """Cut so many parts of a long piece at most from rests, and from as few new sticks as it takes.

        few: then as few parts as it takes; else, and of equally few, the longest rests are spared.
        """
        job, length, shortest = self.job, self.job.pieces[piece], self.job.shortest_part(piece)
        rests = [(room - job.kerf, room, stick) for room, stick in self.open if room - job.kerf >= shortest]
        ways = []
        for chosen in (way for count in range(MOST_RESTS + 1) for way in combinations(rests[: -RESTS - 1 : -1], count)):
            new = max(-(-(length - sum(rest for rest, _, _ in chosen)) // job.longest), 0)
            lengths = [job.longest] * new + [rest for rest, _, _ in chosen]
            # what is too much is left on the first one: a new stick, else the longest rest
            lengths[:1] = [length - sum(lengths[1:])]
            if len(lengths) <= most and lengths[0] >= shortest:
                key = (new, len(lengths) if few else 0, [rest for rest, _, _ in chosen])
                ways.append((key, lengths, [at[1:] for at in chosen]))
        _, lengths, places = min(ways)
        for part in lengths[: len(lengths) - len(places)]:
            self._cut(piece, part, *self._buy(part))
        for part, place in zip(lengths[len(lengths) - len(places) :], places, strict=True):
            self._cut(piece, part, *place)

    def sticks(self) -> Sticks:
        """Return what is cut from each stick, one that is bought in the cheapest length that holds it."""
        return tuple(made(self.job, *stick) for stick in zip(self.stocks, self.cuts, strict=True) if stick[1])

    def _add(self, stock: int) -> tuple[int, int]:
        place = (self.job.stocks[stock].length + self.job.kerf, len(self.stocks))
        self.stocks.append(stock)
        self.cuts.append({})
        insort(self.open, place)
        return place

    def _buy(self, length: int) -> tuple[int, int]:
        return self._add(self.sold if self.job.stocks[self.sold].length >= length else self.job.sold[0])

    def _cut(self, piece: int, length: int, room: int, stick: int) -> None:
        """Cut a part of a piece from a stick; on one that has a part of it already, both are one."""
        del self.open[bisect_left(self.open, (room, stick))]
        before = self.cuts[stick].get(piece, 0)
        self.cuts[stick][piece] = before + length
        insort(self.open, (room - length - (0 if before else self.job.kerf), stick))


def made(job: Job, stock: int, cuts: dict[int, int]) -> CutStick:
    """Return a stick with its cuts; one that is bought is the cheapest that holds them."""
    if job.stocks[stock].count is None:
        used = sum(cuts.values()) + job.kerf * (len(cuts) - 1)
        fitting = (number for number in job.sold if job.stocks[number].length >= used)
        stock = min(fitting, key=lambda number: (job.price(number), job.stocks[number].length))
    return CutStick(stock, tuple(sorted(cuts.items(), key=lambda cut: (-cut[1], cut[0]))))


def is_sound(job: Job, sticks: Sticks) -> bool:
    """Tell whether every piece is whole and no stick gives more than it has or is used more often than it is there."""
    lengths, used = [0] * len(job.pieces), Counter(stick.stock for stick in sticks)
    for piece, length in (one for stick in sticks for one in stick.cuts):
        lengths[piece] += length
    taken = [sum(length + job.kerf for _, length in stick.cuts) - job.kerf for stick in sticks]
    return (
        lengths == list(job.pieces)
        and all(length <= job.stocks[stick.stock].length for stick, length in zip(sticks, taken, strict=True))
        and all(used[number] <= (stock.count or inf) for number, stock in enumerate(job.stocks))
    )

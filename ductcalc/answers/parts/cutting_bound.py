"""What any cut plan must buy at the least: weights of pieces that no stick can exceed.

A piece takes its length and one saw cut, a stick offers its length and one saw cut, so that n pieces need n - 1 cuts.
Source of the weights: dual feasible functions of bin packing (S. P. Fekete, J. Schepers, New classes of fast lower
bounds for bin packing problems, 2001, from memory); the ones for sticks of another length are derived here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import gcd

PLENTY = 1 << 40
MANY_STICKS = 1 << 24
ROUNDED_PARTS = (2, 3, 4, 5, 6)


@dataclass(frozen=True)
class Needs:
    """Pieces by length, longest first, and the sticks to cut them from.

    weights: length and a saw cut. room: of each stock. available: of each stock; `PLENTY` of what is sold.
    sold: numbers of the stocks that are sold. order: in which stocks are tried, what lies around first, short first.
    """

    lengths: tuple[int, ...]
    counts: tuple[int, ...]
    weights: tuple[int, ...]
    stock_lengths: tuple[int, ...]
    room: tuple[int, ...]
    available: tuple[int, ...]
    sold: tuple[int, ...]
    order: tuple[int, ...]
    step: int

    @classmethod
    def of(cls, pieces: Sequence[int], stocks: Sequence[tuple[int, int | None]], kerf: int) -> Needs:
        """Return the needs of pieces, given stocks as length and count (None: sold)."""
        counted = sorted(Counter(pieces).items(), reverse=True)
        sold = tuple(number for number, (_, count) in enumerate(stocks) if count is None)
        return cls(
            lengths=tuple(length for length, _ in counted),
            counts=tuple(count for _, count in counted),
            weights=tuple(length + kerf for length, _ in counted),
            stock_lengths=tuple(length for length, _ in stocks),
            room=tuple(length + kerf for length, _ in stocks),
            available=tuple(PLENTY if count is None else count for _, count in stocks),
            sold=sold,
            order=tuple(sorted(range(len(stocks)), key=lambda n: (n in sold, stocks[n][0], n))),
            step=gcd(*(stocks[number][0] for number in sold)),
        )

    def left(self, counts: tuple[int, ...], available: tuple[int, ...]) -> Needs:
        """Return what is left to cut and to cut from."""
        return replace(self, counts=counts, available=available)

    def cost_of_stick(self, stock: int) -> int:
        """Return the cost of one stick: length first, then number; nothing for what lies around."""
        return self.stock_lengths[stock] * MANY_STICKS + 1 if stock in self.sold else 0

    def cost_of(self, bought: int) -> int:
        """Return the least cost of buying so much length."""
        return bought * MANY_STICKS + self.fewest_sticks(bought)

    def fewest_sticks(self, bought: int) -> int:
        """Return the fewest sticks that make so much length."""
        return -(-bought // max(self.stock_lengths[number] for number in self.sold))

    def cost(self, layout: Sequence[tuple[int, tuple[int, ...]]]) -> int:
        """Return the cost of a layout."""
        return sum(self.cost_of_stick(stock) for stock, _ in layout)

    def bought(self, layout: Sequence[tuple[int, tuple[int, ...]]]) -> tuple[int, int]:
        """Return length and number of the sticks that a layout buys."""
        bought = [self.stock_lengths[stock] for stock, _ in layout if stock in self.sold]
        return sum(bought), len(bought)


Weighing = tuple[int, dict[int, int]]
"""Weight of all pieces, and the most that a stick of each stock can hold."""


def least_bought(needs: Needs, quick: bool = False) -> int:
    """Return a length that every plan buys at least; `quick` leaves the rounded weights out."""
    present = [number for number, count in enumerate(needs.counts) if count]
    if not present:
        return 0
    smallest = min(needs.weights[number] for number in present)
    stocks = [n for n, count in enumerate(needs.available) if count and needs.room[n] >= smallest]
    largest = max(needs.room[number] for number in needs.sold)
    weighings = [_plain(needs, stocks), *_split(needs, present, stocks, largest)]
    if not quick:
        weighings += [_rounded(needs, stocks, largest, parts) for parts in ROUNDED_PARTS]
    return max(bought_by(needs, weighing) for weighing in weighings)


def bought_by(needs: Needs, weighing: Weighing) -> int:
    """Return the length that must be bought for what the sticks that lie around cannot hold, as it is sold."""
    weight, holds = weighing
    short = weight - sum(needs.available[n] * held for n, held in holds.items() if n not in needs.sold)
    if short <= 0:
        return 0
    least = min(-(-short * needs.stock_lengths[n] // holds[n]) for n in needs.sold if holds.get(n))
    return -(-least // needs.step) * needs.step


def _plain(needs: Needs, stocks: Sequence[int]) -> Weighing:
    """Weigh each piece by its length."""
    weight = sum(count * each for count, each in zip(needs.counts, needs.weights, strict=True))
    return weight, {number: needs.room[number] for number in stocks}


def _split(needs: Needs, present: Sequence[int], stocks: Sequence[int], largest: int) -> Iterator[Weighing]:
    """Weigh a piece as a whole stick where no piece of `small` fits beside it, and those below `small` as nothing."""
    for small in dict.fromkeys(needs.weights[number] for number in present):
        if 2 * small > largest:
            continue
        weight = 0
        for number in present:
            each = needs.weights[number]
            weight += needs.counts[number] * (largest if each > largest - small else each if each >= small else 0)
        yield weight, {number: _holds_split(needs.room[number], largest, small) for number in stocks}


def _holds_split(room: int, largest: int, small: int) -> int:
    """Return the most weight on a stick: so many large pieces, the rest in middling ones."""
    most, large, rest = (room if room >= small else 0), 1, room - (largest - small)
    while rest > 0:
        most = max(most, large * largest + (rest if rest > small else 0))
        large, rest = large + 1, rest - (largest - small)
    return most


def _rounded(needs: Needs, stocks: Sequence[int], largest: int, parts: int) -> Weighing:
    """Weigh a piece by the whole parts of a stick below it (u(k) of the source, times `largest` and `parts`)."""

    def weigh(each: int) -> int:
        whole, rest = divmod((parts + 1) * each, largest)
        return parts * each if rest == 0 else whole * largest

    def holds(room: int) -> int:
        whole = (parts + 1) * room // largest * largest
        return min(whole, parts * largest) if room <= largest else whole

    weight = sum(count * weigh(each) for count, each in zip(needs.counts, needs.weights, strict=True))
    return weight, {number: holds(needs.room[number]) for number in stocks}

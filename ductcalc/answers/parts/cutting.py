"""Which pieces are cut from which stick: the least length bought, in whole numbers, with a proof or a lower bound.

Lengths are whole numbers of any small unit. A stick of length S gives pieces whose lengths, with one saw cut between
neighbours, do not exceed S. What lies around costs nothing and is there a limited number of times; what is sold can be
bought without limit. The least length is bought, and of equal lengths the fewest sticks: with one length sold, the
fewest sticks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ductcalc.answers.parts.cutting_bound import Needs, bought_by, least_bought
from ductcalc.answers.parts.cutting_fill import Layout, Steps, first_layouts, fullest_first

EFFORT = 40_000
"""Steps of the exact search; a count and no clock, so that the same table gives the same plan."""

LONGEST_SEARCH = 120
"""Most sticks for which the exact search is tried."""


@dataclass(frozen=True)
class Stock:
    """Sticks of one length; count: so many lie around, None: sold, as many as wanted."""

    length: int
    count: int | None = None


@dataclass(frozen=True)
class CutStick:
    """A stick (number of its stock) and the pieces (their numbers) cut from it, longest first."""

    stock: int
    pieces: tuple[int, ...]


@dataclass(frozen=True)
class CutPlan:
    """Every piece on one stick. bought: length bought; at_least: no plan buys less; sticks_at_least: nor fewer sticks.

    proven: no plan is better.
    """

    sticks: tuple[CutStick, ...]
    bought: int
    at_least: int
    sticks_at_least: int
    proven: bool


def cut_plan(
    pieces: Sequence[int], stocks: Sequence[Stock], kerf: int = 0, effort: int = EFFORT, worths: bool = True
) -> CutPlan:
    """Return a plan for pieces of these lengths. worths: also by the worth of the pieces, which takes its time.

    Exact search by branch and bound over the stick that the longest remaining piece is cut from and everything else
    that fits on it; with many pieces the best found and a lower bound.

    Raises ValueError for a length that is not positive and a piece that no stick sold is long enough for.
    """
    _refuse(pieces, stocks, kerf)
    needs = Needs.of(pieces, [(stock.length, stock.count) for stock in stocks], kerf)
    if not pieces:
        return CutPlan((), 0, 0, 0, True)
    bound = least_bought(needs)
    best = min(first_layouts(needs), key=needs.cost)
    if worths and needs.cost(best) > needs.cost_of(bound):
        best, bound = _with_prices(needs, best, bound)
    proven = needs.cost(best) == needs.cost_of(bound)
    if not proven and len(best) <= LONGEST_SEARCH:
        best, proven = _searched(needs, best, needs.cost_of(bound), Steps(effort))
    bought, sticks = needs.bought(best)
    lowest = bought if proven else bound
    fewest = sticks if proven else needs.fewest_sticks(lowest)
    return CutPlan(_numbered(pieces, needs, best), bought, lowest, fewest, proven)


def _refuse(pieces: Sequence[int], stocks: Sequence[Stock], kerf: int) -> None:
    sold = [stock.length for stock in stocks if stock.count is None]
    if kerf < 0 or any(length <= 0 for length in (*pieces, *(stock.length for stock in stocks))):
        raise ValueError("lengths are above 0, a saw cut is not negative")
    if pieces and (not sold or max(pieces) > max(sold)):
        raise ValueError("a piece is longer than every stick that is sold")


def _with_prices(needs: Needs, best: Layout, bound: int) -> tuple[Layout, int]:
    """Return the better of two plans and of two bounds: those given and those from the worth of the pieces."""
    from ductcalc.answers.parts.cutting_prices import priced

    found = priced(needs)
    if found is None:
        return best, bound
    return min(best, found.layout, key=needs.cost), max(bound, bought_by(needs, found.weighing))


def _searched(needs: Needs, best: Layout, goal: int, steps: Steps) -> tuple[Layout, bool]:
    """Return the best layout by branch and bound, and whether no better one can be."""
    search = _Search(needs, best, goal, steps)
    search.run(needs.counts, needs.available, 0, ())
    return search.best, search.best_cost == goal or not (steps.spent or steps.left_out)


class _Search:
    """Depth first: the fullest stick first, so that the first dive is already a good plan."""

    def __init__(self, needs: Needs, best: Layout, goal: int, steps: Steps) -> None:
        self.needs, self.best, self.goal, self.steps = needs, best, goal, steps
        self.best_cost = needs.cost(best)
        self.seen: dict[tuple[tuple[int, ...], tuple[int, ...]], int] = {}

    def run(self, counts: tuple[int, ...], available: tuple[int, ...], cost: int, done: Layout) -> None:
        """Finish a layout in every way that may be better than the best one."""
        if not any(counts):
            if cost < self.best_cost:
                self.best, self.best_cost = done, cost
            return
        if self.steps.spent or self._hopeless(counts, available, cost):
            return
        for stock, taken in self._ways(counts, available):
            rest = tuple(have - used for have, used in zip(counts, taken, strict=True))
            left = tuple(n - (number == stock) for number, n in enumerate(available))
            self.run(rest, left, cost + self.needs.cost_of_stick(stock), (*done, (stock, taken)))
            if self.best_cost == self.goal or self.steps.spent:
                return

    def _hopeless(self, counts: tuple[int, ...], available: tuple[int, ...], cost: int) -> bool:
        key = (counts, available)
        if self.seen.get(key, self.best_cost) <= cost:
            return True
        self.seen[key] = cost
        remaining = self.needs.left(counts, available)
        # a bound takes about as long as a step for every second length that is left
        self.steps.take(1 + sum(map(bool, counts)) // 2)
        return cost + remaining.cost_of(least_bought(remaining, quick=True)) >= self.best_cost

    def _ways(self, counts: tuple[int, ...], available: tuple[int, ...]) -> Iterator[tuple[int, tuple[int, ...]]]:
        """Yield each stick for the longest piece left, with each choice of pieces that leaves no room for another."""
        longest = next(number for number, count in enumerate(counts) if count)
        for stock in self.needs.order:
            if available[stock] and self.needs.room[stock] >= self.needs.weights[longest]:
                for taken in fullest_first(self.needs, counts, stock, longest, self.steps):
                    yield stock, taken


def _numbered(pieces: Sequence[int], needs: Needs, layout: Layout) -> tuple[CutStick, ...]:
    """Give the layout's pieces their numbers, equal lengths in the order given."""
    waiting: dict[int, list[int]] = {}
    for number in reversed(range(len(pieces))):
        waiting.setdefault(pieces[number], []).append(number)
    sticks = []
    for stock, taken in sorted(layout, key=lambda stick: (stick[0], [-n for n in stick[1]])):
        numbers = [waiting[length].pop() for length, n in zip(needs.lengths, taken, strict=True) for _ in range(n)]
        sticks.append(CutStick(stock, tuple(numbers)))
    return tuple(sticks)

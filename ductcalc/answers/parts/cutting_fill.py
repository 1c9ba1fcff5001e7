"""Sticks filled with pieces: every choice that leaves no room for another, and quick plans to begin with."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Iterator, Sequence

from ductcalc.answers.parts.cutting_bound import PLENTY, Needs

Taken = tuple[int, ...]
"""How many pieces of each length are cut from one stick."""

Layout = tuple[tuple[int, Taken], ...]
"""Sticks: the number of the stock, and what is taken from it."""

MOST_WAYS = 2_000
FILL_STEPS = 3_000


class Steps:
    """A budget of steps. spent: it ran out. left_out: a choice was passed over. Either way nothing is proven."""

    def __init__(self, left: int) -> None:
        """Start with so many steps."""
        self.left = left
        self.spent = False
        self.left_out = False

    def take(self, steps: int = 1) -> bool:
        """Take steps; False when there are none left."""
        self.left -= steps
        self.spent = self.spent or self.left < 0
        return not self.spent


def fullest_first(needs: Needs, counts: Taken, stock: int, first: int | None, steps: Steps) -> list[Taken]:
    """Return what may be cut from one stick so that no other piece fits, the fullest first.

    first: a length that must be on it. Choices beyond `MOST_WAYS` are left out, which the steps remember.
    """
    ways = []
    for taken in _fillings(needs, counts, needs.room[stock], first, steps):
        ways.append(taken)
        if len(ways) >= MOST_WAYS:
            steps.left_out = True
            break
    return sorted(ways, key=lambda taken: (-_weight(needs, taken), [-n for n in taken]))


def _weight(needs: Needs, taken: Sequence[int]) -> int:
    return sum(count * each for count, each in zip(taken, needs.weights, strict=True))


def _fillings(needs: Needs, counts: Taken, room: int, first: int | None, steps: Steps) -> Iterator[Taken]:
    """Yield every choice of pieces that fits and leaves no room for another, large pieces first."""
    kinds = [number for number, count in enumerate(counts) if count and needs.weights[number] <= room]
    taken = [0] * len(counts)
    if first is not None:
        taken[first] = 1
        room -= needs.weights[first]
    yield from _filled(needs, counts, kinds, 0, room, taken, steps)


def _filled(
    needs: Needs, counts: Taken, kinds: Sequence[int], place: int, room: int, taken: list[int], steps: Steps
) -> Iterator[Taken]:
    if not steps.take():
        return
    if all(taken[kind] == counts[kind] or needs.weights[kind] > room for kind in kinds):
        yield tuple(taken)
        return
    for following in range(place, len(kinds)):
        kind = kinds[following]
        each, before = needs.weights[kind], taken[kind]
        for more in range(min(counts[kind] - before, room // each), 0, -1):
            taken[kind] = before + more
            yield from _filled(needs, counts, kinds, following + 1, room - more * each, taken, steps)
        taken[kind] = before
        if steps.spent:
            return


def first_layouts(needs: Needs) -> Iterator[Layout]:
    """Yield quick plans: for each length sold, best fit and fullest stick; each bought stick then made short."""
    for stock in needs.sold:
        if needs.room[stock] >= needs.weights[0]:
            yield _shortened(needs, _best_fit(needs, stock))
            yield _shortened(needs, _fullest(needs, stock))


def _best_fit(needs: Needs, sold: int) -> Layout:
    """Put each piece, longest first, on the stick that it fills best; what lies around is there from the start."""
    around = [n for n in needs.order if n not in needs.sold for _ in range(needs.available[n])]
    stocks = list(around)
    taken = [[0] * len(needs.lengths) for _ in stocks]
    open_sticks = sorted((needs.room[stock], number) for number, stock in enumerate(stocks))
    for kind, count in enumerate(needs.counts):
        each = needs.weights[kind]
        for _ in range(count):
            place = bisect_left(open_sticks, (each, -1))
            if place < len(open_sticks):
                room, number = open_sticks.pop(place)
            else:
                room, number = needs.room[sold], len(stocks)
                stocks.append(sold)
                taken.append([0] * len(needs.lengths))
            taken[number][kind] += 1
            insort(open_sticks, (room - each, number))
    return tuple((stock, tuple(of)) for stock, of in zip(stocks, taken, strict=True) if any(of))


def _fullest(needs: Needs, sold: int) -> Layout:
    """Fill what lies around, long first, then one bought stick after the other, each as full as it gets."""
    counts, layout = list(needs.counts), []
    around = [n for n in reversed(needs.order) if n not in needs.sold]
    for stock in [*around, sold]:
        left = needs.available[stock]
        while left and any(counts):
            first = next(n for n, count in enumerate(counts) if count) if stock == sold else None
            taken = _fullest_filling(needs, tuple(counts), stock, first)
            if not any(taken):
                break
            times = min(have // used for have, used in zip(counts, taken, strict=True) if used)
            times = times if left == PLENTY else min(times, left)
            counts = [have - times * used for have, used in zip(counts, taken, strict=True)]
            layout += [(stock, taken)] * times
            left = PLENTY if left == PLENTY else left - times
    return tuple(layout)


def _fullest_filling(needs: Needs, counts: Taken, stock: int, first: int | None) -> Taken:
    steps, best, weight = Steps(FILL_STEPS), (0,) * len(counts), -1
    for taken in _fillings(needs, counts, needs.room[stock], first, steps):
        here = _weight(needs, taken)
        if here > weight:
            best, weight = taken, here
        if needs.room[stock] - weight == 0:
            break
    return best


def _shortened(needs: Needs, layout: Layout) -> Layout:
    """Buy each stick in the shortest length that holds what is cut from it."""
    sold = sorted(needs.sold, key=lambda number: needs.room[number])
    return tuple(
        (next(n for n in sold if needs.room[n] >= _weight(needs, taken)) if stock in needs.sold else stock, taken)
        for stock, taken in layout
    )

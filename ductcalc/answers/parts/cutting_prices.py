"""What each piece is worth in a plan that may cut fractions of sticks: a better bound and a plan for many like pieces.

Linear programming over cutting patterns, each new pattern found as the most valuable filling of a stick at the present
worths. Source of the method: P. C. Gilmore, R. E. Gomory, A linear programming approach to the cutting-stock problem,
1961 (from memory). The bound does not rest on floating point: worths are made whole numbers, and the most that a stick
can hold of them is found exactly or over-estimated.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.parts.cutting_bound import PLENTY, Needs, Weighing
from ductcalc.answers.parts.cutting_fill import Layout, Taken, first_layouts

MOST_LENGTHS = 80
"""Most unlike lengths for which patterns are priced; with more, the plain bounds are close."""

ROUNDS = 400
FILLING_STEPS = 20_000
WHOLE = 1 << 30
SMALL = 1e-9

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Priced:
    """A weighing of the pieces, and a plan made from the patterns."""

    weighing: Weighing
    layout: Layout


@dataclass
class _Column:
    """A variable: a pattern on a stock, or (no pattern) what a row has too much or too little of."""

    values: Array
    cost: float
    stock: int = -1
    taken: Taken = ()


def priced(needs: Needs) -> Priced | None:
    """Return worths of the pieces and a plan from them; None where there are too many unlike lengths."""
    if len(needs.lengths) > MOST_LENGTHS:
        return None
    program = _Program(needs)
    for _ in range(ROUNDS):
        if not program.improve():
            break
    worths = program.worths()
    weight = sum(count * worth for count, worth in zip(needs.counts, worths, strict=True))
    holds = {n: most_worth(needs, worths, n)[2] for n, count in enumerate(needs.available) if count}
    return Priced((weight, holds), _rounded_down(needs, program.times()))


def most_worth(needs: Needs, worths: Sequence[int], stock: int) -> tuple[int, Taken, int]:
    """Return the most valuable filling found of one stick: its worth, what is taken, and a worth no filling exceeds."""
    kinds = [n for n, worth in enumerate(worths) if worth > 0 and 0 < needs.weights[n] <= needs.room[stock]]
    kinds = [n for n in kinds if needs.counts[n]]
    kinds.sort(key=lambda n: (-worths[n] / needs.weights[n], n))
    filling = _Filling(needs, worths, kinds)
    filling.fill(0, needs.room[stock], 0)
    over = filling.best if filling.steps > 0 else filling.bound(0, needs.room[stock])
    return filling.best, tuple(filling.best_taken), max(over, filling.best)


class _Filling:
    """Depth first over the kinds, the most valuable per length first; cut off by the fractional filling of the rest."""

    def __init__(self, needs: Needs, worths: Sequence[int], kinds: Sequence[int]) -> None:
        self.needs, self.worths, self.kinds = needs, worths, kinds
        self.steps = FILLING_STEPS
        self.best = 0
        self.taken = [0] * len(worths)
        self.best_taken = list(self.taken)

    def bound(self, place: int, room: int) -> int:
        """Return a worth that the kinds from a place on cannot exceed in some room."""
        worth = 0
        for kind in self.kinds[place:]:
            each = self.needs.weights[kind]
            count = min(self.needs.counts[kind], room // each)
            worth, room = worth + count * self.worths[kind], room - count * each
            if count < self.needs.counts[kind]:
                return worth + -(-room * self.worths[kind] // each)
        return worth

    def fill(self, place: int, room: int, worth: int) -> None:
        """Try every number of each kind from a place on."""
        self.steps -= 1
        if worth > self.best:
            self.best, self.best_taken = worth, list(self.taken)
        for following in range(place, len(self.kinds)):
            if self.steps <= 0 or worth + self.bound(following, room) <= self.best:
                return
            kind = self.kinds[following]
            each = self.needs.weights[kind]
            for count in range(min(self.needs.counts[kind], room // each), 0, -1):
                self.taken[kind] = count
                self.fill(following + 1, room - count * each, worth + count * self.worths[kind])
            self.taken[kind] = 0


class _Program:
    """The linear program: rows for the pieces (at least so many) and for what lies around (at most so many)."""

    def __init__(self, needs: Needs) -> None:
        self.needs = needs
        self.around = [n for n, count in enumerate(needs.available) if count and n not in needs.sold]
        self.scale = max(needs.stock_lengths[n] for n in needs.sold)
        self.rows = len(needs.lengths) + len(self.around)
        limits = [needs.available[n] for n in self.around]
        self.wanted = np.array([*needs.counts, *limits], dtype=float)
        self.basis = [*self._first_patterns(), *(self._slack(row) for row in range(len(needs.lengths), self.rows))]

    def _first_patterns(self) -> Iterator[_Column]:
        longest = max(self.needs.sold, key=lambda n: self.needs.room[n])
        for kind, each in enumerate(self.needs.weights):
            taken = [0] * len(self.needs.lengths)
            taken[kind] = min(self.needs.room[longest] // each, self.needs.counts[kind])
            yield self._pattern(longest, tuple(taken))

    def _pattern(self, stock: int, taken: Taken) -> _Column:
        values = np.zeros(self.rows)
        values[: len(taken)] = taken
        if stock in self.needs.sold:
            return _Column(values, self.needs.stock_lengths[stock] / self.scale, stock, taken)
        values[len(taken) + self.around.index(stock)] = 1.0
        return _Column(values, 0.0, stock, taken)

    def _slack(self, row: int, sign: float = 1.0) -> _Column:
        values = np.zeros(self.rows)
        values[row] = sign
        return _Column(values, 0.0)

    def _duals(self) -> Array:
        matrix = np.array([column.values for column in self.basis])
        return np.linalg.solve(matrix, np.array([column.cost for column in self.basis]))

    def worths(self) -> list[int]:
        """Return what each length is worth, as whole numbers."""
        return [max(int(worth * WHOLE), 0) for worth in self._duals()[: len(self.needs.lengths)]]

    def improve(self) -> bool:
        """Bring the most promising column into the basis; False when none promises anything."""
        duals = self._duals()
        gain, column = max(self._candidates(duals), key=lambda found: found[0])
        if gain <= SMALL:
            return False
        matrix = np.array([part.values for part in self.basis]).T
        amounts, direction = np.linalg.solve(matrix, np.stack([self.wanted, column.values], axis=1)).T
        rising = direction > SMALL
        if not rising.any():
            return False
        ratios = np.where(rising, amounts / np.where(rising, direction, 1.0), np.inf)
        self.basis[int(np.argmin(ratios))] = column
        return True

    def _candidates(self, duals: Array) -> Iterator[tuple[float, _Column]]:
        pieces = len(self.needs.lengths)
        worths = [max(int(worth * WHOLE), 0) for worth in duals[:pieces]]
        for stock, count in enumerate(self.needs.available):
            if count:
                _, taken, _ = most_worth(self.needs, worths, stock)
                column = self._pattern(stock, taken)
                yield float(duals @ column.values) - column.cost, column
        for row in range(self.rows):
            sign = -1.0 if row < pieces else 1.0
            yield float(sign * duals[row]), self._slack(row, sign)

    def times(self) -> list[tuple[int, Taken, int]]:
        """Return each pattern with the whole times that it is used."""
        matrix = np.array([column.values for column in self.basis]).T
        amounts = np.linalg.solve(matrix, self.wanted)
        used = zip(self.basis, amounts, strict=True)
        return [(c.stock, c.taken, int(amount + 1e-6)) for c, amount in used if c.stock >= 0]


def _rounded_down(needs: Needs, times: Sequence[tuple[int, Taken, int]]) -> Layout:
    """Use each pattern its whole times, never beyond what is needed, and plan what is left."""
    counts, available = list(needs.counts), list(needs.available)
    layout: list[tuple[int, Taken]] = []
    for stock, taken, number in times:
        for _ in range(number):
            here = tuple(min(want, count) for want, count in zip(taken, counts, strict=True))
            if not any(here) or not available[stock]:
                break
            counts = [count - used for count, used in zip(counts, here, strict=True)]
            available[stock] -= 0 if available[stock] == PLENTY else 1
            layout.append((stock, here))
    if any(counts):
        rest = needs.left(tuple(counts), tuple(available))
        last: Layout = min(first_layouts(rest), key=needs.cost)
        layout += last
    return tuple(layout)

"""The best plan for cutting pieces from sticks: a quick one, and a better one by integer programming with scipy.

Limits are counts and no clock, so that the same pieces give the same plan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from importlib import import_module
from itertools import islice
from math import gcd, inf
from typing import Any, NamedTuple

import numpy as np

from ductcalc.answers.parts.quick_cutting import CutPlan, Job, Sticks, cost_of, is_sound, least_cost, made, quick_plans

MOST_FILLINGS, MOST_PARTS, MOST_NODES = 5_000, 24, 100
"""Fillings of a stick and parts of long pieces up to which integer programming is tried; nodes of its search."""

MOST_STEPS = 1_000_000
"""Of the cost, up to which one step more is told from rounding."""

OPTIMAL, INFEASIBLE = 0, 2


def cut(job: Job) -> CutPlan:
    """Return the best plan found.

    Raises ValueError for a length that is not positive, and for pieces where nothing is sold.
    """
    if job.kerf < 0 or any(length <= 0 for length in (*job.pieces, *(stock.length for stock in job.stocks))):
        raise ValueError("lengths are above 0, a saw cut is not negative")
    if not job.pieces:
        return CutPlan((), 0, 0, True)
    if not job.sold:
        raise ValueError("no length is sold")
    best, proven = min(quick_plans(job), key=lambda sticks: cost_of(job, sticks)), False
    least = least_cost(job, [job.price(number) for number in range(len(job.stocks))], job.joint_price)
    if cost_of(job, best)[:2] > least:
        best, proven = _solved(job, best)
    proven = proven or cost_of(job, best)[:2] == least
    lengths = [stock.length if stock.count is None else 0 for stock in job.stocks]
    bought = [lengths[stick.stock] for stick in best if lengths[stick.stock]]
    if proven and not job.in_money:
        return CutPlan(best, sum(bought), len(bought), True)
    return CutPlan(best, *least_cost(job, lengths, 0), proven)


def _solved(job: Job, best: Sticks) -> tuple[Sticks, bool]:
    """Return the best plan that integer programming finds, and whether it shows that none is better."""
    try:
        optimize, sparse = import_module("scipy.optimize"), import_module("scipy.sparse")
    except ImportError:
        return best, False
    program = _Program(job)
    if not program.fill() or sum(map(job.most_parts, job.long)) > MOST_PARTS:
        return best, False
    program.join()
    limit = program.forbid(best)
    if limit > MOST_STEPS:
        return best, False
    numbers = {row: number for number, row in enumerate(program.rows)}
    columns = program.columns.values()
    entries = [(value, numbers[row], n) for n, column in enumerate(columns) for row, value in column.adds.items()]
    values, rows, places = np.transpose(entries)
    matrix = sparse.coo_array((values, (rows.astype(int), places.astype(int)))).tocsc()
    found = optimize.milp(
        [column.cost for column in columns],
        integrality=[column.most < inf for column in columns],
        bounds=optimize.Bounds(0, [column.most for column in columns]),
        constraints=optimize.LinearConstraint(matrix, *np.transpose(list(program.rows.values()))),
        options={"node_limit": MOST_NODES, "mip_rel_gap": program.stick / 2 / limit},
    )
    if found.x is None:
        return best, found.status == INFEASIBLE
    sticks = program.sticks(dict(zip(program.columns, found.x, strict=True)))
    return (sticks, found.status == OPTIMAL) if is_sound(job, sticks) else (best, False)


Adds = dict[Any, float]


class _Column(NamedTuple):
    """A variable, whole where there is a most: what one of it costs, and what it adds to rows."""

    cost: float
    most: float
    adds: Adds


class _Program:
    """The integer program: rows with their least and most, and columns.

    Short pieces come in fillings: what one stick gives, and how many such sticks. Each part of a long piece has a stick
    of its own, its slot, of which short pieces are cut too, and parts of the long pieces further on; not of those
    before it, for that would be the same plan again. Lengths are shares of the longest stick sold.
    """

    def __init__(self, job: Job) -> None:
        self.job = job
        self.kinds = sorted(Counter(job.pieces[piece] for piece in job.short).items(), reverse=True)
        self.step = gcd(*(job.price(number) for number in job.sold), job.joint_price) or 1
        # all sticks together weigh less than one step of the cost, all joints less than one stick
        self.stick = 1 / (1 + len(job.short) + sum(map(job.most_parts, job.long)))
        self.rows: dict[Any, tuple[float, float]] = {("kind", k): (n, inf) for k, (_, n) in enumerate(self.kinds)}
        self.rows |= {("stock", number): (0, stock.count or inf) for number, stock in enumerate(job.stocks)}
        self.columns: dict[Any, _Column] = {}

    def _add(self, key: Any, most: float, adds: Adds, stock: int = -1, parts: int = 0) -> None:
        cost = parts * self.job.joint_price / self.step
        if stock >= 0:
            adds["stock", stock] = 1.0
            cost += self.job.price(stock) / self.step + (self.stick if stock in self.job.sold else 0.0)
        adds["cost",] = cost
        self.columns[key] = _Column(cost + parts * self.stick**2, most, adds)

    def forbid(self, best: Sticks) -> float:
        """Ask for a plan that costs less than a given one; return what that one costs here."""
        cost, sticks, _ = cost_of(self.job, best)
        limit = (cost + len(self.job.long) * self.job.joint_price) / self.step + sticks * self.stick
        self.rows["cost",] = (0, limit - self.stick / 2)
        return limit

    def fill(self) -> bool:
        """Add the fillings that leave no room for another piece; False when there are too many."""
        weights = [length + self.job.kerf for length, _ in self.kinds]
        counts = [count for _, count in self.kinds]
        for number, stock in enumerate(self.job.stocks):
            found: list[tuple[tuple[int, ...], int]] = [((), stock.length + self.job.kerf)]
            for weight, count in zip(weights, counts, strict=True):
                ways = ((taken, room, n) for taken, room in found for n in range(min(count, room // weight) + 1))
                found = [((*taken, n), room - n * weight) for taken, room, n in islice(ways, MOST_FILLINGS + 1)]
                if len(found) > MOST_FILLINGS:
                    return False
            for taken, room in found:
                if any(taken) and all(n == c or w > room for n, c, w in zip(taken, counts, weights, strict=True)):
                    adds: Adds = {("kind", kind): n for kind, n in enumerate(taken) if n}
                    self._add(("fill", number, taken), len(self.job.short), adds, number)
        return True

    def join(self) -> None:
        """Add the slots of the long pieces."""
        for place, owner in enumerate(self.job.long):
            self.rows["length", owner] = (self.job.pieces[owner] / self.job.longest,) * 2
            self.rows["parts", owner] = (self.job.fewest_parts(owner), self.job.most_parts(owner))
            for number in range(self.job.most_parts(owner)):
                self._slot((owner, number), self.job.long[place:])

    def _slot(self, slot: tuple[int, int], pieces: Sequence[int]) -> None:
        """Add what one slot may be and give, to its owner and to the long pieces further on."""
        job, owner = self.job, slot[0]
        self.rows["room", slot], self.rows["one", slot] = (-inf, 0), (0, 1)
        for number, stock in enumerate(job.stocks):
            adds = self._part(slot, owner) | {("one", slot): 1.0}
            adds["room", slot] -= (stock.length + job.kerf) / job.longest
            self._add(("open", slot, number), 1, adds, number, 1)
        for kind, (length, count) in enumerate(self.kinds):
            weight = (length + job.kerf) / job.longest
            self._add(("short", slot, kind), count, {("kind", kind): 1.0, ("room", slot): weight})
        for piece in pieces:
            if piece != owner:
                self._add(("on", slot, piece), 1, self._part(slot, piece), parts=1)
            self.rows["least", slot, piece], self.rows["most", slot, piece] = (0, inf), (-inf, 0)
            rows = (("length", piece), ("room", slot), ("least", slot, piece), ("most", slot, piece))
            self._add(("part", slot, piece), inf, dict.fromkeys(rows, 1.0))
        if slot[1]:
            # the longest part first, for any other order would be the same plan again
            self.rows["order", slot] = (0, inf)
            self.columns["part", slot, owner].adds["order", slot] = -1.0
            self.columns["part", (owner, slot[1] - 1), owner].adds["order", slot] = 1.0

    def _part(self, slot: tuple[int, int], piece: int) -> Adds:
        """Return what it adds that there is a part of a piece in a slot: its length has a least and a most."""
        return {
            ("parts", piece): 1.0,
            ("room", slot): self.job.kerf / self.job.longest,
            ("least", slot, piece): -self.job.shortest_part(piece) / self.job.longest,
            ("most", slot, piece): -max(stock.length for stock in self.job.stocks) / self.job.longest,
        }

    def sticks(self, found: dict[Any, float]) -> Sticks:
        """Return the plan that a solution stands for, lengths of parts made whole numbers again."""
        job, plan = self.job, []
        waiting = [[piece for piece in job.short if job.pieces[piece] == length] for length, _ in self.kinds]
        for (name, place, what), value in found.items():
            if name == "fill":
                plan += [(place, self._taken(what, waiting)) for _ in range(round(value))]
            elif name == "open" and round(value):
                counts = [round(found["short", place, kind]) for kind in range(len(self.kinds))]
                on = [piece for piece in job.long if piece == place[0] or round(found.get(("on", place, piece), 0))]
                parts = {piece: round(found["part", place, piece] * job.longest) for piece in on}
                plan.append((what, self._taken(counts, waiting) | parts))
        for piece in job.long:
            self._complete(piece, plan)
        return tuple(made(job, stock, cuts) for stock, cuts in plan if cuts)

    def _taken(self, counts: Sequence[int], waiting: Sequence[list[int]]) -> dict[int, int]:
        """Take so many pieces of each kind from those that wait, as far as there are any."""
        pieces = (of.pop() for of, n in zip(waiting, counts, strict=True) for _ in range(min(n, len(of))))
        return {piece: self.job.pieces[piece] for piece in pieces}

    def _complete(self, piece: int, plan: Sequence[tuple[int, dict[int, int]]]) -> None:
        """Put right what rounding left too much or too little of a long piece, where there is room."""
        lacking = self.job.pieces[piece] - sum(cuts.get(piece, 0) for _, cuts in plan)
        for stock, cuts in plan:
            if piece in cuts:
                free = self.job.stocks[stock].length + self.job.kerf
                more = min(lacking, free - sum(length + self.job.kerf for length in cuts.values()))
                cuts[piece], lacking = cuts[piece] + more, lacking - more

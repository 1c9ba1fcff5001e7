"""How straights that are longer than every stick sold are split, so that the least length is bought.

The first split is whole sticks and a remainder. Others take what lies around, and what a plan leaves over, as parts.
A change counts as better that buys less, of equal lengths fewer sticks, of equal sticks fewer joints. The search is of
bounded length and no proof: what no split can buy less than is bounded from the lengths alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations_with_replacement, product

from ductcalc.answers.parts.cutting import EFFORT, CutPlan, CutStick, Stock, cut_plan
from ductcalc.answers.parts.cutting_bound import Needs, bought_by

Split = tuple[int, ...]
"""Lengths of the parts of one straight, long ones first."""

CHOSEN = 3
"""Most parts of one straight that are chosen freely; the others are whole sticks and a remainder."""

POOL = 10
"""Most unlike lengths that parts are chosen from."""

TRIALS = 900
"""Most plans tried; fewer where a plan has more than `FEW_PIECES` pieces. A count and no clock."""

FEW_PIECES = 12
TRIAL_EFFORT = 400


@dataclass(frozen=True)
class Task:
    """Straights longer than every stick sold, pieces that are not split, the sticks, and the saw cut.

    shortest: no part is chosen shorter, but for a remainder of whole sticks. Lengths in one whole unit.
    """

    straights: tuple[int, ...]
    pieces: tuple[int, ...]
    stocks: tuple[Stock, ...]
    kerf: int
    shortest: int = 1

    @property
    def longest(self) -> int:
        """Length of the longest stick sold."""
        return max(stock.length for stock in self.stocks if stock.count is None)

    def plan(self, splits: Sequence[Split], effort: int = EFFORT, worths: bool = True) -> CutPlan | None:
        """Return the plan for these splits, the parts first and then the pieces; None where a part fits nowhere."""
        lengths = [part for split in splits for part in split] + list(self.pieces)
        return _plan_with_long_parts(lengths, self, effort, worths)

    def bound(self) -> int:
        """Return a length that is bought at least, however the straights are split."""
        around = [stock.length for stock in self.stocks if stock.count]
        reach = max(self.longest, *around) if around else self.longest
        needs = Needs.of(self.pieces, [(stock.length, stock.count) for stock in self.stocks], self.kerf)
        weight = sum(length + self.kerf for length in self.pieces)
        # a part takes its length and one saw cut, and no straight has fewer parts than this
        weight += sum(length + -(-length // reach) * self.kerf for length in self.straights)
        least = bought_by(needs, (weight, dict(enumerate(needs.room))))
        return max(least, cut_plan(self.pieces, self.stocks, self.kerf).at_least)

    def fewest_joints(self) -> int:
        """Return the number of joints that no splits go below."""
        reach = max(stock.length for stock in self.stocks if stock.count is None or stock.count)
        return sum(-(-length // reach) - 1 for length in self.straights)


@dataclass(frozen=True)
class SplitPlan:
    """The splits, one for each straight, and the plan for them: parts first, then pieces.

    plan.proven: no other plan for these parts is better. at_least: no splits buy less length; sticks_at_least: nor,
    buying the least, fewer sticks. proven: no splits are better.
    """

    splits: tuple[Split, ...]
    plan: CutPlan
    at_least: int
    sticks_at_least: int
    proven: bool


def split_plan(task: Task) -> SplitPlan:
    """Return how the straights are split and everything is cut."""
    first = tuple(whole_sticks(length, task.longest) for length in task.straights)
    plan = task.plan(first)
    assert plan is not None
    if not task.straights:
        return SplitPlan(first, plan, plan.at_least, plan.sticks_at_least, plan.proven)
    bound = task.bound()
    sticks = -(-bound // task.longest)
    search = _Search(task, (bound, sticks, task.fewest_joints()))
    splits = search.run(first, plan)
    better = task.plan(splits) if splits != first else None
    if better is not None and _cost(task, splits, better) < _cost(task, first, plan):
        first, plan = splits, better
    proven = (plan.bought, _bought(task, plan)) == (bound, sticks)
    return SplitPlan(first, plan, bound, sticks, proven)


def whole_sticks(length: int, stick: int) -> Split:
    """Return whole sticks and a remainder."""
    whole, rest = divmod(length, stick)
    return (stick,) * whole + ((rest,) if rest else ())


def _bought(task: Task, plan: CutPlan) -> int:
    return sum(task.stocks[stick.stock].count is None for stick in plan.sticks)


Cost = tuple[int, int, int]
"""Length bought, sticks bought, joints."""


def _cost(task: Task, splits: Sequence[Split], plan: CutPlan) -> Cost:
    return plan.bought, _bought(task, plan), sum(len(split) - 1 for split in splits)


@dataclass(frozen=True)
class _Found:
    """Splits tried, their plan and its cost."""

    cost: Cost
    splits: tuple[Split, ...]
    plan: CutPlan


class _Search:
    """One straight after the other, then two at a time, get better splits, until none is or the trials are used up."""

    def __init__(self, task: Task, goal: Cost) -> None:
        self.task, self.goal = task, goal
        pieces = len(task.pieces) + sum(-(-length // task.longest) for length in task.straights)
        self.trials = TRIALS * FEW_PIECES // max(pieces, FEW_PIECES)
        self.known: dict[tuple[Split, ...], _Found | None] = {}

    def run(self, splits: tuple[Split, ...], plan: CutPlan) -> tuple[Split, ...]:
        """Return better splits, or those given: without a joint more than needed, with one, and so from the start."""
        first = _Found(_cost(self.task, splits, plan), splits, plan)
        few = self._better(first, 0, together=1)
        best = min(self._better(few, 1, together=1), self._better(first, 1, together=1), key=lambda found: found.cost)
        return self._better(best, 1, together=2).splits

    def _better(self, best: _Found, extra: int, together: int) -> _Found:
        """Return what is found by changing so many straights together, with so many joints more than needed at most."""
        improved = True
        while improved:
            improved = False
            for splits in self._changed(best, extra, together):
                if best.cost <= self.goal or self.trials <= 0:
                    return best
                found = self._tried(splits)
                if found is not None and found.cost < best.cost:
                    best, improved = found, True
                    break
        return best

    def _changed(self, found: _Found, extra: int, together: int) -> Iterator[tuple[Split, ...]]:
        """Yield splits that differ in so many straights."""
        alike = _alike(self.task.straights, found.splits)
        for kinds in combinations_with_replacement(range(len(alike)), together):
            if any(kinds.count(kind) > len(alike[kind]) for kind in kinds):
                continue
            numbers = [alike[kind][kinds[:place].count(kind)] for place, kind in enumerate(kinds)]
            pool = self._pool(numbers, found)
            for changes in product(*(self._splits(number, pool, extra) for number in numbers)):
                splits = list(found.splits)
                for number, split in zip(numbers, changes, strict=True):
                    splits[number] = split
                yield tuple(splits)

    def _tried(self, splits: tuple[Split, ...]) -> _Found | None:
        if splits not in self.known:
            self.trials -= 1
            plan = self.task.plan(splits, TRIAL_EFFORT, worths=False)
            self.known[splits] = None if plan is None else _Found(_cost(self.task, splits, plan), splits, plan)
        return self.known[splits]

    def _splits(self, number: int, pool: Sequence[int], extra: int) -> list[Split]:
        """Return the splits of one straight worth a trial, those with few parts first."""
        length = self.task.straights[number]
        lengths = [length, *pool] if any(stock.count and stock.length >= length for stock in self.task.stocks) else pool
        shortest = min(self.task.shortest, whole_sticks(length, self.task.longest)[-1])
        most = -(-length // self.task.longest) + extra
        found = {split for split in _choices(length, lengths, self.task.longest) if len(split) <= most}
        return sorted((split for split in found if split[-1] >= shortest), key=lambda split: (len(split), split[::-1]))

    def _pool(self, numbers: Sequence[int], found: _Found) -> list[int]:
        """Return lengths for parts of some straights: what lies around, what the others leave over, what is sold."""
        task, kerf = self.task, self.task.kerf
        owners = [number for number, split in enumerate(found.splits) for _ in split] + [-1] * len(task.pieces)
        lengths = [part for split in found.splits for part in split] + list(task.pieces)
        left = set()
        for stick in found.plan.sticks:
            others = [lengths[piece] + kerf for piece in stick.pieces if owners[piece] not in numbers]
            if others:
                left.add(task.stocks[stick.stock].length - sum(others))
        around = {stock.length for stock in task.stocks if stock.count}
        sold = {stock.length for stock in task.stocks if stock.count is None}
        beside = {size - other - kerf for size in around | sold for other in set(lengths)}
        groups = (around, left, sold, beside)
        ordered = [length for group in groups for length in sorted(group, reverse=True) if length >= task.shortest]
        return list(dict.fromkeys(ordered))[:POOL]


def _alike(straights: Sequence[int], splits: Sequence[Split]) -> list[list[int]]:
    """Return the numbers of straights, those of one length and split together, long ones first."""
    groups: dict[tuple[int, Split], list[int]] = {}
    for number in sorted(range(len(straights)), key=lambda n: (-straights[n], n)):
        groups.setdefault((straights[number], splits[number]), []).append(number)
    return list(groups.values())


def _choices(length: int, pool: Sequence[int], stick: int) -> Iterator[Split]:
    """Yield splits with some parts from the pool, the others whole sticks and a remainder."""
    for count in range(CHOSEN + 1):
        for chosen in combinations_with_replacement(pool, count):
            rest = length - sum(chosen)
            if rest >= 0:
                yield tuple(sorted((*chosen, *whole_sticks(rest, stick)), reverse=True))


def _plan_with_long_parts(lengths: Sequence[int], task: Task, effort: int, worths: bool) -> CutPlan | None:
    """Cut parts longer than every stick sold from the shortest that lies around, and plan the others with its rest."""
    long = sorted((n for n, length in enumerate(lengths) if length > task.longest), key=lambda n: (-lengths[n], n))
    if not long:
        return cut_plan(lengths, task.stocks, task.kerf, effort, worths)
    taken: list[int] = []
    for number in long:
        used = Counter(taken)
        free = [n for n, stock in enumerate(task.stocks) if (stock.count or 0) > used[n]]
        fitting = [n for n in free if task.stocks[n].length >= lengths[number]]
        if not fitting:
            return None
        taken.append(min(fitting, key=lambda n: (task.stocks[n].length, n)))
    return _put_together(lengths, task, list(zip(long, taken, strict=True)), effort, worths)


def _put_together(
    lengths: Sequence[int], task: Task, taken: Sequence[tuple[int, int]], effort: int, worths: bool
) -> CutPlan:
    """Plan the parts that are not yet on a stick; taken: number of a part and of the stock that it is cut from."""
    used = Counter(stock for _, stock in taken)
    stocks = [replace(s, count=s.count - used[n]) if s.count is not None else s for n, s in enumerate(task.stocks)]
    rests = [task.stocks[stock].length - lengths[number] - task.kerf for number, stock in taken]
    # a rest of nothing stands as the shortest stick there is, none of which is there
    stocks += [Stock(max(rest, 1), int(rest > 0)) for rest in rests]
    done = {number for number, _ in taken}
    others = [number for number in range(len(lengths)) if number not in done]
    plan = cut_plan([lengths[number] for number in others], stocks, task.kerf, effort, worths)
    beside: dict[int, tuple[int, ...]] = {}
    sticks = []
    for stick in plan.sticks:
        pieces = tuple(others[piece] for piece in stick.pieces)
        if stick.stock >= len(task.stocks):
            beside[stick.stock - len(task.stocks)] = pieces
        else:
            sticks.append(CutStick(stick.stock, pieces))
    sticks += [CutStick(stock, (number, *beside.get(n, ()))) for n, (number, stock) in enumerate(taken)]
    return replace(plan, sticks=tuple(sticks), at_least=0, sticks_at_least=0, proven=plan.bought == 0)

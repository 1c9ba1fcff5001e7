"""Finds good sizings by steps from several starts: deterministic, with a fixed seed for its kicks."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.size.bound import wanted_flow
from ductcalc.answers.size.cost import Costs
from ductcalc.answers.size.trials import Trials
from ductcalc.cases.judged import limits

Floats = NDArray[np.float64]
Places = NDArray[np.intp]
SEED = 20
KICKS, KICKED, ALWAYS = 6, 3, 2
CHUNK = 256
MOST_NUMBERS = 12_000_000
"""What a search for all sets may solve by itself: some seconds."""

SAME_COST = 1e-9
LAST_STEPS = 4
GRAIN = 0.01
"""Share of a wish: lacks are told apart by whole per cents, far inside what is known of any duct; our judgement."""

Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Standing:
    """How good a sizing is: sets not fine, then the worst share missing, then the cost; less is better."""

    places: Places
    sets: int
    worst: float
    cost: float

    @property
    def key(self) -> tuple[int, float, float]:
        """What sizings are ranked by."""
        return self.sets, self.worst, self.cost


@dataclass
class Search:
    """The state of a search: what it may try, how many cases it has solved, which sets fail most often.

    grain: steps in which the worst lack is told apart, so that no pipe is bought for less; 0 for all differences.
    most: sections times cases solved after which no further start or kick is taken.
    """

    trials: Trials
    costs: Costs
    grain: float = GRAIN
    most: int = MOST_NUMBERS
    solved: int = 0
    failures: NDArray[np.intp] = field(init=False)

    def __post_init__(self) -> None:
        """Begin with no failures."""
        self.failures = np.zeros(len(self.trials.choices), dtype=np.intp)

    @property
    def spent(self) -> bool:
        """Whether no further start or kick is taken."""
        return self.solved * self.trials.model.tree.size > self.most

    @property
    def exhausted(self) -> bool:
        """Whether even the present descent ends where it is: the shop is large."""
        return self.solved * self.trials.model.tree.size > LAST_STEPS * self.most

    def missing(self, places: Places) -> Floats:
        """Return how far each set of each sizing is from being fine (sizings, choices)."""
        self.solved += len(places) * len(self.trials.choices)
        return self.trials.marks(places).missing

    def fine(self, places: Places) -> NDArray[np.bool_]:
        """Return which sizings leave every set fine; sets that fail most are tried first, and alone."""
        good = np.arange(len(places))
        order = np.argsort(-self.failures, kind="stable")
        groups = [order[:1], order[1:2], order[2:4], order[4:]]
        for group in groups:
            if len(group) and len(good):
                fine = self.trials.marks(places[good], group).fine
                self.solved += len(good) * len(group)
                self.failures[group] += (~fine).sum(axis=0)
                good = good[fine.all(axis=1)]
        found = np.zeros(len(places), dtype=bool)
        found[good] = True
        return found

    def standings(self, places: Places) -> tuple[NDArray[np.intp], Floats, Floats, Floats]:
        """Return sets not fine, worst and summed share missing, and cost of each sizing (sizings,)."""
        missing = self.missing(places)
        worst = missing.max(axis=1)
        if self.grain:
            worst = np.maximum(np.ceil(worst / self.grain - SAME_COST), 0.0) * self.grain
        return (missing > 0.0).sum(axis=1), worst, missing.sum(axis=1), self.costs.of(places)

    def standing(self, places: Places) -> Standing:
        """Return how good one sizing is."""
        sets, worst, _, cost = self.standings(places[None, :])
        return Standing(places, int(sets[0]), float(worst[0]), float(cost[0]))

    def first_fine(self, places: Places) -> Places | None:
        """Return the cheapest sizing that leaves every set fine; of equal ones the one with the smaller places."""
        cost = self.costs.of(places)
        order = np.lexsort((*places.T[::-1], cost))
        for first in range(0, len(order), CHUNK):
            some = places[order[first : first + CHUNK]]
            fine = self.fine(some)
            if fine.any():
                return np.asarray(some[int(np.argmax(fine))])
        return None


def best_found(
    search: Search, progress: Progress | None = None, starts: Sequence[Places] | None = None, kicks: int = KICKS
) -> Standing:
    """Return the best sizing that stepping finds: from each start to fewer sets that are not fine, then to less cost.

    starts: other ones than those by rule. kicks: how often the best one is thrown off and settled again.
    """
    starts = tuple(starts_of(search.trials)) if starts is None else starts
    best: Standing | None = None
    random = np.random.default_rng(SEED)
    total = len(starts) + kicks
    for number in range(total):
        if number >= ALWAYS and search.spent:
            break
        start = starts[number] if best is None or number < len(starts) else _kicked(search, best.places, random)
        found = _settled(search, start)
        best = found if best is None or found.key < best.key else best
        if progress is not None:
            progress(number + 1, total)
    assert best is not None
    return best


def starts_of(trials: Trials) -> Iterator[Places]:
    """Yield sizes by the speeds that chips need, what is written, a size to either side of the first, the largest."""
    ways = trials.plan.ways
    by_speed = _by_speed(trials)
    yield by_speed
    yield trials.plan.nearest()
    yield np.minimum(by_speed + 1, ways - 1)
    yield np.maximum(by_speed - 1, 0)
    yield ways - 1


def _by_speed(trials: Trials) -> Places:
    """Return for each stretch the largest size in which the wanted air of every set keeps its chips moving."""
    flow, needed = wanted_flow(trials), trials.needed * limits().level
    places = np.zeros(len(trials.plan.stretches), dtype=np.intp)
    for number, stretch in enumerate(trials.plan.stretches):
        for place in range(1, stretch.ways):
            areas = [trials.slow_area[section, place] for section in stretch.sections]
            if all((flow[s] >= needed[s] * area).all() for s, area in zip(stretch.sections, areas, strict=True)):
                places[number] = place
    return places


def _settled(search: Search, start: Places) -> Standing:
    """Step to fewer missing shares, then to fewer sets that are not fine, then to less cost."""
    places = _descend(search, start, lambda s: (s[2], s[3]))
    standing = search.standing(places)
    if standing.sets:
        places = _descend(search, places, lambda s: (s[0], s[1], s[3]), pairs=True)
        standing = search.standing(places)
    return standing if standing.sets else _cheapened(search, standing)


Ranking = Callable[[tuple[NDArray[np.intp], Floats, Floats, Floats]], Sequence[NDArray[np.generic]]]


def _descend(search: Search, places: Places, ranking: Ranking, pairs: bool = False) -> Places:
    """Take the best step of one size while it is better, else the best single change, else that of two neighbours."""
    ways = search.trials.plan.ways
    makers: list[Callable[[Places], Places]] = [lambda at: _single(at, ways, 1), lambda at: _single(at, ways)]
    if pairs:
        makers.append(lambda at: _neighbours(search.trials, at))
    while not search.exhausted:
        for make in makers:
            moves = np.vstack([places[None, :], make(places)])
            best = _best(search, moves, ranking)
            if best:
                break
        else:
            break
        places = moves[best]
    return places


def _best(search: Search, moves: Places, ranking: Ranking) -> int:
    """Return the best of several sizings, the first one when none is better than it."""
    keys = ranking(search.standings(moves))
    order = np.lexsort((np.arange(len(moves)), *keys[::-1]))
    return int(order[0])


def _cheapened(search: Search, standing: Standing) -> Standing:
    """Step to less cost by one or two changes at a time while every set stays fine."""
    while not search.exhausted:
        singles = _single(standing.places, search.trials.plan.ways)
        places = search.first_fine(_below(search, singles, standing.cost))
        if places is None:
            pairs = _pairs(standing.places, search.trials.plan.ways)
            places = search.first_fine(_below(search, pairs, standing.cost))
        if places is None:
            break
        standing = search.standing(places)
    return standing


def _below(search: Search, places: Places, cost: float) -> Places:
    return places[search.costs.of(places) < cost - SAME_COST * abs(cost)]


def _single(places: Places, ways: Places, steps: int | None = None) -> Places:
    """Return every sizing that differs in one stretch (sizings, stretches), by so many sizes at the most."""
    found = []
    for number, count in enumerate(ways):
        for place in range(int(count)):
            if place != places[number] and (steps is None or abs(place - places[number]) <= steps):
                found.append(_with(places, {number: place}))
    return np.array(found, dtype=np.intp).reshape(-1, len(places))


def _pairs(places: Places, ways: Places) -> Places:
    """Return sizings that differ in two stretches: one gets a smaller size, the other a size larger or smaller."""
    found = []
    for one, two in combinations(range(len(places)), 2):
        for first, second in ((one, two), (two, one)):
            for smaller in range(int(places[first])):
                for other in {int(places[second]) + 1, int(places[second]) - 1} & set(range(int(ways[second]))):
                    if other > places[second] or first < second:
                        found.append(_with(places, {first: smaller, second: other}))
    return np.array(found, dtype=np.intp).reshape(-1, len(places))


def _neighbours(trials: Trials, places: Places) -> Places:
    """Return sizings in which two stretches that meet at a wye both go a size up or down."""
    ways, stretch_of = trials.plan.ways, trials.plan.stretch_of
    found: dict[tuple[int, ...], Places] = {}
    for _, outlet, streams, _ in trials.model.tree.walk:
        meeting = sorted({int(stretch_of[outlet]), *(int(stretch_of[stream]) for stream in streams)})
        for one, two in combinations(meeting, 2):
            for first in (-1, 1):
                for second in (-1, 1):
                    moved = _with(places, {one: int(places[one]) + first, two: int(places[two]) + second})
                    if (moved >= 0).all() and (moved < ways).all():
                        found[tuple(moved.tolist())] = moved
    return np.array(list(found.values()), dtype=np.intp).reshape(-1, len(places))


def _with(places: Places, changed: dict[int, int]) -> Places:
    found = places.copy()
    for number, place in changed.items():
        found[number] = place
    return found


def _kicked(search: Search, places: Places, random: np.random.Generator) -> Places:
    """Return a sizing with some stretches at other sizes."""
    ways = search.trials.plan.ways
    free = np.flatnonzero(ways > 1)
    found = places.copy()
    for number in random.permutation(free)[:KICKED]:
        found[number] = random.integers(ways[number])
    return found

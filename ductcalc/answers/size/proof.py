"""Whether the best sizing found is the best there is, or how far a better one could be away."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.size.bound import Bound, Power, bound_of, cheaper, power_of
from ductcalc.answers.size.search import SAME_COST, Search, Standing, best_found
from ductcalc.answers.size.search import Progress as Progress

Places = NDArray[np.intp]
ALL_NUMBERS = 6_000_000
"""Sections times sets times sizings up to which every sizing there is gets tried."""

CHEAPER_NUMBERS = 1_500_000
"""Sections times sizings up to which all of those that may be cheaper get tried."""

NO_CEILING = 1e300
SHARES = (1.0, 0.5, 0.25, 0.125, 0.0625)


@dataclass(frozen=True)
class Proof:
    """The best sizing, and what is proven about it.

    proven: none is better: of all that satisfy everything it costs least, or of all there are it violates least.
    bound: no sizing that satisfies everything costs less, None when none does. impossible: proven that none does.
    """

    best: Standing
    proven: bool
    bound: float | None
    impossible: bool


def proven_best(search: Search, progress: Progress | None = None) -> Proof:
    """Search, then prove what can be proven within the limits above."""
    best = best_found(search, progress)
    power = power_of(search.trials)
    costs = search.costs.least()
    target = best.cost if not best.sets else 2.0 * sum(float(cost.max()) for cost in costs)
    bound = bound_of(costs, power, target)
    if not best.sets:
        return _cheapest(search, best, power, bound)
    return _least_violation(search, best, power, bound)


def _cheapest(search: Search, best: Standing, power: Power, bound: Bound) -> Proof:
    costs, most = search.costs.least(), CHEAPER_NUMBERS // search.trials.model.tree.size
    for share in SHARES:
        ceiling = bound.value + share * (best.cost - bound.value)
        places = cheaper(costs, power, bound, ceiling, most)
        if places is None:
            continue
        below = places[search.costs.of(places) < ceiling - SAME_COST * abs(ceiling)]
        found = search.first_fine(below)
        if found is not None:
            best = search.standing(found)
        proven = share == 1.0 or found is not None
        return Proof(best, proven, best.cost if proven else ceiling, False)
    return Proof(best, False, min(bound.value, best.cost), False)


def _least_violation(search: Search, best: Standing, power: Power, bound: Bound) -> Proof:
    trials = search.trials
    if trials.plan.possible * len(trials.choices) * trials.model.tree.size <= ALL_NUMBERS:
        least = _least_of_all(search)
        if not least.sets:
            return Proof(least, True, least.cost, False)
        return Proof(least, True, None, True)
    if not np.isfinite(bound.value):
        return Proof(best, False, None, True)
    most = CHEAPER_NUMBERS // trials.model.tree.size
    places = cheaper(search.costs.least(), power, bound, NO_CEILING, most)
    if places is None:
        return Proof(best, False, None, False)
    found = search.first_fine(places)
    if found is None:
        return Proof(best, False, None, True)
    cheapest = search.standing(found)
    return Proof(cheapest, True, cheapest.cost, False)


def every_sizing(ways: Places) -> Places:
    """Return every sizing there is (sizings, stretches)."""
    grid = np.indices(tuple(int(way) for way in ways), dtype=np.intp)
    return np.asarray(grid.reshape(len(ways), -1).T)


def _least_of_all(search: Search) -> Standing:
    places = every_sizing(search.trials.plan.ways)
    sets, worst, _, cost = search.standings(places)
    order = np.lexsort((*places.T[::-1], cost, worst, sets))
    return search.standing(places[order[0]])

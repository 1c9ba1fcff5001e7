"""Which gate to open besides a set so that its chips keep moving, at the least loss of air for those in use."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ductcalc.answers.gates.sets import mask_of, places_of, possible
from ductcalc.answers.gates.solved import SolvedSets
from ductcalc.answers.gates.verdicts import SetAnswer, Verdicts, verdicts

MOST_HELPERS = 2


@dataclass(frozen=True, slots=True)
class HelperAnswer:
    """A set in which chips settle, before and with the best helper gates; helpers is empty when none cures it."""

    before: SetAnswer
    helpers: tuple[str, ...]
    after: SetAnswer | None


@dataclass(frozen=True, slots=True)
class _Try:
    """One way of helping a set: the number of the set, the helpers' places, the pattern that is then open."""

    number: int
    helpers: tuple[int, ...]
    mask: int


def best_helpers(
    judged: Verdicts, numbers: Sequence[int], clash: Sequence[tuple[int, int]], names: Sequence[str | None]
) -> tuple[HelperAnswer, ...]:
    """Return the best helper of each of these sets (by number): one gate if any single one cures it, else two.

    A helper cures a set when nothing settles where the running machines' chips go; among cures those that keep
    everybody served come first, then the one that leaves the poorest running machine most of its air.
    """
    found: dict[int, tuple[_Try, SetAnswer]] = {}
    for size in range(1, MOST_HELPERS + 1):
        open_ones = [n for n in numbers if n not in found]
        tries = [attempt for n in open_ones for attempt in _tries(judged, n, size, clash)]
        found.update(_best(judged, tries))
    return tuple(_answer(judged, number, name, found) for number, name in zip(numbers, names, strict=True))


def _tries(judged: Verdicts, number: int, size: int, clash: Sequence[tuple[int, int]]) -> Iterable[_Try]:
    mask = judged.open[number]
    others = [p for p in range(len(judged.sets.machines)) if not mask >> p & 1]
    for helpers in combinations(others, size):
        opened = mask | mask_of(helpers)
        if possible([opened], clash):
            yield _Try(number, helpers, opened)


def _best(judged: Verdicts, tries: Sequence[_Try]) -> dict[int, tuple[_Try, SetAnswer]]:
    if not tries:
        return {}
    sets = judged.sets
    helped = verdicts(sets, [t.mask for t in tries], [judged.running[t.number] for t in tries])
    best: dict[int, tuple[tuple[bool, float], int]] = {}
    for place, attempt in enumerate(tries):
        if helped.solved[place] and helped.settling[place] == 0:
            rank = (bool(helped.served[place]), least_share(sets, attempt.mask, judged.running[attempt.number]))
            if attempt.number not in best or rank > best[attempt.number][0]:
                best[attempt.number] = (rank, place)
    return {number: (tries[place], helped.answer(place)) for number, (_, place) in best.items()}


def least_share(sets: SolvedSets, mask: int, running: int) -> float:
    """Return air over wanted of the poorest running machine in a set."""
    row = sets.row[mask]
    return float(np.min([sets.share[row, place] for place in places_of(running)], initial=np.inf))


def _answer(judged: Verdicts, number: int, name: str | None, found: dict[int, tuple[_Try, SetAnswer]]) -> HelperAnswer:
    before = judged.answer(number, name)
    if number not in found:
        return HelperAnswer(before, (), None)
    attempt, after = found[number]
    return HelperAnswer(before, tuple(judged.sets.machines[p] for p in attempt.helpers), after)

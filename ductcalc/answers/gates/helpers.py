"""Which gate to open besides a set so that its chips keep moving, at the least loss of air for those in use."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, islice

import numpy as np

from ductcalc.answers.gates.sets import mask_of, places_of, possible
from ductcalc.answers.gates.verdicts import SetAnswer, Verdicts, verdicts

MOST_HELPERS = 2
TRIES_AT_ONCE = 4096


@dataclass(frozen=True)
class HelperAnswer:
    """A set in which chips settle, before and with the best helper gates; helpers is empty when none cures it."""

    before: SetAnswer
    helpers: tuple[str, ...]
    after: SetAnswer | None

    @property
    def cured(self) -> bool:
        """Whether everybody is served and nothing settles with the helpers' gates open."""
        return self.after is not None and self.after.word == "fine"


@dataclass(frozen=True)
class _Try:
    """One way of helping a set: the number of the set, the helpers' places, the pattern that is then open."""

    number: int
    helpers: tuple[int, ...]
    mask: int


def best_helpers(
    judged: Verdicts,
    numbers: Sequence[int],
    clash: Sequence[tuple[int, int]],
    names: Sequence[str | None],
    most: int = MOST_HELPERS,
) -> tuple[HelperAnswer, ...]:
    """Return the best helper of each of these sets (by number): one gate if any single one cures it, else up to `most`.

    A helper cures a set when nothing settles where the running machines' chips go; among cures those that keep
    everybody served come first, then the one that leaves the poorest running machine most of its air.
    """
    found: dict[int, tuple[_Try, SetAnswer]] = {}
    for size in range(1, most + 1):
        open_ones = [n for n in numbers if n not in found]
        tries = (attempt for n in open_ones for attempt in _tries(judged, n, size, clash))
        found.update(_best(judged, tries))
    return tuple(_answer(judged, number, name, found) for number, name in zip(numbers, names, strict=True))


def _tries(judged: Verdicts, number: int, size: int, clash: Sequence[tuple[int, int]]) -> Iterable[_Try]:
    mask = judged.open[number]
    others = [p for p in range(len(judged.sets.machines)) if not mask >> p & 1]
    for helpers in combinations(others, size):
        opened = mask | mask_of(helpers)
        if possible([opened], clash):
            yield _Try(number, helpers, opened)


def _best(judged: Verdicts, tries: Iterable[_Try]) -> dict[int, tuple[_Try, SetAnswer]]:
    """Return the best try of each set that has one; tries are judged some thousands at a time to bound memory."""
    best: dict[int, tuple[tuple[bool, float], _Try, SetAnswer]] = {}
    waiting = iter(tries)
    while some := list(islice(waiting, TRIES_AT_ONCE)):
        helped = _judged(judged, some)
        for place in np.flatnonzero(helped.solved & (helped.settling == 0)):
            attempt = some[place]
            rank = (bool(helped.served[place]), least_share(helped, int(place)))
            if attempt.number not in best or rank > best[attempt.number][0]:
                best[attempt.number] = (rank, attempt, helped.answer(int(place)))
    return {number: (attempt, after) for number, (_, attempt, after) in best.items()}


def _judged(judged: Verdicts, tries: Sequence[_Try]) -> Verdicts:
    """Judge tries: the machines of the set run and want what they want in it."""
    wanted = [own_wanted(judged, attempt.number) for attempt in tries]
    return verdicts(judged.sets, [t.mask for t in tries], [judged.running[t.number] for t in tries], wanted)


def own_wanted(judged: Verdicts, number: int) -> dict[int, float]:
    """Return the air [m3/s] of machines (by place) that want something else in a set than by the table."""
    ratio = judged.wanted_ratio[number]
    return {int(p): float(ratio[p]) * judged.sets.wanted_of(int(p)) for p in np.flatnonzero(ratio != 1.0)}


def least_share(judged: Verdicts, number: int) -> float:
    """Return air over wanted of the poorest running machine in a set."""
    return float(np.min(judged.share[number, list(places_of(judged.running[number]))], initial=np.inf))


def _answer(judged: Verdicts, number: int, name: str | None, found: dict[int, tuple[_Try, SetAnswer]]) -> HelperAnswer:
    before = judged.answer(number, name)
    if number not in found:
        return HelperAnswer(before, (), None)
    attempt, after = found[number]
    return HelperAnswer(before, tuple(judged.sets.machines[p] for p in attempt.helpers), after)

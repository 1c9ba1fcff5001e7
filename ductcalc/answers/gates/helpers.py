"""Which gate to open besides a set so that its chips keep moving, at the least loss of air for those in use."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, islice
from typing import NamedTuple

import numpy as np

from ductcalc.answers.gates.sets import MOST_FOR_ALL, AskedSets, GateSets, clashes, mask_of, possible
from ductcalc.cases.case import Case
from ductcalc.cases.choices import Choice
from ductcalc.cases.judged import SETTLES
from ductcalc.model.model import Model

MOST_HELPERS = 2
TRIES_AT_ONCE = 4096


@dataclass(frozen=True)
class HelperAnswer:
    """A set in which chips settle, before and with the best helper gates; helpers is empty when none cures it.

    every: of a machine alone or a named set all gates, or pairs of gates, after which it may run, the best first.
    """

    before: Case
    helpers: tuple[str, ...]
    after: Case | None
    every: tuple[tuple[tuple[str, ...], Case], ...] = ()

    @property
    def cured(self) -> bool:
        """Whether the set may run with the helpers' gates open."""
        return self.after is not None and self.after.may_run


def air_lost(before: Case, after: Case) -> tuple[str, float]:
    """Return which running machine loses most of its air to helpers, by share, and how much [m3/s]."""
    pairs = [(machine, after.machine(machine.machine)) for machine in before.machines if machine.runs]
    machine, then = min(pairs, key=lambda pair: pair[1].flow_m3_s / pair[0].flow_m3_s)
    return machine.machine, machine.flow_m3_s - then.flow_m3_s


@dataclass(frozen=True)
class _Try:
    """One way of helping a set: the number of the set, the helpers' places, the pattern that is then open."""

    number: int
    helpers: tuple[int, ...]
    mask: int

    def names(self, asked: AskedSets) -> tuple[str, ...]:
        """Return the machines at the helping gates."""
        return tuple(asked.store.machines[place] for place in self.helpers)


class _Tried(NamedTuple):
    """A try after which nothing settles: whether the set may then run, the poorest machine's share, its place."""

    may_run: bool
    share: float
    attempt: _Try
    helped: AskedSets
    place: int


def best_helpers(
    asked: AskedSets,
    numbers: Sequence[int],
    clash: Sequence[tuple[int, int]],
    names: Sequence[str | None],
    most: int = MOST_HELPERS,
) -> tuple[HelperAnswer, ...]:
    """Return the best helper of each of these sets (by number): one gate if any single one cures it, else up to `most`.

    A helper cures a set when nothing settles where the running machines' chips go; among cures those after which the
    set may run come first, then the one that leaves the poorest running machine most of its air.
    """
    found: dict[int, list[_Tried]] = {}
    for size in range(1, most + 1):
        open_ones = [n for n in numbers if n not in found]
        tries = (attempt for n in open_ones for attempt in _tries(asked, n, size, clash))
        found.update(_best(asked, tries))
    return tuple(_answer(asked, number, name, found) for number, name in zip(numbers, names, strict=True))


def gate_helps(model: Model, choice: Choice) -> bool:
    """Whether a choice in which chips settle may run with another gate open, or two."""
    sets = GateSets(model)
    most = 1 if len(sets.machines) > MOST_FOR_ALL else MOST_HELPERS
    (found,) = best_helpers(sets.ask_choices([choice]), [0], clashes(model), [choice.name], most)
    return found.cured


def _tries(asked: AskedSets, number: int, size: int, clash: Sequence[tuple[int, int]]) -> Iterable[_Try]:
    mask = asked.opened[number]
    others = [p for p in range(len(asked.store.machines)) if not mask >> p & 1]
    for helpers in combinations(others, size):
        opened = mask | mask_of(helpers)
        if possible([opened], clash):
            yield _Try(number, helpers, opened)


def _best(asked: AskedSets, tries: Iterable[_Try]) -> dict[int, list[_Tried]]:
    """Return the tries after which nothing settles of each set that has one, the best first.

    They are judged some thousands at a time to bound memory.
    """
    found: dict[int, list[_Tried]] = {}
    waiting = iter(tries)
    while some := list(islice(waiting, TRIES_AT_ONCE)):
        numbers = [attempt.number for attempt in some]
        helped = asked.store.ask(
            [attempt.mask for attempt in some],
            [asked.running[number] for number in numbers],
            [asked.wanted[number] for number in numbers],
        )
        judged = helped.judged
        for place in np.flatnonzero(judged.solved & (judged.case_chips != SETTLES)).tolist():
            tried = _Tried(bool(judged.may_run[place]), float(judged.case_share[place]), some[place], helped, place)
            found.setdefault(some[place].number, []).append(tried)
        found = {n: sorted(of, key=lambda tried: tried[:2], reverse=True) for n, of in found.items()}
    return found


def _answer(asked: AskedSets, number: int, name: str | None, found: dict[int, list[_Tried]]) -> HelperAnswer:
    before = asked.case(number, name)
    if number not in found:
        return HelperAnswer(before, (), None)
    first = found[number][0]
    plain_pair = name is None and len(before.asked) > 1
    every = [] if plain_pair else [tried for tried in found[number] if tried.may_run]
    return HelperAnswer(
        before,
        first.attempt.names(asked),
        first.helped.case(first.place),
        tuple((tried.attempt.names(asked), tried.helped.case(tried.place)) for tried in every),
    )

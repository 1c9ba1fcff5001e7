"""Slow and sure ways for the few cases that Newton's method leaves: very leaky joints, flows that would turn round."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from ductcalc.arrays import Flags, Places
from ductcalc.solve.junctions import Method
from ductcalc.solve.losses import first_root
from ductcalc.solve.newton import Closure, Solved, State, iterate
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.tree import Tree

FIRST_SHARE, FIRST_FACTOR, LEAST_FACTOR = 1e-4, 8.0, 1.02
"""Share of leaks and own blowers to begin with, how many times it grows at once, and fewer than which is given up."""

TURNING = 1e-9
"""Share of a case's greatest flow below which a port's flow is on its way to nothing, since it would turn round."""

MOST_SHUT = 12
"""Times that ports are shut, as if by valves, to find which of them air would blow out of."""


def hard_cases(tree: Tree, numbers: Numbers, solved: Solved) -> Places:
    """Return the unsettled cases by number, but for those in which an own blower is turning a flow round."""
    left = np.flatnonzero(~solved.converged)
    if numbers.source is None or not len(left):
        return left
    return left[~_dwindling(tree, numbers.take(left), solved.part(left)).any(axis=0)]


def let_in(
    tree: Tree, numbers: Numbers, method: Method, state: State, closure_of: Callable[[Places], Closure]
) -> Solved:
    """Solve every case of a state with almost tight joints and almost no own blowers first, then with more and more.

    Each answer is the next start, so that leaks, which weaken what they feed on, never change much at once. Of a case
    that cannot be let in wholly the last state stays: one that an own blower is turning round has a flow near nothing.
    """
    found = Solved.empty(tree.size, state.flow.shape[1])
    left = np.arange(state.flow.shape[1])
    share, reached = np.full(len(left), FIRST_SHARE), np.zeros(len(left))
    factor = np.full(len(left), FIRST_FACTOR)
    while len(left):
        own = numbers.take(left)
        trial = Solved.empty(tree.size, len(left))
        source = None if own.source is None else own.source * share[left]
        eased = replace(own, leak=own.leak * share[left], source=source)
        iterate(tree, eased, method, state.take(left), closure_of(left), trial)
        good, bad = left[trial.converged], left[~trial.converged]
        better = trial.part(np.flatnonzero(trial.converged))
        found.put(bad, trial.part(np.flatnonzero(~trial.converged)))
        state.flow[:, good], state.start[:, good], state.end[:, good] = better.flow, better.start, better.end
        state.root[:, good] = first_root(numbers.take(good).friction, better.flow)
        reached[good] = share[good]
        factor[bad] = np.sqrt(factor[bad])
        done = reached[good] == 1.0
        found.put(good[done], better.part(np.flatnonzero(done)))
        share = np.minimum(1.0, reached * factor)
        left = left[(reached[left] > 0.0) & (reached[left] < 1.0) & (factor[left] > LEAST_FACTOR)]
    return found


def name_outward(tree: Tree, numbers: Numbers, solved: Solved, solve: Callable[[Numbers, Places], Solved]) -> None:
    """Write in which section air would turn round, for the cases without an answer of which that is why.

    A port whose flow dwindles to nothing is shut. Where the other flows settle then, and the duct behind it stands
    over the room's pressure, air would blow out of it. Of several ports that is said of the one under most pressure.
    solve: the numbers of some cases, by number, to what is found of them.
    """
    _mark_turned(tree, solved)
    left = np.flatnonzero(~solved.converged & (solved.outward < 0))
    shut = _dwindling(tree, numbers.take(left), solved.part(left))
    for _ in range(MOST_SHUT):
        some = shut.any(axis=0)
        left, shut = left[some], shut[:, some]
        if not len(left):
            return
        own = numbers.take(left)
        trial = solve(replace(own, closed=own.closed | shut), left)
        over = np.where(shut, -(trial.end + (0.0 if own.source is None else own.source)), -np.inf)
        sure = trial.converged & ((over > 0.0) | ~shut).all(axis=0)
        solved.outward[left[sure]] = over[:, sure].argmax(axis=0)
        again = np.where(trial.converged, shut & (over > 0.0), shut | _dwindling(tree, own, trial))
        going = ~sure & (again != shut).any(axis=0)
        left, shut = left[going], again[:, going]


def _mark_turned(tree: Tree, solved: Solved) -> None:
    """Take back answers in which joints lose more air than comes into their section, so that some flows back in."""
    leaving = solved.flow + solved.leak
    turned = solved.converged & (leaving < 0.0).any(axis=0)
    solved.converged[turned] = False
    solved.outward[turned] = leaving[:, turned].argmin(axis=0)


def _dwindling(tree: Tree, numbers: Numbers, solved: Solved) -> Flags:
    """Return the sections that start at a port and whose flow dwindles (sections, cases)."""
    most = solved.flow.max(axis=0)
    starts = np.zeros((tree.size, 1), dtype=bool)
    starts[tree.leaves] = True
    return np.asarray(starts & ~numbers.closed & (solved.flow < TURNING * np.where(np.isfinite(most), most, 0.0)))

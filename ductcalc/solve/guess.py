"""First guess of all flows: the tree without losses at wyes, every loss growing with the square of the flow.

A pressure p at a section's end then draws `conductance * sqrt(p)`. Conductances that meet, x in all, draw
x / sqrt(1 + r x^2) through a section of resistance r. A stretch of path is kept in this same form, as what joins
it and a resistance, which is exact for nothing and for everything fed in upstream, and close between.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ductcalc.solve.paths import Level
from ductcalc.solve.tree import Tree

Floats = NDArray[np.float64]
LEAST_RESISTANCE = 1e-30
"""Resistance [Pa s2/m6] in place of none, whose inverse would not be finite."""

LEAST_SHARE_OF_ROOT = 1e-4
"""Least root of a pressure, as a share of the collector's: starved ports start low, but not from nothing."""


def first_flows(
    tree: Tree, leaves: Floats, resistance: Floats, pressure_pa: Floats, most_flow_m3_s: Floats
) -> tuple[Floats, Floats]:
    """Return flows [m3/s] and end pressures [Pa] (sections, cases) on a parabola from a pressure to a most flow.

    leaves: conductances [m3/s/Pa^0.5] of sections that start at a port, a row per section (sections, cases).
    resistance: (sections, 1 or cases) [Pa s2/m6]. pressure_pa, most_flow_m3_s: (cases,), the parabola's two ends.
    """
    conductance = gathered(tree, leaves, resistance)
    root = np.empty_like(conductance)
    root[tree.root] = 1.0 / np.sqrt(1.0 / pressure_pa + (conductance[tree.root] / most_flow_m3_s) ** 2)
    for level in reversed(tree.levels):
        _spread(level, conductance, resistance, root)
    np.maximum(root, LEAST_SHARE_OF_ROOT * root[tree.root], out=root)
    return conductance * root, root**2


def gathered(tree: Tree, leaves: Floats, resistance: Floats) -> Floats:
    """Return what every section's end draws (sections, cases), given the leaves' rows; without resistance a sum."""
    conductance = leaves.copy()
    for level in tree.levels:
        _gather(level, conductance, resistance)
    return conductance


def _gather(level: Level, conductance: Floats, resistance: Floats) -> None:
    """Write the conductances of a level's paths, pairing stretches, then undoing the pairs."""
    cases, starts = conductance.shape[1], len(level.start)
    side = np.zeros((starts + len(level.wye), cases))
    side[starts:] = _joining(level, conductance)
    own = np.zeros_like(side)
    own[starts:] = resistance.take(level.outlet, axis=0)
    stretches = []
    for pairing in level.rounds:
        first = side.take(pairing.first, axis=0), own.take(pairing.first, axis=0)
        second = side.take(pairing.second, axis=0), own.take(pairing.second, axis=0)
        stretches.append(first)
        both, carried = _paired(first, second), pairing.carried
        side, own = (
            np.concatenate([new, old.take(carried, axis=0)]) for new, old in zip(both, (side, own), strict=True)
        )
    conductance[level.end] = _drawn((side, own), conductance.take(level.path_start, axis=0))
    for pairing, stretch in zip(reversed(level.rounds), reversed(stretches), strict=True):
        conductance[pairing.middle] = _drawn(stretch, conductance.take(pairing.feed, axis=0))


def _joining(level: Level, conductance: Floats) -> Floats:
    """Return what joins each wye of a level beside its path; all that meets where a path starts at the wye."""
    joining: Floats = (level.runs_on - 1.0) * conductance.take(level.section, axis=0)
    for side in level.sides:
        joining[side.place] += conductance.take(side.section, axis=0)
    return joining


def _drawn(stretch: tuple[Floats, Floats], fed: Floats) -> Floats:
    side, resistance = stretch
    met = fed + side
    drawn: Floats = met / np.sqrt(1.0 + resistance * met * met)
    return drawn


def _paired(first: tuple[Floats, Floats], second: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """Make one stretch of two neighbours: exact for no and for unlimited conductance fed in."""
    greatest = _drawn(second, 1.0 / np.sqrt(first[1] + LEAST_RESISTANCE))
    least = _drawn(second, _drawn(first, np.zeros_like(first[0])))
    resistance = 1.0 / (greatest * greatest)
    return least / np.sqrt(np.maximum(1.0 - resistance * least * least, LEAST_RESISTANCE)), resistance


def _spread(level: Level, conductance: Floats, resistance: Floats, root: Floats) -> None:
    """Write the roots of the pressures above a level's wyes from those at the ends of its paths."""
    met = _joining(level, conductance) + conductance.take(level.section, axis=0)
    kept = np.ones((len(level.start) + len(level.wye), root.shape[1]))
    kept[len(level.start) :] /= np.sqrt(1.0 + resistance.take(level.outlet, axis=0) * met * met)
    seconds = []
    for pairing in level.rounds:
        second = kept.take(pairing.second, axis=0)
        seconds.append(second)
        joined = kept.take(pairing.first, axis=0) * second
        kept = np.concatenate([joined, kept.take(pairing.carried, axis=0)])
    for pairing, second in zip(reversed(level.rounds), reversed(seconds), strict=True):
        root[pairing.middle] = root.take(pairing.last, axis=0) * second
    above = root.take(level.section, axis=0)
    for side in level.sides:
        root[side.section] = above[side.place]

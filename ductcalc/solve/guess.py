"""First guess of all flows: the tree without losses at wyes, every loss growing with the square of the flow.

A pressure p at a section's end then draws `conductance * sqrt(p)`. Conductances that meet, x in all, draw
x / sqrt(1 + r x^2) through a section of resistance r. A stretch of path is kept in this same form, as what joins
it and a resistance, which is exact for nothing and for everything fed in upstream, and close between.
"""

from __future__ import annotations

import numpy as np

from ductcalc.arrays import Floats
from ductcalc.solve.paths import Level
from ductcalc.solve.tree import Tree, rows_of

LEAST_RESISTANCE = 1e-30
"""Resistance [Pa s2/m6] in place of none, whose inverse would not be finite."""

LEAST_SHARE_OF_ROOT = 1e-6
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
    own[starts:] = rows_of(resistance, level.outlet)
    stretches = []
    for pairing in level.rounds:
        first = rows_of(side, pairing.first), rows_of(own, pairing.first)
        second = rows_of(side, pairing.second), rows_of(own, pairing.second)
        stretches.append(first)
        both, carried = _paired(first, second), pairing.carried
        side, own = (
            np.concatenate([new, rows_of(old, carried)]) for new, old in zip(both, (side, own), strict=True)
        )
    conductance[level.end] = _drawn((side, own), rows_of(conductance, level.path_start))
    for pairing, stretch in zip(reversed(level.rounds), reversed(stretches), strict=True):
        conductance[pairing.middle] = _drawn(stretch, rows_of(conductance, pairing.feed))


def _joining(level: Level, conductance: Floats) -> Floats:
    """Return what joins each wye of a level beside its path; all that meets where a path starts at the wye."""
    joining: Floats = (level.runs_on - 1.0) * rows_of(conductance, level.section)
    for side in level.sides:
        joining[side.place] += rows_of(conductance, side.section)
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
    met = _joining(level, conductance) + rows_of(conductance, level.section)
    kept = np.ones((len(level.start) + len(level.wye), root.shape[1]))
    kept[len(level.start) :] /= np.sqrt(1.0 + rows_of(resistance, level.outlet) * met * met)
    seconds = []
    for pairing in level.rounds:
        second = rows_of(kept, pairing.second)
        seconds.append(second)
        joined = rows_of(kept, pairing.first) * second
        kept = np.concatenate([joined, rows_of(kept, pairing.carried)])
    for pairing, second in zip(reversed(level.rounds), reversed(seconds), strict=True):
        root[pairing.middle] = rows_of(root, pairing.last) * second
    above = rows_of(root, level.section)
    for side in level.sides:
        root[side.section] = above[side.place]

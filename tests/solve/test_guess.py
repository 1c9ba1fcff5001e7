"""The first guess: sums without resistance, hand-worked conductances, and how few iterations it leaves."""

from __future__ import annotations

import math

import numpy as np
import pytest

from ductcalc.solve.guess import first_flows, gathered
from ductcalc.solve.tree import Tree
from tests.solve.networks import comb, random_network
from tests.solve.trees import bush

TREES = {
    "comb": comb(60).tree,
    "bush": bush(20, 6).tree,
    "drawn": random_network(np.random.default_rng(5), 40, caps=True).tree,
}


@pytest.fixture(params=TREES)
def tree(request: pytest.FixtureRequest) -> Tree:
    return TREES[request.param]


def wye_by_wye(tree: Tree, leaves: np.ndarray, resistance: np.ndarray) -> np.ndarray:
    """Conductances (sections, cases), one wye after the other."""
    conductance = leaves.copy()
    for _, outlet, streams, _ in tree.walk:
        met = sum(conductance[section] for section in streams)
        conductance[outlet] = met / np.sqrt(1.0 + resistance[outlet] * met**2)
    return conductance


def drawn_leaves(tree: Tree, cases: int = 3) -> np.ndarray:
    leaves = np.zeros((tree.size, cases))
    leaves[tree.leaves] = np.random.default_rng(3).uniform(0.001, 0.004, (len(tree.leaves), cases))
    return leaves


def test_without_resistance_what_meets_is_summed(tree: Tree) -> None:
    leaves = drawn_leaves(tree)
    found = gathered(tree, leaves, np.zeros((tree.size, 1)))
    np.testing.assert_allclose(found, wye_by_wye(tree, leaves, np.zeros((tree.size, 1))), rtol=1e-12)


@pytest.mark.parametrize("fed", [0.0, 1e9])
def test_two_wyes_paired_are_exact_for_nothing_and_for_everything_fed_in(fed: float) -> None:
    tree = comb(3).tree
    (level,) = tree.levels
    leaves = drawn_leaves(tree)
    leaves[level.start] = fed
    resistance = np.random.default_rng(4).uniform(1.0, 500.0, (tree.size, 3))
    found = gathered(tree, leaves, resistance)[tree.root]
    np.testing.assert_allclose(found, wye_by_wye(tree, leaves, resistance)[tree.root], rtol=1e-9)


def test_two_ports_by_hand() -> None:
    tree = comb(2).tree
    leaves = np.array([[0.003], [0.004], [0.0]])
    resistance = np.array([[0.0], [0.0], [30_000.0]])
    flow, end = first_flows(tree, leaves, resistance, np.array([2500.0]), np.array([1e9]))
    met = 0.007
    drawn = met / math.sqrt(1.0 + 30_000.0 * met**2)
    above = math.sqrt(2500.0) * drawn / met
    np.testing.assert_allclose(flow[:, 0], [0.003 * above, 0.004 * above, 50.0 * drawn], rtol=1e-9)
    np.testing.assert_allclose(end[:, 0], [above**2, above**2, 2500.0], rtol=1e-9)


def test_the_flow_stays_on_the_parabola() -> None:
    tree = comb(12).tree
    resistance = np.full((tree.size, 1), 10.0)
    flow, end = first_flows(tree, drawn_leaves(tree), resistance, np.full(3, 2500.0), np.full(3, 0.5))
    np.testing.assert_allclose(end[-1] / 2500.0 + (flow[-1] / 0.5) ** 2, 1.0, rtol=1e-12)

"""A case alone gives the same bits as the same case among others, wherever it stands."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ductcalc.solve.junctions import Method
from ductcalc.solve.newton import Solved
from ductcalc.solve.numbers import Numbers, side_by_side
from ductcalc.solve.operating import BLOCK, at_flow, at_wanted_flows, operating_point
from tests.solve.networks import Network, all_gate_sets, comb, gated, random_network, supply

METHODS: tuple[Method, ...] = ("momentum", "handbook", "factored")
CASES = 4096
PLACES = (0, 1, 2, 7, 255, BLOCK - 1, BLOCK, BLOCK + 3, 1365, 2048 + 17, CASES - BLOCK - 1, CASES - 2, CASES - 1)
SUPPLIES = (supply(), supply(0.7))


def solve(network: Network, numbers: Numbers, method: Method, index: np.ndarray) -> Solved:
    return operating_point(network.tree, numbers, method, SUPPLIES, index)


def assert_same_bits(alone: Solved, batch: Solved, place: int) -> None:
    for name in ("flow", "start", "end", "leak"):
        assert np.array_equal(getattr(alone, name)[:, 0], getattr(batch, name)[:, place]), name
    assert alone.iterations[0] == batch.iterations[place]


@pytest.mark.parametrize("tight", [False, True], ids=["leaking", "tight"])
@pytest.mark.parametrize("method", METHODS)
def test_one_of_4096_gate_sets(method: Method, tight: bool) -> None:
    network = comb(12)
    numbers = gated(network, all_gate_sets(12), tight=tight)
    index = np.arange(CASES) % 2
    batch = solve(network, numbers, method, index)
    assert batch.converged.all()
    for place in PLACES:
        one = np.array([place])
        assert_same_bits(solve(network, numbers.take(one), method, index[one]), batch, place)


@pytest.mark.parametrize("method", METHODS)
def test_one_of_some_on_a_bush_with_square_branches(method: Method) -> None:
    network = random_network(np.random.default_rng(11), 6, square=True, larger=True, own_k=True, joints=True)
    numbers = gated(network, all_gate_sets(6))
    index = np.zeros(64, dtype=np.intp)
    batch = solve(network, numbers, method, index)
    for place in range(64):
        assert_same_bits(solve(network, numbers.take(np.array([place])), method, index[:1]), batch, place)


@pytest.mark.parametrize("width", [2, 3, 5, 17, 64, 100])
def test_width_and_neighbours_change_no_bit(width: int) -> None:
    network = comb(12)
    numbers = gated(network, all_gate_sets(12))
    whole = solve(network, numbers, "momentum", np.zeros(CASES, dtype=np.intp))
    chosen = np.random.default_rng(width).choice(CASES, width, replace=False)
    part = solve(network, numbers.take(chosen), "momentum", np.zeros(width, dtype=np.intp))
    assert np.array_equal(part.flow, whole.flow[:, chosen])
    assert np.array_equal(part.end, whole.end[:, chosen])


def test_sheets_friction_alone_and_in_a_batch() -> None:
    network = replace(comb(12), handbook_friction=True)
    numbers = gated(network, all_gate_sets(12))
    batch = solve(network, numbers, "handbook", np.zeros(CASES, dtype=np.intp))
    for place in PLACES:
        alone = solve(network, numbers.take(np.array([place])), "handbook", np.zeros(1, dtype=np.intp))
        assert_same_bits(alone, batch, place)


def test_given_flow_and_wanted_flows_alone_and_in_a_batch() -> None:
    network = comb(6)
    open_ = all_gate_sets(6)[:, 1:]
    numbers = gated(network, open_)
    totals = np.linspace(0.05, 0.4, open_.shape[1])
    wanted = np.full((len(network.ducts), open_.shape[1]), np.nan)
    wanted[network.tree.leaves] = np.where(open_, 0.15, np.nan)
    given, held = at_flow(network.tree, numbers, "momentum", totals), at_wanted_flows(
        network.tree, numbers, "momentum", wanted
    )
    for place in (0, 5, 40, 62):
        one = numbers.take(np.array([place]))
        assert_same_bits(at_flow(network.tree, one, "momentum", totals[[place]]), given, place)
        assert_same_bits(at_wanted_flows(network.tree, one, "momentum", wanted[:, [place]]), held, place)


def test_batches_laid_side_by_side() -> None:
    network = comb(4)
    first, second = gated(network, all_gate_sets(4)), network.numbers
    both = solve(network, side_by_side([first, second], [16, 3]), "momentum", np.zeros(19, dtype=np.intp))
    alone = solve(network, second, "momentum", np.zeros(1, dtype=np.intp))
    assert_same_bits(alone, both, 16)
    assert_same_bits(alone, both, 18)
    assert_same_bits(solve(network, first, "momentum", np.zeros(16, dtype=np.intp)), both, 0)

"""The three questions agree with one another: operating point, given flow, wanted flows."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ductcalc.physics.curve import monotone_cubic
from ductcalc.solve.junctions import Method
from ductcalc.solve.newton import Solved
from ductcalc.solve.operating import at_flow, at_wanted_flows, operating_point
from ductcalc.solve.supply import Supply
from tests.solve.networks import all_gate_sets, comb, gated, random_network, supply
from tests.solve.port_flows import section_loss

METHODS: tuple[Method, ...] = ("momentum", "handbook", "factored")
each_method = pytest.mark.parametrize("method", METHODS)
NETWORK = comb(5)
OPEN = all_gate_sets(5)[:, 1:]
NUMBERS = gated(NETWORK, OPEN)
CASES = OPEN.shape[1]


def operating(method: Method) -> Solved:
    found = operating_point(NETWORK.tree, NUMBERS, method, [supply()], np.zeros(CASES, dtype=np.intp))
    assert found.converged.all()
    return found


def wanted_of(flow: np.ndarray) -> np.ndarray:
    wanted = np.full((len(NETWORK.ducts), CASES), np.nan)
    leaves = NETWORK.tree.leaves
    wanted[leaves] = np.where(OPEN, flow[leaves], np.nan)
    return wanted


def assert_same_state(one: Solved, other: Solved) -> None:
    assert one.converged.all() and other.converged.all()
    for name in ("flow", "start", "end", "leak"):
        np.testing.assert_allclose(getattr(one, name), getattr(other, name), rtol=1e-8, atol=1e-9)


@each_method
def test_given_the_operating_points_own_flow(method: Method) -> None:
    found = operating(method)
    total = (found.flow + found.leak)[NETWORK.tree.root]
    assert_same_state(at_flow(NETWORK.tree, NUMBERS, method, total), found)


@each_method
def test_wanting_the_operating_points_own_flows(method: Method) -> None:
    found = operating(method)
    held = at_wanted_flows(NETWORK.tree, NUMBERS, method, wanted_of(found.flow))
    assert_same_state(held, found)


@each_method
def test_wanted_flows_are_met_and_one_path_has_nothing_over(method: Method) -> None:
    wanted = wanted_of(np.full((len(NETWORK.ducts), CASES), 0.12))
    held = at_wanted_flows(NETWORK.tree, NUMBERS, method, wanted)
    assert held.converged.all()
    mine = ~np.isnan(wanted)
    assert np.array_equal(held.flow[mine], wanted[mine])
    over = held.end - losses_alone(held.flow)
    worst = np.where(mine, over, np.inf).min(axis=0)
    assert (np.abs(worst) < 1e-6 * held.end[NETWORK.tree.root]).all()
    assert (np.where(mine, over, 0.0) > -1e-6).all()


def losses_alone(flow: np.ndarray) -> np.ndarray:
    loss = np.zeros_like(flow)
    for leaf in NETWORK.tree.leaves:
        loss[leaf] = [section_loss(NETWORK.ducts[leaf], float(q), False) for q in flow[leaf]]
    return loss


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.02, 0.5))
def test_a_given_flow_arrives(seed: int, total: float) -> None:
    network = random_network(np.random.default_rng(seed), 5, leaks=True, joints=True)
    found = at_flow(network.tree, network.numbers, "momentum", np.array([total]))
    assert found.converged.all()
    assert (found.flow + found.leak)[-1, 0] == pytest.approx(total, rel=1e-10)


def test_more_suction_for_more_flow() -> None:
    totals = np.linspace(0.05, 0.6, 12)
    one_set = NUMBERS.take(np.full(12, CASES - 1))
    found = at_flow(NETWORK.tree, one_set, "momentum", totals)
    assert found.converged.all()
    assert (np.diff(found.end[-1]) > 0.0).all()


def test_a_humped_curve_settles_on_its_falling_side() -> None:
    pressure = [2000.0, 1500.0, 1400.0, 1700.0, 1900.0, 1300.0, 0.0]
    hump = Supply(monotone_cubic(np.arange(7) / 10.0, pressure))
    found = operating_point(NETWORK.tree, NUMBERS, "momentum", [hump], np.zeros(CASES, dtype=np.intp))
    assert found.converged.all()
    total = (found.flow + found.leak)[-1]
    pressure, slope = hump.available(total)
    np.testing.assert_allclose(found.end[-1], pressure, rtol=1e-9)
    step = 1e-5
    wider = at_flow(NETWORK.tree, NUMBERS, "momentum", total * (1.0 + step)).end[-1]
    assert (slope < (wider - pressure) / (total * step)).all()


def test_a_flow_past_the_last_point_is_returned_as_found() -> None:
    small = Supply(monotone_cubic([0.0, 0.05, 0.1], [2700.0, 2600.0, 2000.0]))
    all_open = NUMBERS.take(np.array([CASES - 1]))
    found = operating_point(NETWORK.tree, all_open, "momentum", [small], np.zeros(1, dtype=np.intp))
    assert found.converged.all()
    assert found.flow[-1, 0] > small.last_flow_m3_s

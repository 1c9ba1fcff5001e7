"""Mass, pressure along every path, and energy: the shaft's work is spent to the last watt."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ductcalc.solve.junctions import Method
from ductcalc.solve.newton import Solved, State, joint_leaks, leak_kinetics
from ductcalc.solve.operating import operating_point
from tests.solve.networks import Network, random_network, supply
from tests.solve.port_flows import junction_losses, offered_pa, section_loss

METHODS: tuple[Method, ...] = ("momentum", "handbook", "factored")
KINDS = {"leaks": True, "joints": True, "square": True, "larger": True, "own_k": True}


def solve(network: Network, method: Method) -> Solved:
    return operating_point(network.tree, network.numbers, method, [supply()], np.zeros(1, dtype=np.intp))


def drawn(seed: int, ports: int) -> Network:
    return random_network(np.random.default_rng(seed), ports, **KINDS)


each_method = pytest.mark.parametrize("method", METHODS)
some = settings(max_examples=20, deadline=None)
seeds, sizes = st.integers(0, 10**6), st.integers(1, 9)


@each_method
@some
@given(seeds, sizes)
def test_air_that_comes_in_goes_on(method: Method, seed: int, ports: int) -> None:
    network = drawn(seed, ports)
    found = solve(network, method)
    leaving = (found.flow + found.leak)[:, 0]
    for wye in network.wyes:
        assert found.flow[wye.outlet, 0] == pytest.approx(sum(leaving[list(wye.streams)]), rel=1e-10)
    entered = found.flow[network.tree.leaves, 0].sum() + found.leak.sum()
    assert leaving[-1] == pytest.approx(entered, rel=1e-10)


@each_method
@some
@given(seeds, sizes)
def test_pressures_add_up_along_every_path(method: Method, seed: int, ports: int) -> None:
    network = drawn(seed, ports)
    found = solve(network, method)
    leaving = (found.flow + found.leak)[:, 0]
    for number, duct in enumerate(network.ducts):
        lost = section_loss(duct, float(found.flow[number, 0]), False)
        assert found.end[number, 0] == pytest.approx(found.start[number, 0] + lost, rel=1e-9)
    for wye in network.wyes:
        losses = junction_losses(network, wye, leaving[list(wye.streams)].tolist(), method)
        for stream, loss in zip(wye.streams, losses, strict=True):
            assert found.start[wye.outlet, 0] == pytest.approx(found.end[stream, 0] + loss, rel=1e-9, abs=1e-6)
    assert (found.start[network.tree.leaves] == 0.0).all()
    assert found.end[-1, 0] == pytest.approx(offered_pa(float(leaving[-1])), rel=1e-9)


@each_method
@some
@given(seeds, sizes)
def test_shaft_work_is_the_sum_of_all_losses(method: Method, seed: int, ports: int) -> None:
    network = drawn(seed, ports)
    found = solve(network, method)
    flow, leak, end = found.flow[:, 0], found.leak[:, 0], found.end[:, 0]
    leaving = flow + leak
    spent = sum(q * section_loss(duct, q, False) for duct, q in zip(network.ducts, flow.tolist(), strict=True))
    spent += float((leak * end).sum())
    for wye in network.wyes:
        flows = leaving[list(wye.streams)]
        spent += float((flows * junction_losses(network, wye, flows.tolist(), method)).sum())
    assert offered_pa(float(leaving[-1])) * leaving[-1] == pytest.approx(spent, rel=1e-9)


@some
@given(seeds, sizes)
def test_no_flow_and_no_leak_is_negative(seed: int, ports: int) -> None:
    found = solve(drawn(seed, ports), "momentum")
    assert (found.flow >= 0.0).all() and (found.leak >= 0.0).all()


def test_joints_over_the_rooms_pressure_leak_outwards_as_much_as_they_would_inwards() -> None:
    network = drawn(3, 2)
    numbers, none = network.numbers, np.zeros((network.tree.size, 1))
    assert numbers.leak.any()
    pushed, kinetics = replace(numbers, source=none), leak_kinetics(numbers, network.tree)
    inwards, outwards = (
        joint_leaks(pushed, kinetics, State(none, none, none + end, none), none, none)[0] for end in (80.0, -80.0)
    )
    assert inwards.max() > 0.0
    np.testing.assert_array_equal(outwards, -inwards)

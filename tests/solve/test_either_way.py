"""Air that own blowers push backwards: slopes, another road by scipy, and what must hold where a flow turns round."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ductcalc.solve.junctions import Method
from ductcalc.solve.newton import Solved
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.operating import at_flow, operating_point
from ductcalc.solve.signed import SignedLaws, leak_suction
from tests.solve.networks import Network, random_network, supply
from tests.solve.pushed_flows import inflows, pushed, residual, solved_by_scipy

METHODS: tuple[Method, ...] = ("momentum", "handbook", "factored")


def solve(network: Network, numbers: Numbers, method: Method, *, sure: bool = False) -> Solved:
    index = np.zeros(numbers.cases, dtype=np.intp)
    return operating_point(network.tree, numbers, method, [supply()], index, sure=sure)


def drawn(seed: int, ports: int, **kinds: bool) -> tuple[Network, list[float]]:
    """A random network with a hard way to the collector, and the pressure of its first machine's own blower, at times
    of the second one's too."""
    rng = np.random.default_rng(seed)
    network = random_network(rng, ports, **kinds)
    *ducts, last = network.ducts
    network = replace(network, ducts=(*ducts, replace(last, k=float(rng.uniform(5.0, 40.0)))))
    source = [0.0] * len(network.ducts)
    source[0] = float(10.0 ** rng.uniform(3.5, 4.0))
    if seed % 3 == 0:
        source[1] = float(10.0 ** rng.uniform(2.0, 4.0))
    return network, source


@pytest.mark.parametrize("method", METHODS)
def test_random_networks_with_own_blowers_agree_with_scipy(method: Method) -> None:
    compared = turned = 0
    for seed in range(14):
        kinds = {"joints": seed % 2 == 0, "leaks": seed % 4 > 1, "handbook_friction": seed % 5 == 4}
        network, source = drawn(seed, 2 + seed % 4, **kinds)
        found = solve(network, pushed(network, source), method)
        assert found.converged.all()
        ports = found.flow[network.tree.leaves, 0]
        assert np.abs(residual(network, method, source, ports)).max() < 1e-9
        other = solved_by_scipy(network, method, source)
        if other is not None:
            expected = inflows(network, method, source, other)
            np.testing.assert_allclose(found.flow[:, 0], expected, rtol=1e-6, atol=1e-9)
            compared += 1
            turned += bool((found.flow < 0.0).any())
    assert compared >= 12
    assert turned >= 6


@pytest.mark.parametrize("method", METHODS)
def test_slopes_are_those_of_the_losses_for_flows_of_either_sign(method: Method) -> None:
    rng = np.random.default_rng(1)
    for number in range(20):
        network = random_network(rng, 5, square=number % 2 == 0, own_k=number % 3 == 0, larger=number % 5 == 0)
        laws = SignedLaws(network.tree, network.numbers, method)
        flow = rng.uniform(-0.2, 0.2, (len(network.tree.stream_section), 1))
        slopes = laws.streams(flow).slopes
        for stream, wye in enumerate(network.tree.stream_wye):
            for place, other in enumerate(laws.members[wye]):
                if other < len(flow):
                    step = np.zeros_like(flow)
                    step[other] = 1e-7
                    change = laws.streams(flow + step).loss - laws.streams(flow - step).loss
                    assert slopes[stream, place, 0] == pytest.approx(change[stream, 0] / 2e-7, rel=1e-5, abs=1e-2)


@pytest.mark.parametrize("method", METHODS)
def test_the_sure_way_finds_what_the_fast_one_does(method: Method) -> None:
    for seed in range(6):
        network = random_network(np.random.default_rng(seed), 4, joints=True, leaks=True, square=True)
        fast, sure = (solve(network, network.numbers, method, sure=way) for way in (False, True))
        assert fast.converged.all() and sure.converged.all()
        np.testing.assert_allclose(fast.flow, sure.flow, rtol=1e-9, atol=1e-15)
        np.testing.assert_allclose(fast.leak, sure.leak, rtol=1e-8, atol=1e-13)


def test_a_blower_that_is_turned_up_turns_its_neighbours_flow_round_without_a_jump() -> None:
    network, source = drawn(1, 3, joints=True)
    pressures = np.linspace(0.0, 9000.0, 181)
    numbers = pushed(network, source)
    sources = np.repeat(numbers.source, len(pressures), axis=1)
    sources[0] = pressures
    found = solve(network, replace(numbers, source=sources), "momentum")
    ports = found.flow[:3]
    assert found.converged.all()
    assert (ports[1:, 0] > 0.0).all() and (ports[1:, -1] < 0.0).any()
    assert (np.diff(ports[0]) > 0.0).all()
    assert np.abs(np.diff(ports, axis=1)).max() < 0.02


def test_cases_have_the_same_bits_alone_and_among_others() -> None:
    network, source = drawn(4, 4, joints=True, leaks=True)
    numbers = pushed(network, source)
    scale = np.array([[0.3, 1.0, 2.0, 0.0, 3.0]])
    many = replace(numbers, source=numbers.source * scale)
    together = solve(network, many, "momentum")
    assert together.converged.all() and (together.flow < 0.0).any()
    for case in range(scale.shape[1]):
        alone = solve(network, many.take(np.array([case])), "momentum")
        assert alone.flow[:, 0].tobytes() == together.flow[:, case].tobytes()


def test_the_collectors_own_flow_never_turns_round() -> None:
    for seed in range(8):
        network, source = drawn(seed, 3, joints=True)
        found = solve(network, pushed(network, [3.0 * pressure for pressure in source]), "momentum")
        root = network.tree.root
        assert found.converged.all() and (found.flow[root] + found.leak[root] > 0.0).all()


def test_a_given_total_flow_is_met_with_a_port_blown_out_of() -> None:
    network, source = drawn(1, 3, joints=True)
    numbers = pushed(network, [9000.0, *source[1:]])
    own = solve(network, numbers, "momentum")
    root = network.tree.root
    total = own.flow[root] + own.leak[root]
    again = at_flow(network.tree, numbers, "momentum", total)
    assert (own.flow < 0.0).any() and again.converged.all()
    np.testing.assert_allclose(again.flow, own.flow, rtol=1e-7, atol=1e-10)


def test_the_law_of_leaks_turned_round_is_odd() -> None:
    constant, leak = np.array([[2e-4]]), np.array([[3e-3]])
    inwards, slope = leak_suction(constant, leak)
    outwards, same = leak_suction(constant, -leak)
    assert inwards == -outwards and slope == same
    assert constant * inwards**0.65 == pytest.approx(leak)

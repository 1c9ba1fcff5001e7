"""Deep chains, bushes of ten thousand ports, everything shut, streams that are dragged along."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ductcalc.solve.junctions import Method
from ductcalc.solve.newton import Solved
from ductcalc.solve.operating import operating_point
from ductcalc.solve.supply import Supply
from tests.solve.networks import Network, all_gate_sets, area, column, comb, gated, supply
from tests.solve.port_flows import junction_losses
from tests.solve.trees import bush

METHODS: tuple[Method, ...] = ("momentum", "handbook", "factored")
ONE = np.zeros(1, dtype=np.intp)


def solve(network: Network, scale: float, method: Method = "momentum") -> Solved:
    return operating_point(network.tree, network.numbers, method, [supply(scale)], ONE)


def assert_right(network: Network, found: Solved, offers: Supply, share: float = 0.0) -> None:
    """Converged, mass kept at every wye (or to a share of all air), pressures added up at the collector."""
    assert found.converged.all()
    leaving = found.flow + found.leak
    tree = network.tree
    arriving = tree.sum_streams(leaving[tree.stream_section])
    np.testing.assert_allclose(found.flow[tree.outlet_section], arriving, rtol=1e-9, atol=1e-15 + share * leaving.max())
    pressure, _ = offers.available(leaving[-1])
    np.testing.assert_allclose(found.end[-1], pressure, rtol=1e-9)
    assert (found.flow[tree.leaves] >= 0.0).all()


@pytest.mark.parametrize("method", METHODS)
def test_a_thousand_sections_in_a_row(method: Method) -> None:
    network = comb(501)
    assert len(network.ducts) == 1001
    found = solve(network, 100.0, method)
    assert_right(network, found, supply(100.0))


@pytest.mark.parametrize("method", METHODS)
def test_a_hundred_mains_of_a_hundred_ports(method: Method) -> None:
    network = bush(100, 100)
    assert len(network.tree.leaves) == 10_000
    found = solve(network, 2500.0, method)
    assert_right(network, found, supply(2500.0))
    assert found.iterations[0] <= 8


def test_one_main_with_ten_thousand_ports() -> None:
    network = comb(10_000)
    found = solve(network, 2500.0)
    assert_right(network, found, supply(2500.0))
    assert found.iterations[0] <= 8
    assert found.flow.max() > 100.0 * found.flow[network.tree.leaves].max()


@pytest.mark.parametrize("method", METHODS)
def test_all_gates_shut_is_a_normal_answer(method: Method) -> None:
    network = comb(12)
    shut = np.zeros((12, 1), dtype=bool)
    found = operating_point(network.tree, gated(network, shut), method, [supply()], ONE)
    assert_right(network, found, supply())
    assert 0.0 < found.flow[-1, 0] < 0.1 and found.end[-1, 0] > 2400.0


@pytest.mark.parametrize("joints", [False, True], ids=["no joint leaks", "joint leaks"])
def test_all_gates_shut_and_tight(joints: bool) -> None:
    network = comb(12)
    numbers = gated(network, np.zeros((12, 1), dtype=bool), tight=True)
    if not joints:
        numbers = replace(numbers, leak=np.zeros_like(numbers.leak))
    found = operating_point(network.tree, numbers, "momentum", [supply()], ONE)
    assert found.converged.all()
    assert (found.flow[network.tree.leaves] == 0.0).all()
    if joints:
        assert found.flow[-1, 0] > 0.0 and found.end[-1, 0] > 2500.0
    else:
        assert abs(found.flow[-1, 0]) < 1e-12 and found.end[-1, 0] == pytest.approx(2700.0, rel=1e-9)


def test_a_slow_stream_is_dragged_along() -> None:
    network = comb(12)
    open_ = all_gate_sets(12)
    found = operating_point(
        network.tree, gated(network, open_), "momentum", [supply()], np.zeros(open_.shape[1], dtype=np.intp)
    )
    assert found.converged.all()
    streams = found.start[network.tree.outlet_section][network.tree.stream_wye] - found.end[network.tree.stream_section]
    gains = (streams < -1.0).any(axis=0)
    assert gains.mean() > 0.5
    assert (found.flow >= 0.0).all()


def test_the_loss_that_drags_is_the_formulas() -> None:
    network = comb(2)
    numbers = gated(network, np.array([[False], [True]]))
    found = operating_point(network.tree, numbers, "momentum", [supply()], ONE)
    leaving = (found.flow + found.leak)[:2, 0].tolist()
    slow, _ = junction_losses(network, network.wyes[0], leaving, "momentum")
    assert slow < -100.0
    assert found.start[2, 0] - found.end[0, 0] == pytest.approx(slow, rel=1e-9)


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("ports", [100, 300, 1000])
def test_a_main_far_too_narrow_starves_its_far_ports(ports: int, method: Method) -> None:
    network = comb(ports)
    narrow = [
        replace(d, start_bore_m=0.3, end_bore_m=0.3, stretches=((0.3, 2.0, 9.144e-5),)) if d.end_bore_m > 0.3 else d
        for d in network.ducts
    ]
    wyes = tuple(replace(w, outlet_area_m2=min(w.outlet_area_m2, area(0.3))) for w in network.wyes)
    starved = Network(tuple(narrow), wyes)
    found = solve(starved, 0.25 * ports, method)
    assert_right(starved, found, supply(0.25 * ports), share=1e-10)
    ports_flow = found.flow[starved.tree.leaves, 0]
    assert ports_flow.min() < 1e-3 * ports_flow.max()


def test_widths_of_numbers_follow_cases() -> None:
    numbers = gated(comb(3), all_gate_sets(3))
    assert numbers.cases == 8
    assert numbers.take(np.array([1, 5])).cases == 2
    assert column([1.0, 2.0]).shape == (2, 1)

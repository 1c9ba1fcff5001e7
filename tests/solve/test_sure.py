"""The slow and sure ways: by given flows, by leaks let in little by little."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ductcalc.solve import operating
from ductcalc.solve.junctions import Method
from ductcalc.solve.newton import Solved
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.operating import at_flow, operating_point
from tests.solve.networks import Network, random_network, supply

METHODS: tuple[Method, ...] = ("momentum", "handbook", "factored")
ONE = np.zeros(1, dtype=np.intp)


def leaky(seed: int, times: float = 300.0) -> tuple[Network, Numbers]:
    network = random_network(np.random.default_rng(seed), 5, joints=True)
    return network, replace(network.numbers, leak=times * network.numbers.leak)


def assert_alike(one: Solved, other: Solved) -> None:
    assert one.converged.all() and other.converged.all()
    np.testing.assert_allclose(one.flow, other.flow, rtol=1e-9, atol=1e-15)
    np.testing.assert_allclose(one.leak, other.leak, rtol=1e-8, atol=1e-13)


@pytest.mark.parametrize("method", METHODS)
def test_the_way_by_given_flows_finds_what_newtons_method_does(method: Method) -> None:
    for seed in range(6):
        network = random_network(np.random.default_rng(seed), 4, joints=True, leaks=True, square=True)
        fast, sure = (
            operating_point(network.tree, network.numbers, method, [supply()], ONE, sure=way) for way in (False, True)
        )
        assert_alike(fast, sure)


def test_leaks_let_in_solve_what_newtons_method_leaves(monkeypatch: pytest.MonkeyPatch) -> None:
    hard = []
    for seed in range(40):
        network, numbers = leaky(seed)
        found = operating_point(network.tree, numbers, "momentum", [supply()], ONE)
        assert found.converged.all(), seed
        with monkeypatch.context() as patch:
            patch.setattr(operating, "let_in", lambda tree, *_: Solved.empty(tree.size, 1))
            without = operating_point(network.tree, numbers, "momentum", [supply()], ONE)
        if without.converged.all():
            np.testing.assert_allclose(found.flow, without.flow, rtol=1e-9, atol=1e-15)
        else:
            hard.append(seed)
    assert len(hard) > 3


def test_of_very_leaky_ducts_given_flows_are_found_too() -> None:
    for seed in range(10):
        network, numbers = leaky(seed)
        own = operating_point(network.tree, numbers, "momentum", [supply()], ONE)
        total = (own.flow + own.leak)[network.tree.root]
        assert_alike(at_flow(network.tree, numbers, "momentum", total), own)


def test_hard_cases_have_the_same_bits_alone_and_among_others() -> None:
    network, numbers = leaky(2)
    times = np.array([[0.1, 1.0, 3.0, 0.0, 2.0]])
    many = replace(numbers, leak=numbers.leak * times)
    together = operating_point(network.tree, many, "momentum", [supply()], np.zeros(5, dtype=np.intp))
    assert together.converged.all()
    for case in range(5):
        alone = operating_point(network.tree, many.take(np.array([case])), "momentum", [supply()], ONE)
        assert alone.flow[:, 0].tobytes() == together.flow[:, case].tobytes()

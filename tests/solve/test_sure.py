"""The slow and sure ways: by given flows, by leaks let in little by little."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ductcalc.solve import operating
from ductcalc.solve.junctions import Method
from ductcalc.solve.losses import first_root
from ductcalc.solve.newton import MOST_ITERATIONS, Round, Solved, State, iterate
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.operating import at_flow, operating_point
from ductcalc.solve.sure import name_outward
from ductcalc.solve.tree import WyeShape
from tests.solve.networks import Duct, Network, random_network, supply

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


def test_of_two_ports_the_one_with_most_pressure_behind_it_beyond_its_own_blower_is_named() -> None:
    """Both ports shut, 500 Pa stand behind the one that pushes with 150 Pa itself, 400 Pa behind the other."""
    network = two_ports()
    numbers = replace(network.numbers, source=np.array([[150.0], [0.0], [0.0]]))
    failed, shut = Solved.empty(3, 1), Solved.empty(3, 1)
    failed.flow[:, 0] = (1e-12, 1e-12, 1.0)
    shut.end[:, 0] = (-500.0, -400.0, 100.0)
    shut.converged[:] = True
    name_outward(network.tree, numbers, failed, lambda *_: shut)
    assert failed.outward.tolist() == [1]


def two_ports() -> Network:
    ducts = (Duct(0.1, 0.1, ()), Duct(0.1, 0.1, ()), Duct(0.15, 0.15, ()))
    return Network(ducts, (WyeShape((0, 1), 2, 0.0177, (0.0, 45.0), (True, False), (0.0, 0.28)),))


def test_a_case_that_never_settles_is_left_as_its_last_round_found_it() -> None:
    """The collector pulls 10 Pa more in every round."""
    network = random_network(np.random.default_rng(1), 3)
    tree, numbers, found = network.tree, network.numbers, Solved.empty(network.tree.size, 1)
    flow, none = np.full((tree.size, 1), 0.1), np.zeros((tree.size, 1))
    rounds: list[float] = []

    def pulling(turn: Round) -> np.ndarray:
        rounds.append(float(turn.state.end[tree.root, 0]))
        return np.full(1, 10.0)

    begun = State(flow, none, none + 1000.0, first_root(numbers.friction, flow))
    iterate(tree, numbers, "momentum", begun, pulling, found)
    assert not found.converged[0] and found.iterations[0] == len(rounds) == MOST_ITERATIONS
    assert found.end[tree.root, 0] == pytest.approx(rounds[-1] + 10.0)

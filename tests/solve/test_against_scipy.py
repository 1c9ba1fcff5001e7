"""Whole small networks against scipy's root finder, which sees the ports' flows alone and none of the solver."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ductcalc.solve.junctions import Method
from ductcalc.solve.newton import Solved
from ductcalc.solve.operating import operating_point
from ductcalc.solve.tree import WyeShape
from tests.solve.networks import Duct, Network, area, random_network, supply
from tests.solve.port_flows import inflows, residual, solved_by_scipy, unknown_sections

METHODS: tuple[Method, ...] = ("momentum", "handbook", "factored")
KINDS: dict[str, dict[str, bool]] = {
    "plain": {},
    "joints": {"joints": True},
    "leaking gates": {"leaks": True},
    "leaking gates and joints": {"leaks": True, "joints": True},
    "tight gates": {"tight": True},
    "tight gates and joints": {"tight": True, "joints": True},
    "square branches": {"square": True, "joints": True},
    "inlets larger than the outlet": {"larger": True, "joints": True},
    "square and larger": {"square": True, "larger": True, "leaks": True},
    "own coefficients": {"own_k": True, "square": True, "joints": True},
    "sheet's friction": {"handbook_friction": True, "leaks": True, "joints": True},
    "capped stubs": {"caps": True, "leaks": True, "joints": True},
    "everything": {
        "tight": True, "leaks": True, "joints": True, "square": True, "larger": True, "own_k": True, "caps": True,
    },
}


def solve(network: Network, method: Method) -> Solved:
    return operating_point(network.tree, network.numbers, method, [supply()], np.zeros(1, dtype=np.intp))


def agree(network: Network, method: Method) -> None:
    """Assert that both roads give the same inflow of every section."""
    found = solve(network, method)
    assert found.converged.all()
    expected = inflows(network, method, solved_by_scipy(network, method))
    np.testing.assert_allclose(found.flow[:, 0], expected, rtol=1e-8, atol=0.0)


def has_air(network: Network) -> bool:
    return bool(unknown_sections(network))


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("kind", KINDS)
def test_random_networks_of_one_to_six_ports(method: Method, kind: str) -> None:
    rng = np.random.default_rng([*KINDS].index(kind))
    compared = 0
    for ports in range(1, 7):
        network = random_network(rng, ports, **KINDS[kind])
        if has_air(network):
            agree(network, method)
            compared += 1
    assert compared >= 4


def port(bore: float = 0.1, **changes: object) -> Duct:
    return replace(Duct(bore, bore, ((bore, 4.0, 9.144e-5),), 0.6, 2.75, leakage_class=12.0), **changes)


def joined(streams: tuple[Duct, ...], angles: tuple[float, ...], size: float, **changes: object) -> Network:
    wye = WyeShape(
        tuple(range(len(streams))), len(streams), area(size), angles, tuple(a == 0.0 for a in angles),
        tuple(0.28 if a else 0.0 for a in angles),
    )
    main = Duct(size, size, ((size, 6.0, 9.144e-5),), 0.4, leakage_class=12.0)
    return Network((*streams, main), (replace(wye, **changes),))


@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize(
    "network",
    [
        joined((port(), port(0.125), port()), (0.0, 45.0, 45.0), 0.2),
        joined((port(), port(0.125)), (30.0, 30.0), 0.15),
        joined((port(0.15),), (45.0,), 0.15),
        joined((port(0.15, closed=True, port_k=0.0), port()), (0.0, 45.0), 0.15),
        joined((port(0.15), port()), (0.0, 90.0), 0.15),
        joined((port(0.15), port(), port()), (0.0, 90.0, 90.0), 0.2),
        joined((port(0.15), port(), port()), (0.0, 90.0, 45.0), 0.2),
        joined((port(), port()), (90.0, 90.0), 0.15),
        joined((port(0.15), port()), (0.0, 45.0), 0.125),
        joined((port(0.1), port(0.15)), (0.0, 45.0), 0.125),
        joined((port(), port()), (0.0, 45.0), 0.125, own_k=0.4),
    ],
    ids=[
        "double wye", "symmetric y", "starts with one branch", "capped main", "square branch", "two square branches",
        "square and sloping branch", "square y", "run larger than outlet", "branch larger than outlet", "own k",
    ],
)
def test_single_wyes(method: Method, network: Network) -> None:
    agree(network, method)


def test_laminar_leaks_past_nearly_tight_gates() -> None:
    shut = 1.0 / (0.61 * 1e-4) ** 2
    network = joined((port(), port(0.15, shut_k=shut, leakage_class=0.0)), (0.0, 45.0), 0.15)
    found = solve(network, "momentum")
    reynolds = found.flow[1, 0] * network.numbers.friction.reynolds_per_flow[1, 0]
    assert 0.0 < reynolds < 2000.0
    agree(network, "momentum")


def test_flow_between_laminar_and_turbulent() -> None:
    network = joined((port(), port(0.15, shut_k=1.0 / (0.61 * 0.008) ** 2, leakage_class=0.0)), (0.0, 45.0), 0.15)
    found = solve(network, "momentum")
    assert 2000.0 < found.flow[1, 0] * network.numbers.friction.reynolds_per_flow[1, 0] < 4000.0
    agree(network, "momentum")


def test_a_gate_shut_in_a_main_with_leak() -> None:
    ducts = (
        port(),
        port(),
        Duct(0.15, 0.15, ((0.15, 4.0, 9.144e-5),), 0.3, shut_k=1.0 / (0.61 * 0.01) ** 2, leakage_class=12.0),
        port(),
        Duct(0.2, 0.2, ((0.2, 5.0, 9.144e-5),), 0.3, leakage_class=12.0),
    )
    wyes = tuple(
        WyeShape(streams, outlet, area(size), (0.0, 45.0), (True, False), (0.0, 0.28))
        for streams, outlet, size in (((0, 1), 2, 0.15), ((2, 3), 4, 0.2))
    )
    for method in METHODS:
        agree(Network(ducts, wyes), method)


def test_the_residual_notices_a_wrong_flow() -> None:
    network = joined((port(), port(0.125)), (0.0, 45.0), 0.15)
    right = solved_by_scipy(network, "momentum")
    assert np.abs(residual(network, "momentum", right)).max() < 1e-11
    assert np.abs(residual(network, "momentum", right * [1.0, 1.0 + 1e-6])).max() > 1e-8

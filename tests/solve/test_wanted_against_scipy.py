"""Wanted flows of small networks against scipy's root finder, which shares none of the solver."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np
import pytest
from scipy.optimize import root

from ductcalc.solve.junctions import Method
from ductcalc.solve.operating import at_wanted_flows
from tests.solve.networks import Network, area, random_network
from tests.solve.port_flows import Walk, guess, unknown_sections

LONG = bool(os.environ.get("DUCTCALC_LONG"))
DRAWN = range(100 if LONG else 12)
SPEED_M_S = 18.0


@dataclass
class HeldWalk(Walk):
    """A walk on which ports that take what they want begin with the suction [Pa] that they have over."""

    over: dict[int, float] = field(default_factory=dict)

    def start_of(self, section: int) -> float:
        return self.over.get(section, 0.0)


def held_ports(network: Network) -> list[int]:
    """Sections that begin at an open port."""
    leaves = unknown_sections(network)
    return [n for n in leaves if not network.ducts[n].closed and network.ducts[n].shut_k == 0.0]


def walked(network: Network, method: Method, wanted: dict[int, float], free: dict[int, float],
           over: dict[int, float]) -> tuple[HeldWalk, float, float]:  # fmt: skip
    walk = HeldWalk(network, method, {**wanted, **free}, over=over)
    flow, end = walk.arrive(len(network.ducts) - 1)
    assert end is not None
    return walk, flow, end


def need_by_scipy(network: Network, method: Method, wanted: dict[int, float]) -> tuple[float, float]:
    """Return flow [m3/s] and suction [Pa] at the collector: the ports' excesses and the leaks are unknown."""
    held, leaks = list(wanted), [n for n in unknown_sections(network) if n not in wanted]
    for worst in held:
        others = [n for n in held if n != worst]

        def split(
            unknown: Sequence[float], worst: int = worst, others: list[int] = others
        ) -> tuple[dict[int, float], dict[int, float]]:
            over = {worst: 0.0, **{n: 1000.0 * float(value) for n, value in zip(others, unknown, strict=False)}}
            logs = np.clip(unknown[len(others) :], -40.0, 1.0)
            return {n: float(np.exp(value)) for n, value in zip(leaks, logs, strict=True)}, over

        def residual(unknown: Sequence[float]) -> np.ndarray:
            walk, _, _ = walked(network, method, wanted, *split(unknown))
            return np.array(walk.disagreement) / 2000.0

        if not others and not leaks:
            return walked(network, method, wanted, {}, {worst: 0.0})[1:]
        start = [np.log(guess(network.ducts[n])) for n in leaks]
        for over, shift in product((0.2, 1.0, 4.0), (0.0, 0.7, -0.7, 1.5)):
            first = [*[over] * len(others), *[one + shift for one in start]]
            found = root(residual, first, method="hybr", options={"xtol": 1e-14, "maxfev": 6000})
            if np.abs(found.fun).max() < 1e-11 and all(value >= -1e-9 for value in found.x[: len(others)]):
                return walked(network, method, wanted, *split(found.x))[1:]
    raise AssertionError("scipy found no root")


@pytest.mark.parametrize("method", ["momentum", "handbook", "factored"])
@pytest.mark.parametrize("seed", DRAWN)
def test_the_need_is_the_one_that_scipy_finds(method: Method, seed: int) -> None:
    rng = np.random.default_rng(seed)
    kinds = {"joints": bool(seed % 2), "leaks": bool(seed % 3), "square": bool(seed % 5 == 0)}
    network = random_network(rng, 1 + seed % 5, **kinds)
    wanted = {n: SPEED_M_S * area(network.ducts[n].start_bore_m) * rng.uniform(0.6, 1.4) for n in held_ports(network)}
    if not wanted:
        pytest.skip("every port of this network is shut")
    leaf = np.full((len(network.ducts), 1), np.nan)
    for section, flow in wanted.items():
        leaf[section] = flow
    solved = at_wanted_flows(network.tree, network.numbers, method, leaf)
    assert solved.converged.all()
    flow, suction = need_by_scipy(network, method, wanted)
    root_section = len(network.ducts) - 1
    assert solved.end[root_section, 0] == pytest.approx(suction, rel=1e-8)
    assert (solved.flow + solved.leak)[root_section, 0] == pytest.approx(flow, rel=1e-8)

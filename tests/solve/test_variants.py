"""Variants of one topology, other bores, angles and stretches case by case, solved in one call."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ductcalc.solve.junctions import Method
from ductcalc.solve.numbers import side_by_side
from ductcalc.solve.operating import operating_point
from tests.solve.networks import ENTRY_K, Duct, Network, area, random_network, supply

METHODS: tuple[Method, ...] = ("momentum", "handbook", "factored")


def varied(network: Network, rng: np.random.Generator, square: bool) -> Network:
    """The same tree with other bores, another number of stretches, other angles."""
    ducts = tuple(_varied_duct(duct, rng) for duct in network.ducts)
    wyes = []
    for wye in network.wyes:
        choice = [30.0, 45.0, 90.0] if square else [30.0, 45.0, 60.0]
        angles = tuple(0.0 if straight else float(rng.choice(choice)) for straight in wye.straight)
        wyes.append(
            replace(
                wye,
                outlet_area_m2=area(ducts[wye.outlet].start_bore_m),
                angles_deg=angles,
                entry_k=tuple(ENTRY_K[angle] for angle in angles),
                own_k=float(rng.uniform(0.1, 0.8)) if rng.uniform() < 0.3 else None,
            )
        )
    return Network(ducts, tuple(wyes))


def _varied_duct(duct: Duct, rng: np.random.Generator) -> Duct:
    scale = float(rng.uniform(0.8, 1.4))
    bores = [duct.start_bore_m * scale, *(duct.end_bore_m * scale for _ in range(int(rng.integers(0, 3))))]
    stretches = tuple((bore, float(rng.uniform(0.5, 5.0)), 9.144e-5) for bore in bores)
    return replace(duct, start_bore_m=bores[0], end_bore_m=bores[-1], stretches=stretches)


@pytest.mark.parametrize("square", [False, True], ids=["gentle", "square"])
@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("seed", range(6))
def test_each_variant_is_solved_as_it_is_alone(seed: int, method: Method, square: bool) -> None:
    rng = np.random.default_rng(seed)
    first = random_network(rng, 6, joints=True, leaks=True, own_k=square)
    networks = [first, *(varied(first, rng, square) for _ in range(5))]
    parts = [network.numbers for network in networks]
    geometries = [network.tree.geometry for network in networks]
    joined = side_by_side(parts, [1] * 6, geometries)
    together = operating_point(first.tree, joined, method, [supply()], np.zeros(6, dtype=np.intp))
    assert together.converged.all()
    spread = together.flow[first.tree.root].max() / together.flow[first.tree.root].min()
    assert spread > 1.01
    for column, network in enumerate(networks):
        alone = operating_point(network.tree, network.numbers, method, [supply()], np.zeros(1, dtype=np.intp))
        np.testing.assert_allclose(together.flow[:, column], alone.flow[:, 0], rtol=1e-9, atol=1e-13)
        np.testing.assert_allclose(together.end[:, column], alone.end[:, 0], rtol=1e-9, atol=1e-7)


def test_batches_of_several_cases_each_keep_their_order() -> None:
    rng = np.random.default_rng(3)
    first = random_network(rng, 4)
    second = varied(first, rng, square=False)
    joined = side_by_side([first.numbers, second.numbers], [2, 3], [first.tree.geometry, second.tree.geometry])
    assert joined.cases == 5
    index = np.array([0, 1, 0, 1, 0])
    found = operating_point(first.tree, joined, "momentum", [supply(), supply(0.6)], index)
    for column, network in enumerate([first, first, second, second, second]):
        own = [supply((1.0, 0.6)[index[column]])]
        alone = operating_point(network.tree, network.numbers, "momentum", own, np.zeros(1, dtype=np.intp))
        np.testing.assert_allclose(found.flow[:, column], alone.flow[:, 0], rtol=1e-9)


def test_what_is_alike_in_all_variants_stays_one_column() -> None:
    network = random_network(np.random.default_rng(5), 3)
    joined = side_by_side([network.numbers] * 4, [1] * 4, [network.tree.geometry] * 4)
    assert joined.geometry is not None and joined.geometry.cases == 1

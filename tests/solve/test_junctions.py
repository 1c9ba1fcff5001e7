"""Junction laws: their losses are the formulas' own, and their slopes those that differences show."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ductcalc.solve.junctions import Method, StreamLosses, junction_law
from ductcalc.solve.tree import Tree
from tests.solve.networks import DENSITY, Network, random_network
from tests.solve.port_flows import junction_losses

METHODS: tuple[Method, ...] = ("momentum", "handbook", "factored")
KINDS: dict[str, dict[str, bool]] = {
    "plain": {},
    "square": {"square": True},
    "against": {"square": True, "against": True},
    "larger": {"larger": True},
    "own": {"own_k": True, "square": True, "larger": True},
}
both = pytest.mark.parametrize("kind", KINDS)
each_method = pytest.mark.parametrize("method", METHODS)


def outlets(tree: Tree, flow: np.ndarray) -> np.ndarray:
    return tree.sum_streams(flow)


def random_flows(rng: np.random.Generator, tree: Tree, cases: int) -> np.ndarray:
    return rng.uniform(0.001, 0.4, (len(tree.stream_section), cases))


def by_formula(network: Network, tree: Tree, flow: np.ndarray, method: Method) -> np.ndarray:
    expected = np.empty_like(flow)
    for _, outlet, _, numbers in tree.walk:
        wye = next(w for w in tree.wyes if w.outlet == outlet)
        for case in range(flow.shape[1]):
            flows = [float(flow[n, case]) for n in numbers]
            expected[list(numbers), case] = junction_losses(network, wye, flows, method)
    return expected


@each_method
@both
@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10**6))
def test_losses_are_those_of_the_formulas(method: Method, kind: str, seed: int) -> None:
    rng = np.random.default_rng(seed)
    network = random_network(rng, 6, **KINDS[kind])
    tree = network.tree
    flow = random_flows(rng, tree, 3)
    flow[rng.integers(len(flow)), 0] = 0.0
    found = junction_law(tree, method).evaluate(DENSITY, flow, outlets(tree, flow))
    np.testing.assert_allclose(found.loss, by_formula(network, tree, flow, method), rtol=1e-11, atol=1e-9)


@each_method
def test_no_air_at_all_is_no_loss(method: Method) -> None:
    tree = random_network(np.random.default_rng(1), 6, square=True, larger=True).tree
    flow = np.zeros((len(tree.stream_section), 2))
    found = junction_law(tree, method).evaluate(DENSITY, flow, outlets(tree, flow))
    for part in (found.loss, found.own, found.with_outlet, found.with_sum, found.sum_slope):
        assert np.isfinite(part).all()
    assert (found.loss == 0.0).all()


def spread(part: np.ndarray, tree: Tree, shared: bool) -> np.ndarray:
    return part[tree.stream_wye] if shared else part


def predicted(tree: Tree, found: StreamLosses, shared: bool, change: np.ndarray, out_change: np.ndarray) -> np.ndarray:
    """First-order change of the losses when stream flows and outlet flows change independently."""
    total = tree.sum_streams(found.sum_slope * change)[tree.stream_wye]
    return (
        found.own * change
        + spread(found.with_outlet, tree, shared) * out_change[tree.stream_wye]
        + spread(found.with_sum, tree, shared) * total
    )


@each_method
@both
@pytest.mark.parametrize("moved", ["one stream", "all streams", "outlet", "together"])
def test_slopes_against_differences(method: Method, kind: str, moved: str) -> None:
    rng = np.random.default_rng(5)
    tree = random_network(rng, 6, **KINDS[kind]).tree
    law, flow = junction_law(tree, method), random_flows(rng, tree, 200)
    outlet = outlets(tree, flow)
    change = rng.uniform(-1.0, 1.0, flow.shape) * (0.0 if moved == "outlet" else 1.0)
    if moved == "one stream":
        change[rng.permutation(len(change))[1:]] = 0.0
    out_change = rng.uniform(-1.0, 1.0, outlet.shape) if moved == "outlet" else np.zeros_like(outlet)
    if moved == "together":
        out_change = tree.sum_streams(change)
    step = 1e-6
    above = law.evaluate(DENSITY, flow + step * change, outlet + step * out_change).loss
    below = law.evaluate(DENSITY, flow - step * change, outlet - step * out_change).loss
    expected = (above - below) / (2.0 * step)
    found = predicted(tree, law.evaluate(DENSITY, flow, outlet), law.shared, change, out_change)
    scale = np.abs(expected).max()
    away_from_kinks = np.abs(found - expected) < 1e-6 * scale
    assert away_from_kinks.mean() > 0.999


def test_only_alike_streams_share_their_slopes() -> None:
    plain = random_network(np.random.default_rng(2), 4).tree
    square = random_network(np.random.default_rng(2), 4, square=True).tree
    assert junction_law(plain, "momentum").shared
    assert not junction_law(square, "momentum").shared
    assert not junction_law(plain, "factored").shared

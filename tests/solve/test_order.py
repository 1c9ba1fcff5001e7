"""The order in which sections, wyes and streams are written down changes nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ductcalc.solve.junctions import Method
from ductcalc.solve.operating import operating_point
from tests.solve.networks import Network, random_network, supply

METHODS: tuple[Method, ...] = ("momentum", "handbook", "factored")


def shuffled(network: Network, rng: np.random.Generator) -> tuple[Network, np.ndarray]:
    """The same network with sections, wyes and streams in another order, and each section's old number."""
    count = len(network.ducts)
    above = {wye.outlet: set(wye.streams) for wye in network.wyes}
    order: list[int] = []
    while len(order) < count:
        ready = [n for n in range(count) if n not in order and above.get(n, set()) <= set(order)]
        order.append(int(rng.choice(ready)))
    new = {old: place for place, old in enumerate(order)}
    wyes = []
    for wye in rng.permutation(np.array([*network.wyes, None], dtype=object))[:]:
        if wye is None:
            continue
        turn = rng.permutation(len(wye.streams))
        parts = {
            name: tuple(getattr(wye, name)[t] for t in turn) for name in ("angles_deg", "straight", "entry_k")
        }
        wyes.append(
            replace(wye, streams=tuple(new[wye.streams[t]] for t in turn), outlet=new[wye.outlet], **parts)
        )
    return Network(tuple(network.ducts[old] for old in order), tuple(wyes)), np.array(order)


@pytest.mark.parametrize("method", METHODS)
@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_order_of_sections_and_streams(method: Method, seed: int) -> None:
    rng = np.random.default_rng(seed)
    network = random_network(rng, 6, joints=True, leaks=True, square=True, own_k=True, larger=True)
    other, order = shuffled(network, rng)
    index = np.zeros(1, dtype=np.intp)
    first = operating_point(network.tree, network.numbers, method, [supply()], index)
    second = operating_point(other.tree, other.numbers, method, [supply()], index)
    assert first.converged.all() and second.converged.all()
    np.testing.assert_allclose(second.flow, first.flow[order], rtol=1e-10)
    np.testing.assert_allclose(second.end, first.end[order], rtol=1e-10)

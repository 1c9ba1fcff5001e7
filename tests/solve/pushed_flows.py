"""Networks with machines' own blowers by another road: scalar formulas for flows of either sign, solved by scipy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.optimize import root

from ductcalc.physics.junction import factored_losses
from ductcalc.physics.leakage import joint_leak_constant
from ductcalc.solve.junctions import Method
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.tree import WyeShape
from tests.solve.networks import DENSITY, Duct, Network, area, column
from tests.solve.port_flows import offered_pa, section_loss, velocity_pressure

LOST_HEADS = 1.0


def pushed(network: Network, source_pa: Sequence[float]) -> Numbers:
    """Return the solver's arrays with a blower's pressure at the start of each section, and ports blown out of."""
    kinetic = column([0.5 * DENSITY / area(duct.end_bore_m) ** 2 for duct in network.ducts])
    ports = column([duct.port_k > 0.0 for duct in network.ducts])
    return replace(network.numbers, source=column(source_pa), outward=LOST_HEADS * ports * kinetic)


def signed_loss(network: Network, duct: Duct, flow: float) -> float:
    """Loss [Pa] of a section at a flow of either sign, and of its port alone."""
    if flow >= 0.0:
        return section_loss(duct, flow, network.handbook_friction)
    outward = replace(duct, port_k=LOST_HEADS if duct.port_k else 0.0)
    return -section_loss(outward, -flow, network.handbook_friction)


def port_loss(duct: Duct, flow: float) -> float:
    """Loss [Pa] of a port at a flow of either sign."""
    k = duct.port_k if flow >= 0.0 else -LOST_HEADS * bool(duct.port_k)
    return k * velocity_pressure(flow, duct.end_bore_m)


def levels(network: Network, wye: WyeShape, flows: Sequence[float], method: Method) -> list[float]:
    """How far the outlet's total suction lies above that of each stream [Pa], from the pressure at rest in the wye."""
    bores = [network.ducts[s].end_bore_m for s in wye.streams]
    heads = [velocity_pressure(q, bore) for q, bore in zip(flows, bores, strict=True)]
    came = sum(q for q in flows if q > 0.0)
    left = -sum(q for q in flows if q < 0.0)
    outlet_head = 0.5 * DENSITY * ((came - left) / wye.outlet_area_m2) ** 2
    part = (came - left) / came if came > left else 0.0
    if method == "momentum":
        thrust = sum(
            2.0 * head * area(bore) * np.cos(np.radians(angle)) / wye.outlet_area_m2
            for q, head, bore, angle in zip(flows, heads, bores, wye.angles_deg, strict=True)
            if q > 0.0
        )
        outlet = outlet_head - part * thrust if came > left else -outlet_head
        own = heads
    elif method == "handbook":
        mean = sum(q * head for q, head in zip(flows, heads, strict=True) if q > 0.0) / came if came else 0.0
        outlet = -part * min(0.5 * DENSITY * (came / wye.outlet_area_m2) ** 2, mean) if came > left else -outlet_head
        own = [head * (1.0 + (k if q > 0.0 else 0.0)) for q, head, k in zip(flows, heads, wye.entry_k, strict=True)]
    else:
        return _factored(wye, flows, bores)
    return [outlet + (head if q > 0.0 else -head) for q, head in zip(flows, own, strict=True)]


def _factored(wye: WyeShape, flows: Sequence[float], bores: Sequence[float]) -> list[float]:
    areas = [area(bore) for bore in bores]
    base = factored_losses(
        DENSITY, [max(q, 0.0) for q in flows], areas, np.cos(np.radians(wye.angles_deg)), wye.outlet_area_m2
    )
    came, left = sum(q for q in flows if q > 0.0), -sum(q for q in flows if q < 0.0)
    rest = sum(-q * loss for q, loss in zip(flows, base, strict=True) if q < 0.0) / max(came, left, 1e-300)
    more = (came - left) * (left if came > left else came - left)
    more *= 0.5 * DENSITY / wye.outlet_area_m2**2
    return [
        float(loss) - rest - more - (0.5 * DENSITY * (q / a) ** 2 if q < 0.0 else 0.0)
        for q, a, loss in zip(flows, areas, base, strict=True)
    ]


@dataclass
class Walk:
    """One walk down the tree with trial inflows of the ports; gathers how far streams disagree at wyes [Pa]."""

    network: Network
    method: Method
    source_pa: Sequence[float]
    unknown: dict[int, float]
    disagreement: list[float] = field(default_factory=list)
    inflow: dict[int, float] = field(default_factory=dict)

    def arrive(self, section: int) -> tuple[float, float]:
        """Flow that leaves a section's end and total suction there."""
        duct = self.network.ducts[section]
        above = next((wye for wye in self.network.wyes if wye.outlet == section), None)
        entered, start = (self.unknown[section], -self.source_pa[section]) if above is None else self._meet(above)
        self.inflow[section] = entered
        end = start + signed_loss(self.network, duct, entered)
        last = end + velocity_pressure(entered, duct.end_bore_m)
        first = start + port_loss(duct, entered) + velocity_pressure(entered, duct.start_bore_m)
        mean = last if duct.shut_k > 0.0 else 0.5 * (first + last)
        constant = float(joint_leak_constant(duct.leakage_class, duct.surface_m2))
        leak = constant * abs(mean) ** 0.65 * (1.0 if mean > 0.0 else -1.0)
        return entered + leak, end

    def _meet(self, wye: WyeShape) -> tuple[float, float]:
        arrived = [self.arrive(stream) for stream in wye.streams]
        flows = [flow for flow, _ in arrived]
        losses = levels(self.network, wye, flows, self.method)
        found = [end + loss for (_, end), loss in zip(arrived, losses, strict=True)]
        self.disagreement += [level - found[0] for level in found[1:]]
        return sum(flows), found[0]


def residual(network: Network, method: Method, source_pa: Sequence[float], flows: Sequence[float]) -> np.ndarray:
    """What is left over [share of 2,000 Pa] at the wyes and at the collector for the ports' inflows [m3/s]."""
    walk = _walked(network, method, source_pa, flows)
    total, end = walk.arrive(len(network.ducts) - 1)
    return np.array([*walk.disagreement, offered_pa(max(total, 0.0)) - end]) / 2000.0


def inflows(network: Network, method: Method, source_pa: Sequence[float], flows: Sequence[float]) -> np.ndarray:
    """Inflow of every section [m3/s] for the ports' inflows."""
    walk = _walked(network, method, source_pa, flows)
    walk.arrive(len(network.ducts) - 1)
    return np.array([walk.inflow[n] for n in range(len(network.ducts))])


def _walked(network: Network, method: Method, source_pa: Sequence[float], flows: Sequence[float]) -> Walk:
    return Walk(network, method, source_pa, dict(zip(network.tree.leaves.tolist(), map(float, flows), strict=True)))


def solved_by_scipy(network: Network, method: Method, source_pa: Sequence[float]) -> np.ndarray | None:
    """Inflows of the ports [m3/s] from several starts made here; None where scipy finds none."""
    leaves = network.tree.leaves
    rng = np.random.default_rng(len(leaves))
    pushing = np.array(source_pa)[leaves] > 0.0
    for number in range(20):
        sign = np.where(pushing | (number % 3 == 0), 1.0, rng.uniform(-1.0, 1.0, len(leaves)))
        start = 0.15 * rng.uniform(0.3, 1.5, len(leaves)) * sign
        found = root(
            lambda q: residual(network, method, source_pa, q), start, method="hybr", options={"xtol": 1e-14}
        )
        if np.abs(residual(network, method, source_pa, found.x)).max() < 1e-11:
            return np.asarray(found.x)
    return None

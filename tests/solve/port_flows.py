"""The same networks by another road: a residual in the ports' flows alone, solved by scipy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import root

from ductcalc.physics.friction import friction_factor, handbook_friction_per_m
from ductcalc.physics.junction import factored_losses, handbook_losses, momentum_losses
from ductcalc.physics.leakage import LEAKAGE_EXPONENT, joint_leak, joint_leak_constant
from ductcalc.solve.junctions import Method
from ductcalc.solve.tree import WyeShape
from tests.solve.networks import (
    CURVE_FLOW,
    CURVE_PRESSURE,
    DENSITY,
    TERMS,
    VISCOSITY,
    Duct,
    Network,
    area,
)

_CURVE = PchipInterpolator(CURVE_FLOW, CURVE_PRESSURE)


def velocity_pressure(flow_m3_s: float, bore_m: float) -> float:
    """VP [Pa] in a bore."""
    return 0.5 * DENSITY * (flow_m3_s / area(bore_m)) ** 2


def section_loss(duct: Duct, flow_m3_s: float, handbook: bool) -> float:
    """Loss [Pa] of one section."""
    loss = (duct.k + duct.port_k + duct.shut_k) * velocity_pressure(flow_m3_s, duct.end_bore_m)
    for bore, length, rough in duct.stretches:
        speed = flow_m3_s / area(bore)
        if handbook:
            per_m = float(handbook_friction_per_m(speed, flow_m3_s)[0])
        else:
            per_m = float(friction_factor(DENSITY * speed * bore / VISCOSITY, rough / bore)) / bore
        loss += length * per_m * velocity_pressure(flow_m3_s, bore)
    return loss


def junction_losses(network: Network, wye: WyeShape, flows: Sequence[float], method: Method) -> np.ndarray:
    """Loss [Pa] of each stream of a wye."""
    outlet = sum(flows)
    if wye.own_k is not None:
        return np.full(len(flows), wye.own_k * 0.5 * DENSITY * (outlet / wye.outlet_area_m2) ** 2)
    areas = [area(network.ducts[s].end_bore_m) for s in wye.streams]
    if method == "handbook":
        return handbook_losses(DENSITY, flows, areas, wye.entry_k, wye.outlet_area_m2)
    cosines = np.cos(np.radians(wye.angles_deg))
    law = momentum_losses if method == "momentum" else factored_losses
    return law(DENSITY, flows, areas, cosines, wye.outlet_area_m2)


@dataclass
class Walk:
    """One walk down the tree with trial values of its unknowns: what enters each open port, or leaks past each
    closed end; gathers how far the streams of each wye disagree on its pressure [Pa]."""

    network: Network
    method: Method
    unknown: dict[int, float]
    disagreement: list[float] = field(default_factory=list)
    inflow: dict[int, float] = field(default_factory=dict)

    def arrive(self, section: int) -> tuple[float, float | None]:
        """Flow that leaves a section's end and total suction there (None behind a tight end without leaks)."""
        duct = self.network.ducts[section]
        above = next((wye for wye in self.network.wyes if wye.outlet == section), None)
        entered, start = (0.0, self.start_of(section)) if above is None else self._meet(above)
        sealed = duct.closed if above is None else start is None
        if sealed:
            return self._closed_end(section, duct)
        if above is None:
            entered = self.unknown[section]
        assert start is not None
        self.inflow[section] = entered
        end = start + section_loss(duct, entered, self.network.handbook_friction)
        last = end + velocity_pressure(entered, duct.end_bore_m)
        first = (
            start
            + duct.port_k * velocity_pressure(entered, duct.end_bore_m)
            + velocity_pressure(entered, duct.start_bore_m)
        )
        mean = last if duct.shut_k > 0.0 else 0.5 * (first + last)
        return entered + float(joint_leak(duct.leakage_class, mean, duct.surface_m2)), end

    def start_of(self, section: int) -> float:
        """Suction [Pa] where air enters a section: none in the room."""
        return 0.0

    def _closed_end(self, section: int, duct: Duct) -> tuple[float, float | None]:
        self.inflow[section] = 0.0
        if duct.leakage_class == 0.0:
            return 0.0, None
        constant = float(joint_leak_constant(duct.leakage_class, duct.surface_m2))
        return self.unknown[section], (self.unknown[section] / constant) ** (1.0 / LEAKAGE_EXPONENT)

    def _meet(self, wye: WyeShape) -> tuple[float, float | None]:
        arrived = [self.arrive(stream) for stream in wye.streams]
        flows = [flow for flow, _ in arrived]
        losses = junction_losses(self.network, wye, flows, self.method)
        levels = [end + loss for (_, end), loss in zip(arrived, losses, strict=True) if end is not None]
        if not levels:
            return 0.0, None
        self.disagreement += [level - levels[0] for level in levels[1:]]
        return sum(flows), float(levels[0])


def unknown_sections(network: Network) -> list[int]:
    """Sections whose inflow (or leak, for a closed one) is unknown."""
    outlets = {wye.outlet for wye in network.wyes}
    leaves = [n for n in range(len(network.ducts)) if n not in outlets]
    return [n for n in leaves if not network.ducts[n].closed or network.ducts[n].leakage_class > 0.0]


def offered_pa(flow_m3_s: float) -> float:
    """What the collector of these networks offers at the duct's end [Pa]."""
    inside = min(flow_m3_s, CURVE_FLOW[-1])
    past = max(flow_m3_s - CURVE_FLOW[-1], 0.0)
    pressure = float(_CURVE(inside)) + past * float(_CURVE(CURVE_FLOW[-1], 1))
    return pressure - sum(c * flow_m3_s**n for c, n in TERMS)


def residual(network: Network, method: Method, flows: Sequence[float]) -> np.ndarray:
    """What is left over [share of 2,000 Pa] at the wyes and at the collector for unknown flows [m3/s]."""
    walk = Walk(network, method, dict(zip(unknown_sections(network), map(float, flows), strict=True)))
    total, end = walk.arrive(len(network.ducts) - 1)
    assert end is not None
    return np.array([*walk.disagreement, offered_pa(total) - end]) / 2000.0


def inflows(network: Network, method: Method, flows: Sequence[float]) -> np.ndarray:
    """Inflow of every section [m3/s] for the unknown flows."""
    walk = Walk(network, method, dict(zip(unknown_sections(network), map(float, flows), strict=True)))
    walk.arrive(len(network.ducts) - 1)
    return np.array([walk.inflow[n] for n in range(len(network.ducts))])


def solved_by_scipy(network: Network, method: Method) -> np.ndarray:
    """Unknown flows [m3/s] found by scipy's root finder in their logarithms, from guesses made here."""
    first = np.log([guess(network.ducts[n]) for n in unknown_sections(network)])
    for shift in (0.0, -0.7, 0.5, -1.5):
        found = root(
            lambda logs: residual(network, method, np.exp(np.clip(logs, -40.0, 3.0))),
            first + shift, method="hybr", options={"xtol": 1e-13, "maxfev": 4000},
        )
        if np.abs(found.fun).max() < 1e-11:
            return np.exp(found.x)
    raise AssertionError("scipy found no root")


def guess(duct: Duct) -> float:
    """Flow [m3/s] of a port or leak at an ordinary suction."""
    if duct.closed:
        return float(joint_leak(duct.leakage_class, 500.0, duct.surface_m2))
    return area(duct.end_bore_m) * (500.0 / (0.5 * DENSITY * (duct.k + duct.port_k + duct.shut_k + 2.0))) ** 0.5

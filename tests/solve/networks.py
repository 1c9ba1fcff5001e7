"""Small duct networks in plain words, drawn at random, and their arrays as the solver takes them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from ductcalc.physics.curve import monotone_cubic
from ductcalc.physics.friction import HANDBOOK_EXPONENT, handbook_friction_per_m
from ductcalc.physics.leakage import joint_leak_constant
from ductcalc.solve.numbers import FrictionRows, Numbers
from ductcalc.solve.supply import PowerTerm, Supply
from ductcalc.solve.tree import Tree, WyeShape

DENSITY, VISCOSITY = 1.2, 1.82e-5
CURVE_FLOW = (0.0, 0.2, 0.4, 0.6, 0.8)
CURVE_PRESSURE = (2700.0, 2650.0, 2300.0, 1500.0, 200.0)
TERMS = ((3500.0, 2.0), (1300.0, 1.0))
ENTRY_K = {0.0: 0.0, 30.0: 0.18, 45.0: 0.28, 60.0: 0.44, 90.0: 1.0, 135.0: 1.0}


Number = TypeVar("Number", float, np.ndarray)


def area(bore_m: Number) -> Number:
    """Area [m2] of a round bore, or of an array of them."""
    return math.pi / 4.0 * bore_m**2


@dataclass(frozen=True)
class Duct:
    """One section: its straight stretches (bore, length, roughness), coefficients on the end's VP, what is shut."""

    start_bore_m: float
    end_bore_m: float
    stretches: tuple[tuple[float, float, float], ...]
    k: float = 0.5
    port_k: float = 0.0
    shut_k: float = 0.0
    closed: bool = False
    leakage_class: float = 0.0

    @property
    def surface_m2(self) -> float:
        """Surface [m2] of its stretches."""
        return sum(math.pi * bore * length for bore, length, _ in self.stretches)


@dataclass(frozen=True)
class Network:
    """Sections upstream first, the last one at the collector, and wyes."""

    ducts: tuple[Duct, ...]
    wyes: tuple[WyeShape, ...]
    handbook_friction: bool = False

    @property
    def tree(self) -> Tree:
        """The solver's tree."""
        starts = np.array([duct.start_bore_m for duct in self.ducts])
        ends = np.array([duct.end_bore_m for duct in self.ducts])
        return Tree(area(starts), area(ends), self.wyes)

    @property
    def numbers(self) -> Numbers:
        """The solver's arrays, one case."""
        names = ("end_bore_m", "k", "port_k", "shut_k", "leakage_class", "closed")
        bore, k, port_k, shut_k, leakage_class, closed = (
            column([getattr(duct, name) for duct in self.ducts]) for name in names
        )
        kinetic = 0.5 * DENSITY / area(bore) ** 2
        rows, surface = friction_rows(self.ducts)
        return Numbers(
            density_kg_m3=DENSITY,
            fixed=(k + port_k + shut_k) * kinetic,
            before=port_k * kinetic,
            shut=((shut_k > 0.0) | ((closed > 0.0) & (port_k > 0.0))).astype(float),
            closed=closed > 0.0,
            leak=np.asarray(joint_leak_constant(leakage_class, surface)),
            friction=friction_rows(())[0] if self.handbook_friction else rows,
            power=column([handbook_power(duct) for duct in self.ducts]) if self.handbook_friction else None,
            power_exponent=HANDBOOK_EXPONENT,
        )


def column(values: object) -> np.ndarray:
    """Return values as (rows, 1)."""
    return np.asarray(values, dtype=float).reshape(-1, 1)


def friction_rows(ducts: tuple[Duct, ...]) -> tuple[FrictionRows, np.ndarray]:
    """Rows of all sections' first stretches, then of all second ones; and each section's surface (sections, 1) [m2]."""
    most = max((len(duct.stretches) for duct in ducts), default=0)
    rows = [
        (number, *duct.stretches[place])
        for place in range(most)
        for number, duct in enumerate(ducts)
        if len(duct.stretches) > place
    ]
    number, bore, length, rough = (column(part) for part in np.array(rows, dtype=float).reshape(-1, 4).T)
    section = number[:, 0].astype(np.intp)
    loss = length / bore * 0.5 * DENSITY / area(bore) ** 2
    surface = np.bincount(section, (math.pi * bore * length)[:, 0], len(ducts))
    return FrictionRows(section, loss, 4.0 * DENSITY / (math.pi * bore * VISCOSITY), rough / bore), column(surface)


def handbook_power(duct: Duct) -> float:
    """Resistance of a section's stretches by the sheet's fitted formula."""
    return sum(
        length * float(handbook_friction_per_m(1.0 / area(bore), 1.0)[0]) * 0.5 * DENSITY / area(bore) ** 2
        for bore, length, _ in duct.stretches
    )


def supply(scale: float = 1.0) -> Supply:
    """A blower's curve less a cyclone and a filter, for `scale` times the flow of one small collector."""
    terms = tuple(PowerTerm(coefficient / scale**exponent, exponent) for coefficient, exponent in TERMS)
    return Supply(monotone_cubic(np.array(CURVE_FLOW) * scale, CURVE_PRESSURE), terms)


def random_network(rng: np.random.Generator, ports: int, **kinds: bool) -> Network:
    """Draw a tree of so many ports.

    kinds: tight, leaks, joints, handbook_friction, square, against, own_k, larger, caps.
    """
    ducts = [_port_duct(rng, kinds) for _ in range(ports)]
    open_ends = list(range(ports))
    if kinds.get("caps"):
        open_ends.append(len(ducts))
        ducts.append(replace(_port_duct(rng, {}), port_k=0.0, closed=True, leakage_class=12.0))
    wyes: list[WyeShape] = []
    while len(open_ends) > 1:
        count = min(int(rng.choice([2, 2, 2, 3, 4])), len(open_ends))
        streams = tuple(int(s) for s in rng.choice(open_ends, count, replace=False))
        outlet, wye = _joined(rng, [ducts[s] for s in streams], kinds)
        wyes.append(replace(wye, streams=streams, outlet=len(ducts)))
        open_ends = [s for s in open_ends if s not in streams] + [len(ducts)]
        ducts.append(outlet)
    if kinds.get("joints"):
        ducts = [replace(duct, leakage_class=float(rng.choice([3.0, 12.0, 48.0]))) for duct in ducts]
    return Network(tuple(ducts), tuple(wyes), kinds.get("handbook_friction", False))


def _port_duct(rng: np.random.Generator, kinds: dict[str, bool]) -> Duct:
    bore = float(rng.choice([0.08, 0.1, 0.125, 0.15]))
    start = float(rng.choice([0.08, 0.1, 0.125, bore]))
    stretches = tuple(
        (d, float(rng.uniform(0.5, 6.0)), 9.144e-5) for d in dict.fromkeys((start, bore))
    )
    shut = float(rng.uniform()) < 0.4 and kinds.get("leaks", False)
    closed = float(rng.uniform()) < 0.3 and kinds.get("tight", False)
    share = float(rng.choice([0.001, 0.01, 0.03]))
    return Duct(
        start, bore, stretches, float(rng.uniform(0.2, 2.0)), float(rng.uniform(0.4, 5.0)),
        shut_k=1.0 / (0.61 * share) ** 2 if shut and not closed else 0.0, closed=closed,
    )


def _joined(rng: np.random.Generator, streams: list[Duct], kinds: dict[str, bool]) -> tuple[Duct, WyeShape]:
    total = math.sqrt(sum(duct.end_bore_m**2 for duct in streams))
    size = float(total * rng.uniform(0.75, 1.1))
    size = size if kinds.get("larger") else max(size, *(duct.end_bore_m for duct in streams))
    angles = [0.0] + [float(a) for a in rng.choice([30.0, 45.0, 60.0], len(streams) - 1)]
    if kinds.get("square") and rng.uniform() < 0.7:
        angles[1:] = [90.0] * (len(angles) - 1) if rng.uniform() < 0.5 else [90.0, *angles[2:]]
    if kinds.get("against") and rng.uniform() < 0.5:
        angles[-1] = 135.0
    if rng.uniform() < 0.25:
        angles[0] = 30.0
    own = float(rng.uniform(0.1, 0.8)) if kinds.get("own_k") and rng.uniform() < 0.6 else None
    wye = WyeShape(
        (), 0, area(size), tuple(angles), tuple(a == 0.0 for a in angles), tuple(ENTRY_K[a] for a in angles), own
    )
    stretch = (size, float(rng.uniform(1.0, 8.0)), 1.5e-4)
    return Duct(size, size, (stretch,), float(rng.uniform(0.0, 1.0))), wye


def comb(ports: int, own_share: float = 0.0) -> Network:
    """A main with drops at 45 degrees whose area grows with the air that it carries, up to a limit."""
    drops = [0.1, 0.125, 0.15]
    port = [
        Duct(drops[n % 3], drops[n % 3], ((drops[n % 3], 3.0, 9.144e-5),), 0.5, 2.75, leakage_class=3.0)
        for n in range(ports)
    ]
    ducts, wyes, size = [port[0]], [], port[0].end_bore_m
    for n in range(1, ports):
        size = math.hypot(size, port[n].end_bore_m)
        ducts += [port[n], Duct(size, size, ((size, 2.0, 9.144e-5),), 0.1, leakage_class=3.0)]
        main = 0 if n == 1 else len(ducts) - 3
        wyes.append(
            WyeShape((main, len(ducts) - 2), len(ducts) - 1, area(size), (0.0, 45.0), (True, False), (0.0, 0.28))
        )
    return Network(tuple(ducts), tuple(wyes))


def gated(network: Network, open_: np.ndarray, share: float = 0.01, tight: bool = False) -> Numbers:
    """Numbers of a network for many gate sets; open_ (ports, cases): the ports, in the order of their sections."""
    base = network.numbers
    leaves = network.tree.leaves
    shut = np.zeros((len(network.ducts), open_.shape[1]))
    shut[leaves] = ~open_
    k = 0.0 if tight else 1.0 / (0.61 * share) ** 2
    kinetic = column([0.5 * DENSITY / area(duct.end_bore_m) ** 2 for duct in network.ducts])
    return replace(
        base, fixed=base.fixed + shut * k * kinetic, shut=shut, closed=base.closed | ((shut > 0.0) & tight)
    )


def all_gate_sets(ports: int) -> np.ndarray:
    """Every choice of open ports (ports, 2^ports)."""
    return ((np.arange(2**ports)[None, :] >> np.arange(ports)[:, None]) & 1).astype(bool)

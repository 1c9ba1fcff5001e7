"""A small duct network solved by other means: total pressure walked up from the collector, roots by scipy.

It shares no code with the program: friction by Swamee and Jain, wyes by the momentum balance written out for two
streams, holes as air that comes in at a right angle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.optimize import root

RHO, MU, ROUGH = 1.1996, 1.82e-5, 0.09144e-3
ORIFICE = 0.61


@dataclass(frozen=True)
class Drop:
    """A machine's way to the main: port, hose, gate, pipe in two halves. K on its own VP; shares of the bore."""

    bore: float
    k: float
    hose: float
    hose_factor: float
    bend_k: float
    pipe: float
    gate_open: float = 1.0
    gap: float = 0.01
    narrowed: float = 1.0
    pipe_left: float = 1.0
    hole: float = 0.0
    pipe_bore: float | None = None


@dataclass(frozen=True)
class Network:
    """Drops that join one main in order, the first at its head. mains: (length, bore) behind each wye.

    points: blower curve as rising flows and falling fan static pressures. filter_pa: at filter_flow, as its power 1.
    """

    drops: tuple[Drop, ...]
    mains: tuple[tuple[float, float], ...]
    points: tuple[tuple[float, float], ...]
    filter_pa: float
    filter_flow: float
    speed: float = 1.0
    density: float = RHO
    main_left: dict[int, float] = field(default_factory=dict)
    main_hole: dict[int, float] = field(default_factory=dict)
    bin_hole: float = 0.0


def area(bore: float) -> float:
    return math.pi / 4.0 * bore**2


def friction(flow: float, bore: float, density: float, rough: float = ROUGH) -> float:
    reynolds = max(density * abs(flow) / area(bore) * bore / MU, 4000.0)
    return 0.25 / math.log10(rough / bore / 3.7 + 5.74 / reynolds**0.9) ** 2


def square(flow: float) -> float:
    return flow * abs(flow)


def through(share: float) -> float:
    """K of a sharp-edged narrowing to a share of the bore."""
    return (1.0 / share**2 - 1.0) / ORIFICE**2


@dataclass
class Read:
    """Static suctions [Pa] and speeds [m/s] by tap."""

    static: dict[str, float]
    speed: dict[str, float]
    flows: list[float]


class Case:
    """One network with some machines open."""

    def __init__(self, network: Network, open_: frozenset[int]) -> None:
        self.network, self.open = network, open_
        self.curve = np.array(network.points, dtype=float)

    def solved(self) -> Read:
        n, holes = len(self.network.drops), self._holes()
        guess = np.array([0.2 if d in self.open else 0.002 for d in range(n)] + [0.02] * len(holes))
        for scale in (1.0, 0.5, 1.5, 0.2):
            found = root(lambda q: self.walk(q)[0], guess * scale, method="hybr", options={"xtol": 1e-10})
            if found.success or np.abs(found.fun).max() < 0.01:
                return self.walk(found.x)[1]
        raise RuntimeError("no root")

    def _holes(self) -> list[tuple[str, int]]:
        net = self.network
        found = [("drop", d) for d, drop in enumerate(net.drops) if drop.hole]
        found += [("main", m) for m, share in net.main_hole.items() if share]
        return found + ([("bin", 0)] if net.bin_hole else [])

    def blower(self, flow: float) -> float:
        net = self.network
        flows, pressures = self.curve[:, 0] * net.speed, self.curve[:, 1] * net.speed**2
        value = float(np.interp(flow, flows, pressures))
        if flow > flows[-1]:
            value += (flow - flows[-1]) * (pressures[-1] - pressures[-2]) / (flows[-1] - flows[-2])
        return value * net.density / 1.2014

    def walk(self, q: np.ndarray) -> tuple[np.ndarray, Read]:
        """Residual [Pa] at every port and hole, and what taps read, for flows of drops and holes."""
        net, n = self.network, len(self.network.drops)
        half = 0.5 * net.density
        holes = dict(zip(self._holes(), q[n:], strict=True))
        into = [q[d] + holes.get(("drop", d), 0.0) for d in range(n)]
        after = []
        running = into[0]
        for m in range(n - 1):
            running = running + into[m + 1]
            after.append((running, running + holes.get(("main", m), 0.0)))
            running = after[-1][1]
        total_flow = running + holes.get(("bin", 0), 0.0)
        bore = net.mains[-1][1]
        drop = net.filter_pa * total_flow / net.filter_flow
        suction = self.blower(total_flow) - drop
        residual = np.zeros(len(q))
        order = list(holes)
        static, speed = {"filter": drop}, {}

        def at_hole(key: tuple[str, int], total: float, q1: float, q2: float, d: float, share: float) -> float:
            """Pass a hole upstream: its own residual, and the total suction ahead of it.

            Momentum along the duct: the air of the hole brings none, and meets the static suction ahead of the mixing.
            """
            ahead = total - half * (square(q2) - square(q1)) / area(d) ** 2
            here = ahead + half * square(q1 / area(d))
            residual[n + order.index(key)] = here - half * square(holes[key] / (ORIFICE * share * area(d)))
            return ahead

        if ("bin", 0) in holes:
            suction = at_hole(("bin", 0), suction, running, total_flow, bore, net.bin_hole)
        static["collector inlet"] = suction + half * square(running / area(bore))
        speed["collector inlet"] = running / area(bore)
        for m in range(n - 2, -1, -1):
            length, d = net.mains[m]
            q1, q2 = after[m]
            suction -= friction(q2, d, net.density) * 0.5 * length / d * half * square(q2 / area(d))
            if ("main", m) in holes:
                suction = at_hole(("main", m), suction, q1, q2, d, net.main_hole[m])
            suction -= through(net.main_left.get(m, 1.0)) * half * square(q1 / area(d))
            suction -= friction(q1, d, net.density) * 0.5 * length / d * half * square(q1 / area(d))
            side = into[m + 1]
            main = q1 - side
            a_main = area(net.mains[m - 1][1] if m else (net.drops[0].pipe_bore or net.drops[0].bore))
            a_side = area(net.drops[m + 1].pipe_bore or net.drops[m + 1].bore)
            shared = square(q1 / area(d)) - 2.0 / area(d) * (
                square(main) / a_main + square(side) * math.cos(math.pi / 4.0) / a_side
            )
            end_side = suction - half * (square(side / a_side) + shared)
            self._up(m + 1, end_side, q, holes, residual, order, static, speed, at_hole)
            suction -= half * (square(main / a_main) + shared)
        self._up(0, suction, q, holes, residual, order, static, speed, at_hole)
        return residual, Read(static, speed, [float(x) for x in q[:n]])

    def _up(self, d, end, q, holes, residual, order, static, speed, at_hole) -> None:  # type: ignore[no-untyped-def]
        """Walk a drop from its end to its port."""
        net, drop = self.network, self.network.drops[d]
        half, flow = 0.5 * net.density, q[d]
        whole = flow + holes.get(("drop", d), 0.0)
        bore = drop.pipe_bore or drop.bore
        vp = half * square(whole / area(bore))
        static[f"end {d}"], speed[f"end {d}"] = end + vp, whole / area(bore)
        total = end - friction(whole, bore, net.density) * 0.5 * drop.pipe / bore * vp
        if ("drop", d) in holes:
            total = at_hole(("drop", d), total, flow, whole, bore, drop.hole)
        inner = half * square(flow / area(bore))
        total -= friction(flow, bore, net.density) * 0.5 * drop.pipe / bore * inner + through(drop.pipe_left) * inner
        vp = half * square(flow / area(drop.bore))
        static[f"gate {d}"], speed[f"gate {d}"] = total + vp, flow / area(drop.bore)
        if d in self.open:
            total -= (0.15 + through(drop.gate_open)) * vp
        else:
            total -= vp / (ORIFICE * drop.gap) ** 2
        static[f"ahead {d}"] = total + vp
        loss = drop.hose_factor * friction(flow, drop.bore, net.density) * drop.hose / drop.bore + drop.bend_k
        total -= loss * vp
        static[f"port {d}"], speed[f"port {d}"] = total + vp, flow / area(drop.bore)
        residual[d] = total - (drop.k + through(drop.narrowed)) * vp


def read(network: Network, open_: frozenset[int]) -> Read:
    return Case(network, open_).solved()


def with_drop(network: Network, number: int, **changes: float) -> Network:
    drops = list(network.drops)
    drops[number] = replace(drops[number], **changes)
    return replace(network, drops=tuple(drops))

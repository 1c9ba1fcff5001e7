"""What a collector offers at the duct's end: its blower's curve less cyclone, filter and outlet."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ductcalc.arrays import Flags, Floats, Places
from ductcalc.physics.curve import PiecewiseCubic, evaluate
from ductcalc.physics.friction import TURBULENT_REYNOLDS, friction_factor, friction_with_slope

Asked = Callable[[Floats], tuple[Floats, Floats]]
"""What is asked for at flows (cases,), with its slope, in the unit of the pressure times the line's gain."""

STEPS_PER_PIECE, STEPS_ON_A_HUMP = 4, 32
"""Steps on which crossings are looked for; a curve that rises somewhere may have two close to each other."""

LAST_STEP, NARROW = 1e-6, 1e-3
"""Relative step after which a crossing is found: the error left is about its square. Smaller on a curve with pieces
that are narrower than this share of its last flow, so that no step jumps over one."""


@dataclass(frozen=True)
class PowerTerm:
    """A pressure `coefficient * flow^exponent` [Pa] taken off what the blower offers (negative: put back)."""

    coefficient: float
    exponent: float

    def at(self, flow_m3_s: float) -> float:
        """Return the pressure [Pa] at a flow."""
        return float(self.coefficient * flow_m3_s**self.exponent)


@dataclass(frozen=True)
class OutletFriction:
    """Straight outlet duct: loss [Pa s2/m6] times the friction factor at reynolds_per_flow [s/m3]."""

    loss: float
    reynolds_per_flow: float
    roughness: float


@dataclass(frozen=True)
class Supply:
    """Total suction [Pa] available at the duct's end against flow [m3/s], one state of one collector."""

    curve: PiecewiseCubic
    terms: tuple[PowerTerm, ...] = ()
    outlet: tuple[OutletFriction, ...] = ()

    @property
    def last_flow_m3_s(self) -> float:
        """Flow of the curve's last point."""
        return float(self.curve.breaks[-1])

    @cached_property
    def last_step(self) -> float:
        """Relative step after which a crossing with it is found."""
        widths = np.diff(self.curve.breaks)
        return LAST_STEP * min(1.0, float(widths.min()) / (NARROW * self.last_flow_m3_s))

    @property
    def first_flow_m3_s(self) -> float:
        """Flow of the curve's first point; left of it the pressure is held."""
        return float(self.curve.breaks[0])

    def losses(self, flow_m3_s: Floats) -> tuple[Floats, Floats]:
        """Return the parts' pressure [Pa] and slope [Pa s/m3] at flows (cases,)."""
        pressure, slope = np.zeros_like(flow_m3_s), np.zeros_like(flow_m3_s)
        for term in self.terms:
            per_flow = term.coefficient * flow_m3_s ** (term.exponent - 1.0)
            pressure += per_flow * flow_m3_s
            slope += term.exponent * per_flow
        for row in self.outlet:
            reynolds = flow_m3_s * row.reynolds_per_flow
            root = friction_factor(np.maximum(reynolds, TURBULENT_REYNOLDS), row.roughness) ** -0.5
            factor, steep = friction_with_slope(root, reynolds, row.roughness)
            pressure += row.loss * factor * flow_m3_s**2
            slope += row.loss * factor * flow_m3_s * (2.0 + steep)
        return pressure, slope

    def available(self, flow_m3_s: Floats) -> tuple[Floats, Floats]:
        """Return available total suction [Pa] and its slope [Pa s/m3] at flows (cases,)."""
        value, slope = evaluate(self.curve, flow_m3_s)
        lost, lost_slope = self.losses(flow_m3_s)
        return value - lost, slope - lost_slope

    def available_at(self, flow_m3_s: float) -> float:
        """Return available total suction [Pa] at one flow."""
        return float(self.available(np.array([flow_m3_s]))[0][0])

    def grid(self) -> Floats:
        """Flows (points,) from zero to the last one, on which crossings are looked for."""
        coarse = self._grid(STEPS_PER_PIECE)
        falls = bool((np.diff(self.available(coarse)[0]) <= 0.0).all())
        return coarse if falls else self._grid(STEPS_ON_A_HUMP)

    def _grid(self, steps: int) -> Floats:
        breaks = self.curve.breaks
        knots = breaks if breaks[0] <= 0.0 else np.concatenate([[0.0], breaks])
        inner = (knots[:-1, None] + np.diff(knots)[:, None] * np.arange(steps) / steps).ravel()
        return np.append(inner, knots[-1])


class Crossing:
    """Finds where suppliers meet a straight line  flow = offset + gain * pressure, the largest stable point."""

    def __init__(self, supplies: Sequence[Supply]) -> None:
        """Tabulate each supply once."""
        self.supplies = tuple(supplies)
        self.grids = [supply.grid() for supply in supplies]
        self.values = [s.available(g)[0] for s, g in zip(supplies, self.grids, strict=True)]
        self.falling = [bool((np.diff(values) <= 0.0).all()) for values in self.values]

    @property
    def rising(self) -> Flags:
        """Return which supplies rise somewhere (supplies,)."""
        return ~np.array(self.falling)

    @property
    def last_flows(self) -> Floats:
        """Return the flow of each supply's last point (supplies,) [m3/s]."""
        return np.array([supply.last_flow_m3_s for supply in self.supplies])

    @property
    def tops(self) -> Floats:
        """Return each supply's greatest pressure [Pa] (supplies,)."""
        return np.array([float(values.max()) for values in self.values])

    def parabola_ends(self) -> Floats:
        """Return the most flow (supplies,) [m3/s] of the parabola from each greatest pressure through half of it."""
        return np.array([_half_flow(g, v) * 2.0**0.5 for g, v in zip(self.grids, self.values, strict=True)])

    def at(self, index: Places, flow: Floats) -> tuple[Floats, Floats]:
        """Return available suction [Pa] and its slope [Pa s/m3] at flows (cases,), of still air below none."""
        pressure, slope = np.empty_like(flow), np.empty_like(flow)
        for number, supply in enumerate(self.supplies):
            mine = index == number
            pressure[mine], slope[mine] = supply.available(np.maximum(flow[mine], 0.0))
        return pressure, slope

    def solve(
        self, index: Places, offset: Floats, gain: Floats, near: Floats
    ) -> tuple[Floats, Floats]:
        """Return flow [m3/s] and available pressure [Pa] (cases,); `index` (cases,) names each case's supply.

        near: flows (cases,) from which it is looked for where a supply only falls, so that there is one crossing.
        """
        flow, pressure = np.empty_like(offset), np.empty_like(offset)
        for number, _, mine in self.each(index):
            own = offset[mine], gain[mine]
            found = self._only(number, *own, near[mine]) if self.falling[number] else self._one(number, *own)
            flow[mine], pressure[mine] = found
        return flow, pressure

    def _only(self, number: int, offset: Floats, gain: Floats, near: Floats) -> tuple[Floats, Floats]:
        """Find the one crossing of a supply that only falls; none where the line asks for less than nothing."""
        none = offset + gain * self.values[number][0] <= 0.0
        start = np.where(none, 0.0, np.minimum(np.maximum(near, 0.0), self.grids[number][-1]))
        high = np.where(none, 0.0, np.inf)
        return newton_in_bracket(self.supplies[number], _line(offset), gain, np.zeros_like(offset), high, start)

    def _one(self, number: int, offset: Floats, gain: Floats) -> tuple[Floats, Floats]:
        """Find the crossing farthest right of a supply that also rises, from a table of it."""
        supply, grid = self.supplies[number], self.grids[number]
        surplus = grid[:, None] - (offset + gain * self.values[number][:, None])
        below = surplus < 0.0
        last = len(grid) - 1 - np.argmax(below[::-1], axis=0)
        none = ~below.any(axis=0)
        beyond = last == len(grid) - 1
        after = np.minimum(last + 1, len(grid) - 1)
        low = np.where(none, 0.0, grid[last])
        high = np.where(none, 0.0, np.where(beyond, np.inf, grid[after]))
        cases = np.arange(len(offset))
        left, right = surplus[last, cases], surplus[after, cases]
        share = np.where(none | beyond, 0.0, left / np.where(left == right, 1.0, left - right))
        start = low + share * np.where(none | beyond, 0.0, grid[after] - low)
        return newton_in_bracket(supply, _line(offset), gain, low, high, start)

    def each(self, index: Places) -> Iterator[tuple[int, Supply, Places]]:
        """Yield each supply that has cases, with its number and its cases."""
        for number, supply in enumerate(self.supplies):
            mine = np.flatnonzero(index == number)
            if len(mine):
                yield number, supply, mine


def _line(offset: Floats) -> Asked:
    """Return what a line asks for, in flow [m3/s]: flow - offset, to be met by gain * pressure."""
    return lambda flow: (flow - offset, np.ones_like(flow))


def _half_flow(grid: Floats, values: Floats) -> float:
    """Return about the flow [m3/s] from which on less than half of the greatest pressure is left; else the last one."""
    half = 0.5 * float(values.max())
    last = int(np.flatnonzero(values >= half)[-1])
    if last == len(grid) - 1:
        return float(grid[-1])
    share = (values[last] - half) / (values[last] - values[last + 1])
    return float(grid[last] + share * (grid[last + 1] - grid[last]))


def newton_in_bracket(
    supply: Supply, asked: Asked, gain: Floats, low: Floats, high: Floats, flow: Floats
) -> tuple[Floats, Floats]:
    """Find where asked = gain * pressure by safeguarded Newton, each case stopping by itself: its bits are its own.

    The last step is so small that the pressure follows it along the slope, without another look at the curve.
    """
    value, slope = supply.available(flow)
    active, last_step = np.ones(flow.shape, dtype=bool), supply.last_step
    for _ in range(60):
        wanted, steep = asked(flow)
        surplus = wanted - gain * value
        low = np.where(surplus < 0.0, flow, low)
        high = np.where(surplus < 0.0, high, flow)
        new = flow - surplus / np.maximum(steep - gain * slope, 1e-9)
        middle = np.where(np.isfinite(high), 0.5 * (low + high), new)
        new = np.where((new >= low) & (new <= high), new, middle)
        step = np.where(active, new - flow, 0.0)
        small = np.abs(step) <= last_step * np.abs(flow)
        flow = flow + step
        value = np.where(active & small, value + slope * step, value)
        active = active & ~small
        if not active.any():
            break
        fresh, fresh_slope = supply.available(flow)
        value, slope = np.where(active, fresh, value), np.where(active, fresh_slope, slope)
    return flow, value

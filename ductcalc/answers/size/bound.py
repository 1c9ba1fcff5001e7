"""What no sizing can undercut: the power that the blower can give, against what the wanted air must use up.

In every set the collector gives the power P(Q) Q [W] to its air. Air that runs through a section at least as fast as
wanted loses at least what it loses at the wanted flow, and a wye never gives power back on the whole: with momentum
sum(Q_j dp_j) = rho/2 sum(Q_j (V_j - V_c)^2) or more. So in each set the sections' losses at the wanted flows, times
these flows, may not come to more than the greatest P(Q) Q from the wanted flow on. Each section's use hangs on its own
size only, which leaves a choice of one size for each stretch under one limit for each set; its Lagrangian relaxation
(Fisher, The Lagrangian relaxation method for solving integer programming problems, Management Science, 1981; from
memory) is a bound on the cost for any multipliers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.size.trials import Trials
from ductcalc.cases.judged import ROUNDING
from ductcalc.physics.junction import SQUARE_ANGLE_DEG
from ductcalc.solve.losses import first_root, section_losses
from ductcalc.solve.supply import Supply

Floats = NDArray[np.float64]
Places = NDArray[np.intp]
STEPS = 4000
GRID_MARGIN = 1.001
"""Between two of so many flows neither pressure nor power rises by more than this beyond both ends."""

COLEBROOK_STEPS = 4
CLIMBS, HALVE_AFTER = 300, 15


@dataclass(frozen=True)
class Power:
    """Power that the wanted air uses [W] as a share of what the blower can give: per stretch (places, choices)."""

    used: tuple[Floats, ...]

    def least(self) -> Floats:
        """Least share (choices,) that a set uses, whatever the sizes."""
        return np.asarray(sum(used.min(axis=0) for used in self.used))


def power_of(trials: Trials) -> Power:
    """Return what each size uses in each set; nothing at all where the argument does not hold.

    It does not with empirical factors on wyes, with branches at 75 degrees and more, or with machines that blow.
    """
    model, ways = trials.model, trials.plan.ways
    if not _holds(trials):
        return Power(tuple(np.zeros((count, len(trials.choices))) for count in ways))
    flow = wanted_flow(trials)
    wide = np.tile(flow, (1, len(trials.models)))
    root = first_root(trials.numbers.friction, wide)
    for _ in range(COLEBROOK_STEPS):
        root, loss, _ = section_losses(trials.numbers, root, wide)
    given = np.array([most_power(trials.supply, total) for total in flow[model.tree.root]])
    used = (loss * wide).reshape(len(flow), len(trials.models), -1) / np.where(given > 0.0, given, 1.0)
    found = []
    for number, count in enumerate(ways):
        mine = used[list(trials.plan.stretches[number].sections)].sum(axis=0)
        found.append(mine[:count])
    return Power(tuple(found))


def _holds(trials: Trials) -> bool:
    model = trials.model
    blowing = any(machine.own_blower_pa for machine in model.shop.settings.machines)
    steep = any(angle >= SQUARE_ANGLE_DEG for wye in model.tree.wyes for angle in wye.angles_deg)
    return model.junction != "factored" and not blowing and not steep


def wanted_flow(trials: Trials) -> Floats:
    """Return the air [m3/s] that running machines want through each section (sections, choices)."""
    model = trials.model
    flow = np.zeros((model.tree.size, len(trials.choices)))
    wanted = np.where(trials.running & trials.feeding, trials.wanted, 0.0) * (1.0 - ROUNDING)
    np.add.at(flow, model.opening.port_section, wanted)
    for _, outlet, streams, _ in model.tree.walk:
        for stream in streams:
            flow[outlet] += flow[stream]
    return flow


def most_power(supply: Supply, least_flow_m3_s: float) -> float:
    """Return a power [W] that the collector never exceeds at this flow [m3/s] or more; 0 beyond its last point."""
    if least_flow_m3_s >= supply.last_flow_m3_s:
        return 0.0
    grid = np.union1d(np.linspace(least_flow_m3_s, supply.last_flow_m3_s, STEPS), supply.curve.breaks)
    grid = grid[grid >= least_flow_m3_s]
    pressure = supply.available(grid)[0]
    return float((np.maximum(pressure[:-1], pressure[1:]) * grid[1:]).max() * GRID_MARGIN)


@dataclass(frozen=True)
class Bound:
    """A proven lower bound on the cost of any sizing that satisfies everything.

    value: the bound, infinite when the power rules every sizing out. multipliers: (choices,). allowed: for each
    stretch which places the power does not rule out.
    """

    value: float
    multipliers: Floats
    allowed: tuple[NDArray[np.bool_], ...]


def bound_of(costs: Sequence[Floats], power: Power, target: float) -> Bound:
    """Return the best bound found by climbing (subgradient steps by Polyak's rule; deterministic).

    costs: least cost of each place. target: cost of the best sizing known, or any guess above the bound.
    """
    allowed = _allowed(power)
    choices = power.used[0].shape[1]
    if not all(places.any() for places in allowed):
        return Bound(np.inf, np.zeros(choices), allowed)
    fenced = [np.where(ok, cost, np.inf) for ok, cost in zip(allowed, costs, strict=True)]
    multipliers = best = np.zeros(choices)
    value, since, pace = -np.inf, 0, 1.0
    for _ in range(CLIMBS):
        now, slope = relaxed(fenced, power, multipliers)
        if now > value:
            value, best, since = now, multipliers, 0
        else:
            since += 1
            pace = pace * 0.5 if since % HALVE_AFTER == 0 else pace
        steep = float((slope**2).sum())
        if steep == 0.0 or not np.isfinite(target):
            break
        multipliers = np.maximum(multipliers + pace * max(target - now, 1e-9) / steep * slope, 0.0)
    return Bound(value, best, allowed)


def relaxed(costs: Sequence[Floats], power: Power, multipliers: Floats) -> tuple[float, Floats]:
    """Return the relaxation's value at some multipliers and its slope in each of them."""
    total, slope = -float(multipliers.sum()), -np.ones(len(multipliers))
    for cost, used in zip(costs, power.used, strict=True):
        both = cost + used @ multipliers
        place = int(both.argmin())
        total += float(both[place])
        slope = slope + used[place]
    return total, slope


def _allowed(power: Power) -> tuple[NDArray[np.bool_], ...]:
    """Return which places leave every set within its power when all other stretches use their least."""
    least = power.least()
    return tuple(((used + (least - used.min(axis=0))) <= 1.0 + ROUNDING).all(axis=1) for used in power.used)


def cheaper(
    costs: Sequence[Floats], power: Power, bound: Bound, ceiling: float, most: int
) -> Places | None:
    """Return every sizing (sizings, stretches) that may cost less than a ceiling; None when there are more than `most`.

    Branch and bound, level by level: a choice for the first stretches is dropped when what it costs, or the
    relaxation, or the power in some set, cannot stay within the limits whatever the rest is.
    """
    order = sorted(range(len(costs)), key=lambda n: -float(np.ptp(costs[n])))
    weighed = [cost + used @ bound.multipliers for cost, used in zip(costs, power.used, strict=True)]
    fence = [np.where(ok, 0.0, np.inf) for ok in bound.allowed]
    rest = [np.array([float((part[n] + fence[n]).min()) for n in order]) for part in (costs, weighed)]
    rest_used = [power.used[n].min(axis=0) for n in order]
    places = np.zeros((1, 0), dtype=np.intp)
    sums = np.zeros((2, 1))
    sums[1] -= bound.multipliers.sum()
    used = np.zeros((1, len(bound.multipliers)))
    for depth, number in enumerate(order):
        count, ways = len(places), len(costs[number])
        added = np.stack([costs[number] + fence[number], weighed[number]])
        sums = (sums[:, :, None] + added[:, None, :]).reshape(2, -1)
        used = (used[:, None, :] + power.used[number][None, :, :]).reshape(count * ways, used.shape[1])
        after = np.array([part[depth + 1 :].sum() for part in rest])
        left = np.sum(rest_used[depth + 1 :], axis=0) if depth + 1 < len(order) else 0.0
        good = ((sums + after[:, None]) < ceiling).all(axis=0) & (used + left <= 1.0 + ROUNDING).all(axis=1)
        kept = np.flatnonzero(good)
        if len(kept) > most:
            return None
        places = np.column_stack([places[kept // ways], kept % ways])
        sums, used = sums[:, kept], used[kept]
    back = np.argsort(order)
    return places[:, back]

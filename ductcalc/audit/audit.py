"""Computes an answer's residuals again by another route: piece by piece from the ports, plain formulas."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ductcalc.audit.pieces import PieceTable
from ductcalc.model.model import Model
from ductcalc.model.numbers import own_blowers
from ductcalc.model.opening import OpenState
from ductcalc.physics.conveying import loaded_duct_factor
from ductcalc.physics.junction import either_way, factored_losses, handbook_losses, momentum_losses
from ductcalc.physics.leakage import joint_leak
from ductcalc.physics.velocity import bore_area, velocity_pressure
from ductcalc.shop.settings import Junction
from ductcalc.solve.newton import Solved
from ductcalc.solve.supply import Supply

Floats = NDArray[np.float64]
LIMIT = 1e-8
PASCAL = 1.0
STEEP = 1e-3
"""Where a curve falls like a wall, a pressure is held against what a thousandth of the flow changes in it: no
calculation in ordinary numbers gives a flow to more digits than the pressure on the wall asks for."""


@dataclass(frozen=True)
class Audit:
    """Relative residuals (cases,): pressures along all paths, mass at every meeting, blower against need.

    losses: (pieces, cases) pressure of each piece; junction: (sections, cases) what a section's stream loses in
    the wye at its end; both from this route.
    """

    pressure: Floats
    mass: Floats
    blower: Floats
    losses: Floats
    junction: Floats

    @property
    def passed(self) -> NDArray[np.bool_]:
        """Cases (cases,) whose every residual is within the limit."""
        worst = np.maximum(np.maximum(self.pressure, self.mass), self.blower)
        return np.asarray(np.nan_to_num(worst, nan=np.inf) <= LIMIT)


def audit(
    model: Model,
    table: PieceTable,
    state: OpenState,
    solved: Solved,
    supplies: Sequence[Supply],
    index: NDArray[np.intp],
) -> Audit:
    """Check solved cases: take flows and joint leaks as given, compute every pressure anew and compare."""
    losses = table.pressures(model, state, solved.flow)
    section_loss = table.by_section(losses, model.tree.size)
    leaving = solved.flow + solved.leak
    junction = junction_losses(model, leaving)
    start, end, gap = _pressures(model, state, section_loss, junction, solved)
    root = model.tree.root
    scale = np.abs(end[root]) + PASCAL
    leak_gap = _leak_gap(model, state, table, losses, start, end, solved)
    total = np.abs(leaving[root]) + 1e-9
    mass = np.maximum(_mass_gap(model, solved.flow, leaving), leak_gap) / total
    return Audit(gap / scale, mass, _blower_gap(leaving[root], end[root], supplies, index), losses, junction)


def junction_losses(model: Model, leaving_m3_s: Floats) -> Floats:
    """Return what each section's stream loses in the wye at its end [Pa], (sections, cases)."""
    tree, density = model.tree, model.air.density_kg_m3 * float(loaded_duct_factor(model.loading))
    found = np.zeros_like(leaving_m3_s)
    for count in sorted({len(wye.streams) for wye in tree.wyes}):
        wyes = [wye for wye in tree.wyes if len(wye.streams) == count]
        sections = np.array([wye.streams for wye in wyes], dtype=np.intp).T
        outlet = np.array([[wye.outlet_area_m2] for wye in wyes])
        areas = tree.end_area_m2[sections][..., None]
        cosines = np.cos(np.radians(np.array([wye.angles_deg for wye in wyes]).T))[..., None]
        entry = np.array([wye.entry_k for wye in wyes]).T[..., None]
        flows = leaving_m3_s[sections]
        own = np.array([[np.nan if wye.own_k is None else wye.own_k] for wye in wyes])
        shape = _WyeShapes(model.junction, density, areas, cosines, entry, outlet, own)
        balanced = np.isnan(own) & (model.junction != "handbook")
        found[sections] = either_way(shape.losses, density, flows, areas, outlet, balanced)
    return found


@dataclass(frozen=True)
class _WyeShapes:
    """Wyes of alike many streams: their method, density [kg/m3], areas [m2], cosines and coefficients."""

    junction: Junction
    density: float
    areas: Floats
    cosines: Floats
    entry: Floats
    outlet: Floats
    own: Floats

    def losses(self, flows: Floats) -> Floats:
        """Return what each stream loses by the method, or by the user's own coefficient, when all come in."""
        if self.junction == "handbook":
            losses = handbook_losses(self.density, flows, self.areas, self.entry, self.outlet)
        elif self.junction == "factored":
            losses = factored_losses(self.density, flows, self.areas, self.cosines, self.outlet)
        else:
            losses = momentum_losses(self.density, flows, self.areas, self.cosines, self.outlet)
        written = self.own * velocity_pressure(self.density, flows.sum(axis=0) / self.outlet)
        return np.where(np.isnan(self.own), losses, written)


def _pressures(
    model: Model, state: OpenState, section_loss: Floats, junction: Floats, solved: Solved
) -> tuple[Floats, Floats, Floats]:
    """Walk from the ports: suction at each section's start and end, and by how much paths disagree at wyes."""
    tree = model.tree
    pushed = own_blowers(model, state)
    start = np.zeros_like(section_loss) if pushed is None else -pushed
    end = start + section_loss
    gap = np.zeros(section_loss.shape[1])
    for _, outlet, streams, _ in tree.walk:
        arriving = np.array([end[s] + junction[s] for s in streams])
        flows = np.abs([solved.flow[s] for s in streams])
        moving = flows > 0.0
        best = np.take_along_axis(arriving, flows.argmax(axis=0)[None], 0)[0]
        best = np.where(moving.any(axis=0), best, solved.start[outlet])
        gap = np.maximum(gap, np.where(moving, np.abs(arriving - best), 0.0).max(axis=0))
        start[outlet] = best
        end[outlet] = best + section_loss[outlet]
        for place, stream in enumerate(streams):
            still = ~moving[place]
            end[stream] = np.where(still, best - junction[stream], end[stream])
    return start, end, gap


def _leak_gap(
    model: Model,
    state: OpenState,
    table: PieceTable,
    losses: Floats,
    start: Floats,
    end: Floats,
    solved: Solved,
) -> Floats:
    """Largest difference [m3/s] between a section's joint leak and the leakage law at its mean static suction."""
    density, share = model.air.density_kg_m3, model.leakage_class.value
    if share == 0.0:
        return np.asarray(np.abs(solved.leak).max(axis=0))
    first = np.array([[float(bore_area(s.start_bore_m))] for s in model.sections])
    last = np.array([[float(bore_area(s.end_bore_m))] for s in model.sections])
    port = table.by_section(
        np.where(np.array([[loss.kind == "machine"] for loss in table.losses]), losses, 0.0),
        len(model.sections),
    )
    begin = start + port + velocity_pressure(density, solved.flow / first)
    finish = end + velocity_pressure(density, solved.flow / last)
    mean = np.where(state.shut, finish, 0.5 * (begin + finish))
    still = solved.flow == 0.0
    mean = np.where(still & ~state.shut, end, mean)
    surface = np.array([[s.surface_m2()] for s in model.sections])
    after = np.array([[s.surface_m2(True)] for s in model.sections])
    expected = joint_leak(share, mean, np.where(state.shut, after, surface))
    dead = still & (solved.leak == 0.0)
    return np.asarray(np.where(dead, 0.0, np.abs(expected - solved.leak)).max(axis=0))


def _mass_gap(model: Model, flow: Floats, leaving: Floats) -> Floats:
    gap = np.zeros(flow.shape[1])
    for _, outlet, streams, _ in model.tree.walk:
        gap = np.maximum(gap, np.abs(flow[outlet] - sum(leaving[s] for s in streams)))
    return gap


def _blower_gap(flow: Floats, need: Floats, supplies: Sequence[Supply], index: NDArray[np.intp]) -> Floats:
    gap = np.zeros_like(flow)
    for number, supply in enumerate(supplies):
        mine = index == number
        if mine.any():
            offered, slope = supply.available(np.maximum(flow[mine], 0.0))
            scale = np.maximum(np.abs(offered), supply.curve.coefficients[3].max() * 1e-3) + PASCAL
            scale = np.maximum(scale, STEEP * np.abs(slope) * flow[mine])
            gap[mine] = np.abs(offered - need[mine]) / scale
    return gap

"""Computes an answer's residuals again by another route: piece by piece from the collector up, plain formulas."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ductcalc.arrays import Flags, Floats
from ductcalc.audit.offer import PASCAL, Offer
from ductcalc.audit.opening import Asked, Opened
from ductcalc.audit.pieces import PieceTable
from ductcalc.model.model import Model
from ductcalc.model.opening import OpenState
from ductcalc.physics.conveying import loaded_duct_factor
from ductcalc.physics.junction import factored_losses, handbook_losses, momentum_losses
from ductcalc.physics.leakage import joint_leak
from ductcalc.physics.velocity import bore_area, velocity_pressure
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import Junction
from ductcalc.solve.newton import Solved

LIMIT = 1e-8


@dataclass(frozen=True)
class Audit:
    """Relative residuals (cases,): pressures along all paths, mass at every meeting, blower against need.

    right: cases (cases,) in which what is open is what was asked for, and no air flows backwards. losses: (pieces,
    cases) pressure of each piece; junction: (sections, cases) what a section's stream loses in the wye at its end;
    excess: (sections, cases) suction that is left over where a section starts, its machine's own blower counted.
    """

    pressure: Floats
    mass: Floats
    blower: Floats
    right: Flags
    losses: Floats
    junction: Floats
    excess: Floats

    @property
    def passed(self) -> Flags:
        """Cases (cases,) whose every residual is within the limit."""
        worst = np.maximum(np.maximum(self.pressure, self.mass), self.blower)
        return np.asarray(self.right & (np.nan_to_num(worst, nan=np.inf) <= LIMIT))


def audit(
    table: PieceTable,
    asked: Asked,
    state: OpenState,
    solved: Solved,
    offered_pa: Floats | None = None,
    wanted_m3_s: Floats | None = None,
) -> Audit:
    """Check solved cases: take flows, joint leaks and the suction at the collector as given, work out all else anew.

    offered_pa: (cases,) what the solver says that the collector offers at the flow found, where ducts need not take
    just that; left out, it is the suction found. wanted_m3_s: (ports, cases) what open ports are to get, where gates
    burn what a path has over; the suction is then the least at which no path lacks any.
    """
    model = table.model
    opened = table.ways.opened(asked)
    losses = table.pressures(opened, solved.flow)
    section_loss = table.by_section(losses, model.tree.size)
    leaving = solved.flow + solved.leak
    junction = junction_losses(model, leaving)
    need, flow = solved.end[model.tree.root], leaving[model.tree.root]
    start, end = _levels(model, section_loss, junction, need)
    excess = start + _own_blowers(table, opened)
    held = _at_ports(table, opened, wanted_m3_s)
    gap = _excess_gap(excess, table.ways.starting[:, None] & ~opened.still, ~np.isnan(held))
    gap = np.maximum(gap, np.where(opened.sealed, 0.0, np.abs(end - solved.end)).max(axis=0))
    mean = _mean_suction(table, opened, losses, section_loss, solved)
    leak_gap = _leak_gap(table, opened, mean, solved.leak)
    mass_gap = np.maximum(_mass_gap(model, solved.flow, leaving), _held_gap(solved.flow, held, opened.still))
    assert model.collector is not None
    offered, scale = Offer(model.collector, table.pick, asked.end).at(flow, asked.loaded)
    return Audit(
        gap / (np.abs(need) + PASCAL),
        np.maximum(mass_gap, leak_gap) / (np.abs(flow) + 1e-9),
        np.abs(offered - (need if offered_pa is None else offered_pa)) / scale,
        opened.agrees(state, model.opening.feeding(state)) & (np.minimum(solved.flow, leaving) >= 0.0).all(axis=0),
        losses,
        junction,
        excess,
    )


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
        flows = np.maximum(leaving_m3_s, 0.0)[sections]
        own = np.array([[np.nan if wye.own_k is None else wye.own_k] for wye in wyes])
        shape = _WyeShapes(model.junction, density, areas, cosines, entry, outlet, own)
        found[sections] = shape.losses(flows)
    return found


class _WyeShapes(NamedTuple):
    """Wyes of alike many streams: their method, density [kg/m3], areas [m2], cosines and coefficients."""

    junction: Junction
    density: float
    areas: Floats
    cosines: Floats
    entry: Floats
    outlet: Floats
    own: Floats

    def losses(self, flows: Floats) -> Floats:
        """Return what each stream loses by the method, or by the user's own coefficient."""
        if self.junction == "handbook":
            losses = handbook_losses(self.density, flows, self.areas, self.entry, self.outlet)
        elif self.junction == "factored":
            losses = factored_losses(self.density, flows, self.areas, self.cosines, self.outlet)
        else:
            losses = momentum_losses(self.density, flows, self.areas, self.cosines, self.outlet)
        written = self.own * velocity_pressure(self.density, flows.sum(axis=0) / self.outlet)
        return np.where(np.isnan(self.own), losses, written)


def _levels(model: Model, section_loss: Floats, junction: Floats, need: Floats) -> tuple[Floats, Floats]:
    """Walk up from the collector: suction [Pa] left at each section's start and end (sections, cases)."""
    tree = model.tree
    start, end = np.empty_like(section_loss), np.empty_like(section_loss)
    end[tree.root] = need
    start[tree.root] = need - section_loss[tree.root]
    for _, outlet, streams, _ in reversed(tree.walk):
        for stream in streams:
            end[stream] = start[outlet] - junction[stream]
            start[stream] = end[stream] - section_loss[stream]
    return start, end


def _own_blowers(table: PieceTable, opened: Opened) -> Floats:
    """Return what running machines' own blowers push [Pa] at the start of their sections."""
    found = np.zeros(opened.shut.shape)
    pushing = {key_of(m.name): m.own_blower_pa for m in table.model.shop.settings.machines if m.own_blower_pa}
    for number, port in enumerate(table.model.ports):
        if key_of(port.machine) in pushing:
            found[port.section] += opened.running[number] * pushing[key_of(port.machine)]
    return found


def _at_ports(table: PieceTable, opened: Opened, wanted_m3_s: Floats | None) -> Floats:
    """Return the flow (sections, cases) that is held at the start of a section, nan where none is."""
    held = np.full(opened.shut.shape, np.nan)
    if wanted_m3_s is not None:
        for number, section in enumerate(table.ways.port_section):
            held[section] = np.where(opened.taking[number], wanted_m3_s[number], held[section])
    return held


def _excess_gap(excess: Floats, fed: Flags, held: Flags) -> Floats:
    """Return by how much [Pa] paths disagree: none has anything over but held ones, of these one has just nothing."""
    gap = np.where(fed & ~held, np.abs(excess), 0.0).max(axis=0)
    least = np.where(held, excess, np.inf).min(axis=0)
    return np.asarray(np.maximum(gap, np.where(held.any(axis=0), np.abs(least), 0.0)))


def _mean_suction(
    table: PieceTable, opened: Opened, losses: Floats, section_loss: Floats, solved: Solved
) -> Floats:
    """Return the mean static suction [Pa] at a section's joints: behind its port, or behind its shut gate.

    It hangs on the pressures given, not on those of the walk: near a port little is left of the collector's suction,
    and of leaks that grow so steeply from nothing the walk's rounding would make too much.
    """
    model, density = table.model, table.model.air.density_kg_m3
    first = np.array([[float(bore_area(s.start_bore_m))] for s in model.sections])
    last = np.array([[float(bore_area(s.end_bore_m))] for s in model.sections])
    begin = solved.end - section_loss + velocity_pressure(density, solved.flow / first)
    for piece in table.port_pieces:
        begin[table.section[piece]] += losses[piece]
    finish = solved.end + velocity_pressure(density, solved.flow / last)
    return np.where(opened.shut, finish, 0.5 * (begin + finish))


def _leak_gap(table: PieceTable, opened: Opened, mean: Floats, leak: Floats) -> Floats:
    """Largest difference [m3/s] between a section's joint leak and the leakage law at its mean static suction."""
    share = table.pick(table.model.leakage_class)
    if share == 0.0:
        return np.asarray(np.abs(leak).max(axis=0))
    whole, behind_gate = table.surfaces_m2
    expected = joint_leak(share, mean, np.where(opened.shut, behind_gate, whole))
    return np.asarray(np.abs(np.where(opened.sealed, 0.0, expected) - leak).max(axis=0))


def _mass_gap(model: Model, flow: Floats, leaving: Floats) -> Floats:
    gap = np.zeros(flow.shape[1])
    for _, outlet, streams, _ in model.tree.walk:
        gap = np.maximum(gap, np.abs(flow[outlet] - sum(leaving[s] for s in streams)))
    return gap


def _held_gap(flow: Floats, held: Floats, still: Flags) -> Floats:
    """Largest difference [m3/s] between a flow and what is held there, none where no air can pass."""
    asked = np.where(still, 0.0, held)
    return np.asarray(np.where(np.isnan(asked), 0.0, np.abs(flow - asked)).max(axis=0))

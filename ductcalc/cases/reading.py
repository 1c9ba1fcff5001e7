"""What a solved batch says of the collector, of a case at its wanted flows, and of other flows it may settle at."""

from __future__ import annotations

import numpy as np

from ductcalc.arrays import Flags, Floats
from ductcalc.audit import audit
from ductcalc.audit.offer import Offer
from ductcalc.audit.pieces import end_velocity_pressure
from ductcalc.cases.figures import CollectorAnswer, PathAnswer, WantedAnswer
from ductcalc.cases.judged import ROUNDING
from ductcalc.cases.solving import Batch, collector_of, wanted_flows, wanted_of
from ductcalc.model.collector import FilterState, RatedPart
from ductcalc.shop.names import key_of
from ductcalc.solve.newton import Solved
from ductcalc.solve.operating import at_flow
from ductcalc.solve.supply import Supply

SAMPLES, MOST_ROUNDS = 160, 60
NEAREST = 1e-12
"""Relative width of the last step of a crossing: what the solver leaves in a pressure moves it as far."""


def collector_answer(batch: Batch, column: int, filter_state: FilterState) -> CollectorAnswer:
    """Return the collector's point of a case with an answer."""
    model = batch.model
    collector, supply = collector_of(model), batch.supply_of(column)
    offer, at = Offer(collector, batch.table.pick, batch.asked.end), batch.collector_flow[column : column + 1]
    flow = float(at[0])
    total = float(batch.solved.end[model.tree.root, column])
    kinetic = float(end_velocity_pressure(model, model.tree.root, np.array(flow)))
    bill = offer.bill(at, batch.asked.loaded[column : column + 1])
    return CollectorAnswer(
        name=collector.name,
        flow_m3_s=flow,
        inlet_static_pa=total + kinetic,
        inlet_total_pa=total,
        blower_pa=total + float(bill.lost[0]) if batch.held else float(bill.blower[0]),
        outlet_pa=float(bill.outlet[0]),
        basis=collector.basis,
        cyclone_pa=_part_pressure(offer, collector.cyclone, at),
        filter_pa=_part_pressure(offer, collector.filter_at(filter_state), at),
        left_of_curve=flow < supply.first_flow_m3_s * (1.0 - ROUNDING),
        power_w=collector.power_w(flow),
    )


def _part_pressure(offer: Offer, part: RatedPart | None, flow: Floats) -> float | None:
    return None if part is None else float(offer.taken(part, flow)[0])


def wanted_answer(batch: Batch, column: int) -> WantedAnswer:
    """Return what a case needs at its wanted flows."""
    model, wanted, number = batch.model, batch.wanted, column // len(batch.filters)
    taking = batch.state.taking[:, column]
    is_open = [m for m in model.machines if any(taking[p] for p in model.ports_of[key_of(m)])]
    flows = wanted_flows(model, batch.choices[number])
    farthest = max(is_open, key=lambda m: max(model.length_m(p) for p in model.ports_of[key_of(m)]), default=None)
    greediest = max(is_open, key=lambda m: wanted_of(model, flows, m), default=None)
    if not wanted.converged[number] or batch.refused[column]:
        return WantedAnswer(None, None, None, None, None, farthest, greediest, ())
    flow, total = float(wanted.flow_m3_s[number]), float(wanted.total_pa[number])
    supply = batch.supply_of(column)
    paths = _paths(batch, number, total)
    return WantedAnswer(
        flow_m3_s=flow,
        suction_total_pa=total,
        suction_static_pa=total + float(end_velocity_pressure(model, model.tree.root, np.array(flow))),
        margin_pa=None if flow > supply.last_flow_m3_s else float(wanted.offered_pa[column]) - total,
        worst_machine=min(paths, key=lambda path: path.excess_pa).machine if paths else None,
        farthest_machine=farthest,
        greediest_machine=greediest,
        paths=paths,
    )


def _paths(batch: Batch, number: int, total_pa: float) -> tuple[PathAnswer, ...]:
    model, found = batch.model, batch.wanted.over_pa
    over = np.where(np.abs(found) < ROUNDING * total_pa, 0.0, found)[:, number]
    return tuple(
        PathAnswer(port.machine, port.run, total_pa - float(over[p]), float(over[p]), model.length_m(p))
        for p, port in enumerate(model.ports)
        if not np.isnan(over[p])
    )


def rises(supply: Supply) -> bool:
    """Whether the suction that a supply offers rises with flow anywhere."""
    offered, _ = supply.available(supply.grid())
    return bool((np.diff(offered) > 0.0).any())


def other_crossings(batch: Batch, column: int) -> tuple[float, ...]:
    """Return the flows [m3/s] beside the operating point at which a case's ducts take what the blower offers.

    Looked for between the curve's points and 160 flows up to the last one, then closed in on.
    """
    supply = batch.supplies[batch.index[column]]
    if not rises(supply):
        return ()
    even = np.linspace(0.0, supply.last_flow_m3_s, SAMPLES + 1)
    flows = np.union1d(even, supply.curve.breaks)[1:]
    over = _over(batch, column, flows)
    own = float(batch.collector_flow[column])
    beside = (own < flows[:-1]) | (own > flows[1:])
    turns = np.flatnonzero((np.sign(over[:-1]) * np.sign(over[1:]) < 0.0) & beside)
    found = _closed_in(batch, column, flows[[turns, turns + 1]], over[[turns, turns + 1]])
    return tuple(found[_passed(batch, column, found)].tolist())


def _at(batch: Batch, column: int, flows: Floats) -> Solved:
    numbers = batch.numbers.take(np.full(len(flows), column))
    return at_flow(batch.model.tree, numbers, batch.model.junction, flows)


def _passed(batch: Batch, column: int, flows: Floats) -> Flags:
    """Return at which flows (flows,) the audit finds too that the ducts take what the blower offers."""
    columns = np.full(len(flows), column)
    asked, state = batch.asked.columns(columns), batch.state.columns(columns)
    return audit(batch.table, asked, state, _at(batch, column, flows)).passed


def _over(batch: Batch, column: int, flows: Floats) -> Floats:
    """Return the suction [Pa] that the blower offers beyond what the ducts need at flows [m3/s], nan where unknown."""
    solved = _at(batch, column, flows)
    offered, _ = batch.supplies[batch.index[column]].available(flows)
    return np.where(solved.converged, offered - solved.end[batch.model.tree.root], np.nan)


def _closed_in(batch: Batch, column: int, ends: Floats, over: Floats) -> Floats:
    """Return the zeros between two flows each (2, zeros) by the secant; an end that stays counts half (Illinois)."""
    flow = ends[0]
    for _ in range(MOST_ROUNDS if flow.size else 0):
        last, flow = flow, ends[1] - over[1] * (ends[1] - ends[0]) / (over[1] - over[0])
        if (np.abs(flow - last) <= NEAREST * flow).all():
            break
        here = _over(batch, column, flow)
        passed = np.sign(here) == np.sign(over[1])
        over = np.stack([np.where(passed, 0.5 * over[0], over[1]), here])
        ends = np.stack([np.where(passed, ends[0], ends[1]), flow])
    return np.asarray(flow[np.isfinite(flow)])

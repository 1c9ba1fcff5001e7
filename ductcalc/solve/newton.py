"""Newton's method on the linearised tree, many cases at once; each case is frozen when it has converged."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import NamedTuple

import numpy as np

from ductcalc.arrays import Flags, Floats, Places
from ductcalc.physics.leakage import LEAKAGE_EXPONENT
from ductcalc.solve.elimination import Elimination, Linear, Step
from ductcalc.solve.guess import first_flows, gathered
from ductcalc.solve.junctions import JunctionLaw, Method, junction_law
from ductcalc.solve.losses import first_root, section_losses
from ductcalc.solve.numbers import Numbers
from ductcalc.solve.tree import Tree, rows_of

TOLERANCE = 1e-11
"""Greatest relative error left in any flow or pressure, as foreseen from the last two changes."""

LAST_CHANGE = 1e-7
"""Relative change so small that rounding, not Newton's method, may decide the next one."""

LEAST_CURVATURE = 50.0
"""Error left over the square of the last change, at least: in ducts about 1 as a rule, 150 now and then."""

LEAST_SHARE, TINY_FLOW_M3_S = 1e-3, 1e-12
MOST_ITERATIONS, MOST_TURNING = 80, 30
"""Rounds after which a case is left: three to six are usual, ducts that take nothing at all need many; fewer where an
own blower pushes, as a flow that would turn round never settles."""

LEAST_KEPT, MOST_PUSHED = 0.3, 0.5
"""Share of a flow that one step leaves at least; of the greatest pressure or flow that it changes at most where an
own blower pushes."""

TINY_PRESSURE_PA = 1e-9
ROUGH_FRICTION_FACTOR = 0.02


@dataclass
class State:
    """Section flows [m3/s], pressures at their starts and ends [Pa], Colebrook roots; (rows, cases)."""

    flow: Floats
    start: Floats
    end: Floats
    root: Floats

    def take(self, columns: Places) -> State:
        """Return some cases only."""
        parts = (self.flow, self.start, self.end, self.root)
        return State(*(np.ascontiguousarray(part[:, columns]) for part in parts))


class Round(NamedTuple):
    """What a closure may look at in one iteration: the cases' columns, the state, its linear form, the sweep."""

    columns: Places
    state: State
    linear: Linear
    leak: Floats
    sweep: Elimination
    root: int

    @property
    def flow_at_collector(self) -> Floats:
        """Flow [m3/s] there now (cases,), joint leakage included."""
        flow: Floats = self.state.flow[self.root] + self.leak[self.root]
        return flow

    def line_at_collector(self) -> tuple[Floats, Floats, Floats]:
        """Return (offset, gain, end): flow there = offset + gain * pressure there; pressure now; each (cases,)."""
        change, gain = self.sweep.at_end(self.root)
        end = self.state.end[self.root]
        return self.flow_at_collector + change - gain * end, gain, end

    def back(self, end_change: Floats) -> Step:
        """Return the step for a pressure change (cases,) at the collector."""
        return self.sweep.back(end_change)


Closure = Callable[[Round], Floats]
"""Returns the pressure change (cases,) at the collector that ends an iteration."""


@dataclass
class Solved:
    """Section flows, start and end pressures, joint leaks (sections, cases); which cases converged; iterations.

    outward: the section through which air would be blown out into the room (cases,), -1 where none is: such a case
    has no answer. Of cases without an answer everything else is 0.
    """

    flow: Floats
    start: Floats
    end: Floats
    leak: Floats
    converged: Flags
    iterations: Places
    outward: Places

    @classmethod
    def empty(cls, sections: int, cases: int) -> Solved:
        """Room for so many cases, none of them converged."""
        flow, start, end, leak = (np.zeros((sections, cases)) for _ in range(4))
        whole = np.zeros(cases, dtype=np.intp)
        return cls(flow, start, end, leak, np.zeros(cases, dtype=bool), whole, whole - 1)

    def clear_unsettled(self) -> None:
        """Take back what was found of cases that have not converged."""
        for found in (self.flow, self.start, self.end, self.leak, self.iterations):
            found[..., ~self.converged] = 0

    def part(self, cases: slice | Places) -> Solved:
        """Some of the cases, in the same memory where they are a slice."""
        return Solved(*(getattr(self, field.name)[..., cases] for field in fields(self)))

    def put(self, cases: Places, found: Solved) -> None:
        """Write what was found of some cases."""
        for field in fields(self):
            getattr(self, field.name)[..., cases] = getattr(found, field.name)


def leak_kinetics(numbers: Numbers, tree: Tree) -> Floats:
    """Return what a section's flow squared takes off its joints' mean suction: kinetics, what lies ahead [Pa s2/m6]."""
    open_half, geometry = 0.5 * (1.0 - numbers.shut), numbers.geometry or tree.geometry
    first = 0.5 * numbers.density_kg_m3 / geometry.start_area_m2**2
    last = 0.5 * numbers.density_kg_m3 / geometry.end_area_m2**2
    return np.asarray(open_half * (first + numbers.before) + (1.0 - open_half) * last)


def joint_leaks(
    numbers: Numbers, kinetics: Floats, state: State, loss: Floats, slope: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return joint leaks [m3/s] with slopes in end pressure and in the section's flow; (sections, cases).

    The mean static suction is that of the stretch behind the port (or, where a gate is shut, of the section's end).
    Where a machine's own blower holds a section over the room's pressure its joints leak outwards by the same law;
    without one that happens on the way only, and they are taken as still.
    """
    half = 0.5 * (1.0 - numbers.shut)
    kinetic = kinetics * state.flow
    mean = state.end + kinetic * state.flow - half * loss
    mean_slope = 2.0 * kinetic - half * slope
    # leak = constant x suction^n; below a whisper of suction the slope of the power law has no end
    if numbers.source is None:
        safe = np.maximum(mean, TINY_PRESSURE_PA)
        leak = numbers.leak * safe**LEAKAGE_EXPONENT
        gain = np.where(mean > TINY_PRESSURE_PA, LEAKAGE_EXPONENT * leak / safe, 0.0)
    else:
        safe = np.maximum(np.abs(mean), TINY_PRESSURE_PA)
        gain = LEAKAGE_EXPONENT * numbers.leak * safe ** (LEAKAGE_EXPONENT - 1.0)
        leak = gain / LEAKAGE_EXPONENT * mean
    return leak, gain, gain * mean_slope


def start_state(
    tree: Tree, numbers: Numbers, pressure_pa: Floats, most_flow_m3_s: Floats, fixed: Floats | None = None
) -> State:
    """Guess flows and pressures from a collector's greatest pressure and most flow (cases,).

    fixed: flows (sections, cases) of sections whose flow is given, nan elsewhere.
    """
    resistance = _resistance(numbers)
    kinetic = 0.5 * numbers.density_kg_m3 / (numbers.geometry or tree.geometry).end_area_m2 ** 2
    shape = (tree.size, len(pressure_pa))
    leaves = np.broadcast_to(np.where(numbers.closed, 0.0, 1.0 / np.sqrt(resistance + kinetic)), shape)
    if fixed is None:
        flow, end = first_flows(tree, leaves, resistance, pressure_pa, most_flow_m3_s)
    else:
        end = np.broadcast_to(0.5 * pressure_pa, shape).copy()
        flow = gathered(tree, np.where(np.isnan(fixed), leaves * np.sqrt(end), fixed), np.zeros((tree.size, 1)))
    start = np.zeros_like(flow) if numbers.source is None else np.broadcast_to(-numbers.source, shape).copy()
    return State(flow, start, end, first_root(numbers.friction, flow))


def _resistance(numbers: Numbers) -> Floats:
    """Rough resistance of every section [Pa s2/m6], (sections, 1 or cases): a loss as a square of the flow."""
    rows = numbers.friction
    cases = max(numbers.fixed.shape[1], rows.loss.shape[1])
    resistance = np.broadcast_to(numbers.fixed, (len(numbers.fixed), cases)).copy()
    for stretch in rows.rounds:
        resistance[rows.section[stretch]] += ROUGH_FRICTION_FACTOR * rows.loss[stretch]
    return resistance if numbers.power is None else resistance + numbers.power


def linearise(
    tree: Tree, numbers: Numbers, kinetics: Floats | None, law: JunctionLaw, state: State
) -> tuple[Linear, Floats, Floats]:
    """Return the linearised tree at a state, the joint leaks and the new Colebrook roots.

    kinetics: of joint leaks (`leak_kinetics`), None where no joint leaks.
    """
    root, loss, slope = section_losses(numbers, state.root, state.flow)
    if kinetics is not None:
        leak, leak_gain, leak_flow_gain = joint_leaks(numbers, kinetics, state, loss, slope)
    else:
        leak = leak_gain = leak_flow_gain = np.zeros_like(state.flow)
    # pressures are suctions, so a section's loss is the rise from its start to its end; what leaves a section has its
    # joints' air in it, and that is what the wye sees
    leaving = state.flow + leak
    stream_flow = rows_of(leaving, tree.stream_section)
    outlet_flow = rows_of(state.flow, tree.outlet_section)
    density = numbers.density_kg_m3 if numbers.wye_load is None else numbers.density_kg_m3 * numbers.wye_load
    streams = law.evaluate(density, stream_flow, outlet_flow)
    outlet_start = rows_of(state.start, tree.outlet_section)
    pressure_gap = state.start + loss - state.end
    # a section behind a port starts at the room's pressure: its flow follows the pressure at its end alone
    leaf_gain = np.where(numbers.closed, 0.0, 1.0 / np.maximum(slope, 1e-6))
    linear = Linear(
        leaf_offset=-leaf_gain * pressure_gap,
        leaf_gain=leaf_gain,
        slope=slope,
        pressure_gap=pressure_gap,
        leak_gain=leak_gain,
        leak_flow_gain=leak_flow_gain,
        streams=streams,
        stream_gap=rows_of(state.end, tree.stream_section) + streams.loss - rows_of(outlet_start, tree.stream_wye),
        flow_gap=tree.sum_streams(stream_flow) - outlet_flow,
    )
    return linear, leak, root


def _advance(state: State, step: Step, root: Floats, pushed: bool) -> State:
    """Take the step; a flow never falls by more than seven tenths at once, so that none turns negative.

    Nor does a suction, whose leaks would change too steeply. Where a machine's own blower pushes a suction may turn
    round, and the whole step is cut short instead, since far from the solution the slopes foresee little.
    """
    if pushed:
        flows, pressures = (np.abs(part).max(axis=0) for part in (step.flow, step.end))
        scale = np.abs(state.end).max(axis=0) + np.abs(state.start).max(axis=0)
        # one share for the whole step keeps its direction, so that mass stays in balance at the wyes
        times = np.maximum(flows / state.flow.max(axis=0), pressures / scale) / MOST_PUSHED
        share = 1.0 / np.maximum(1.0, times)
        step = Step(share * step.flow, share * step.end, share * step.start)
    flow = np.maximum(state.flow + step.flow, LEAST_KEPT * state.flow)
    end = state.end + step.end
    if not pushed:
        np.maximum(end, LEAST_KEPT * state.end, out=end)
    return State(flow, state.start + step.start, end, root)


def _change(state: State, step: Step) -> Floats:
    """Return each case's greatest relative change (cases,), flow by flow and of the pressures."""
    size = np.abs(state.flow)
    size += LEAST_SHARE * size.max(axis=0) + TINY_FLOW_M3_S
    flow_change = (np.abs(step.flow) / size).max(axis=0)
    pressure_scale = np.abs(state.end).max(axis=0) + TINY_PRESSURE_PA
    change: Floats = np.maximum(flow_change, np.abs(step.end).max(axis=0) / pressure_scale)
    return change


def _error_left(change: Floats, before: Floats) -> Floats:
    """Foresee the next change (cases,): Newton's method squares it, times what the last two changes show.

    Where a law has a kink the method does not square it, and that factor says so.
    """
    left: Floats = change * change * np.maximum(change / (before * before), LEAST_CURVATURE)
    return left


def iterate(
    tree: Tree, numbers: Numbers, method: Method, state: State, closure: Closure, done: Solved
) -> None:
    """Run Newton's method until each case has settled, and write it into `done`.

    `closure` ends each iteration at the collector. A case that runs away is left unconverged, without warnings, and
    as it was last.
    """
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        _iterate(tree, numbers, method, state, closure, done)


def _iterate(
    tree: Tree, numbers: Numbers, method: Method, state: State, closure: Closure, done: Solved
) -> None:
    law = junction_law(tree, method, numbers.geometry)
    kinetics = leak_kinetics(numbers, tree) if numbers.leak.any() else None
    columns = np.arange(state.flow.shape[1])
    before = np.ones(len(columns))
    most = MOST_ITERATIONS if numbers.source is None else MOST_TURNING
    for iteration in range(1, most + 1):
        linear, leak, root = linearise(tree, numbers, kinetics, law, state)
        # towards the collector all changes become a line in its pressure; the closure crosses that line with what is
        # wanted there (a blower's curve, a flow); on the way back every section gets its change
        sweep = Elimination(tree, linear, law.shared)
        turn = Round(columns, state, linear, leak, sweep, tree.root)
        step = turn.back(closure(turn))
        change = _change(state, step)
        settled = (_error_left(change, before) < TOLERANCE) | (change < LAST_CHANGE)
        state = _advance(state, step, root, numbers.source is not None)
        if settled.any() or iteration == most:
            # the leaks were taken before the step; a last step this small changes them along their slopes
            leak = leak + linear.leak_gain * step.end + linear.leak_flow_gain * step.flow
            _keep(done, state, leak, columns)
            done.converged[columns], done.iterations[columns] = settled, iteration
            going = np.flatnonzero(~settled)
            if not len(going):
                return
            # settled cases leave the arrays: what is left costs less, and no case is touched by its neighbours
            columns, state, numbers = columns[going], state.take(going), numbers.take(going)
            change = change[going]
            if kinetics is not None and kinetics.shape[1] > 1:
                kinetics = np.ascontiguousarray(kinetics[:, going])
            if numbers.geometry is not None:
                law = junction_law(tree, method, numbers.geometry)
        before = change


def _keep(done: Solved, state: State, leak: Floats, columns: Places) -> None:
    """Write cases into the result; unsettled ones are written again later, cheaper than choosing."""
    where = slice(None) if len(columns) == len(done.converged) else columns
    for kept, found in ((done.flow, state.flow), (done.start, state.start), (done.end, state.end), (done.leak, leak)):
        kept[:, where] = found

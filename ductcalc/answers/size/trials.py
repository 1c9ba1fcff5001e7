"""Many sizings of one plan solved at once: each section's numbers are made once per size and then only gathered.

What a section loses depends on its own stretch's size alone; what meets at a wye enters the solver as geometry. So a
model for each place of the longest list of sizes holds every number that any sizing needs. Not audited: for searching.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ductcalc.answers.size.stretches import Plan
from ductcalc.cases.choices import Choice, ports_running
from ductcalc.cases.judged import NO_CHIPS, ROUNDING, Yardstick, limits
from ductcalc.cases.solving import collector_of, named_and_running, wanted_flows
from ductcalc.model.model import Model, build_model
from ductcalc.model.numbers import numbers_of
from ductcalc.model.opening import OpenState
from ductcalc.shop.settings import Junction
from ductcalc.solve.geometry import Geometry
from ductcalc.solve.newton import Solved
from ductcalc.solve.numbers import FrictionRows, Numbers, side_by_side
from ductcalc.solve.operating import operating_point
from ductcalc.solve.supply import Supply

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Places = NDArray[np.intp]
COLUMNS_AT_ONCE = 4096
UNANSWERED = 2.0
"""How far a set without an answer counts as missing its wish: further than one that gets nothing."""


@dataclass(frozen=True)
class Marks:
    """What sizings come to, each (sizings, choices). solved: has an answer on the curve.

    air: air over wanted at the poorest running port, infinite where none runs. speed: speed over the one below which
    chips settle, in the slowest section, infinite where no chips pass.
    """

    solved: Flags
    air: Floats
    speed: Floats

    @property
    def missing(self) -> Floats:
        """How far each set is from being fine: the larger of both shares that lack, 0 when it is fine."""
        lacking = 1.0 - np.minimum(self.air, self.speed)
        return np.where(self.solved, np.where(lacking > ROUNDING, lacking, 0.0), UNANSWERED)

    @property
    def fine(self) -> Flags:
        """Sets in which everybody that runs is served and nothing settles."""
        return np.asarray(self.missing == 0.0)


@dataclass(frozen=True)
class Trials:
    """A plan with its choices, ready to be tried at any sizes. models: one for each place of the longest list."""

    plan: Plan
    choices: tuple[Choice, ...]
    models: tuple[Model, ...]

    @classmethod
    def of(cls, plan: Plan, choices: Sequence[Choice], junction: Junction | None) -> Trials:
        """Build the models."""
        levels = range(int(plan.ways.max(initial=1)))
        shops = [plan.with_sizes(np.minimum(plan.ways - 1, level)) for level in levels]
        return cls(plan, tuple(choices), tuple(build_model(shop, junction) for shop in shops))

    @property
    def model(self) -> Model:
        """The first of the models; they differ in bores only."""
        return self.models[0]

    @cached_property
    def state(self) -> OpenState:
        """What is open (rows, choices)."""
        return self.model.opening.state(*named_and_running(self.model, self.choices))

    @cached_property
    def supply(self) -> Supply:
        """What the collector offers with the loaded filter."""
        return collector_of(self.model).supply("loaded")

    @cached_property
    def numbers(self) -> Numbers:
        """The solver's numbers: column = place * choices + choice."""
        count = len(self.choices)
        parts = [numbers_of(model, self.state) for model in self.models]
        joined = side_by_side(parts, [count] * len(parts), [model.tree.geometry for model in self.models])
        wide = count * len(parts)
        return _each(joined, lambda array: np.broadcast_to(array, (len(array), wide)))

    @cached_property
    def wanted(self) -> Floats:
        """Air that each port wants (ports, choices)."""
        return np.column_stack([wanted_flows(self.model, choice) for choice in self.choices])

    @cached_property
    def running(self) -> Flags:
        """Ports (ports, choices) of machines that run, switched-off ones left out."""
        off = np.array([port.off for port in self.model.ports], dtype=bool)
        runs = [[choice.runs(port.machine) for choice in self.choices] for port in self.model.ports]
        return np.asarray(np.array(runs, dtype=bool).reshape(self.wanted.shape) & ~off[:, None])

    @cached_property
    def feeding(self) -> Flags:
        """Ports (ports, choices) that feed their section; of a shared hose one."""
        opening = self.model.opening
        return np.asarray(opening.place[:, None] == opening.feeding(self.state)[opening.port_section])

    @cached_property
    def needed(self) -> Floats:
        """Speed that a section's chips need (sections, choices), 0 where no chips pass."""
        judge = Yardstick(self.model)
        ranks = judge.ranks(ports_running(self.model, self.choices, self.state.taking))
        return np.where(ranks > NO_CHIPS, judge.needed_of_rank[ranks], 0.0)

    @cached_property
    def slow_area(self) -> Floats:
        """Area [m2] in which air is judged on the flat (sections, places)."""
        return np.hstack([Yardstick(model).duct_area for model in self.models])

    @cached_property
    def riser_area(self) -> Floats:
        """Area [m2] in which air is judged where it rises (sections, places); tiny where nothing rises."""
        return np.hstack([Yardstick(model).riser_area for model in self.models])

    def marks(self, places: Places, choices: Places | None = None) -> Marks:
        """Try sizings (sizings, stretches) in all choices, or in some."""
        picked = np.arange(len(self.choices)) if choices is None else choices
        step = max(1, COLUMNS_AT_ONCE // max(1, len(picked)))
        found = [self._marks(places[first : first + step], picked) for first in range(0, len(places), step)]
        if not found:
            empty = np.empty((0, len(picked)))
            return Marks(empty.astype(bool), empty, empty)
        return Marks(*(np.vstack([getattr(m, name) for m in found]) for name in ("solved", "air", "speed")))

    def _marks(self, places: Places, choices: Places) -> Marks:
        shape = (len(places), len(choices))
        level = places[:, self.plan.stretch_of].T
        column = (level[:, :, None] * len(self.choices) + choices).reshape(len(level), -1)
        solved = self._solve(column)
        root = self.model.tree.root
        last = self.supply.last_flow_m3_s * (1.0 + ROUNDING)
        good = solved.converged & (solved.flow[root] + solved.leak[root] <= last)
        flow = solved.flow.reshape(len(level), *shape)
        return Marks(good.reshape(shape), self._air(flow, choices), self._speed(flow, level, choices))

    def _solve(self, column: Places) -> Solved:
        numbers, tree = self.numbers, self.model.tree
        rows, geometry = numbers.friction, numbers.geometry
        assert geometry is not None
        of_rows = column[rows.section]
        friction = (np.take_along_axis(a, of_rows, 1) for a in (rows.loss, rows.reynolds_per_flow, rows.roughness))
        gathered = replace(
            _each(numbers, lambda array: np.take_along_axis(array, column, 1)),
            friction=FrictionRows(rows.section, *friction),
            geometry=_geometry(geometry, column, tree.outlet_section),
        )
        index = np.zeros(column.shape[1], dtype=np.intp)
        return operating_point(tree, gathered, self.model.junction, [self.supply], index)

    def _air(self, flow: Floats, choices: Places) -> Floats:
        """Return the least share of the wanted air (sizings, choices). flow: (sections, sizings, choices)."""
        air = np.full(flow.shape[1:], np.inf)
        for port, section in enumerate(self.model.opening.port_section):
            runs = self.running[port, choices]
            got = np.where(self.feeding[port, choices], flow[section], 0.0) / self.wanted[port, choices]
            air = np.where(runs, np.minimum(air, got), air)
        return air

    def _speed(self, flow: Floats, level: Places, choices: Places) -> Floats:
        slowest = np.full(flow.shape[1:], np.inf)
        for section, places in enumerate(level):
            needed = self.needed[section, choices]
            if not needed.any():
                continue
            least = np.minimum(
                flow[section] / (limits().level * self.slow_area[section, places])[:, None],
                flow[section] / (limits().riser * self.riser_area[section, places])[:, None],
            )
            slowest = np.where(needed > 0.0, np.minimum(slowest, least / np.where(needed > 0.0, needed, 1.0)), slowest)
        return slowest


def _each(numbers: Numbers, change: Callable[[NDArray[Any]], NDArray[Any]]) -> Numbers:
    """Return the numbers with every array of (sections, columns) changed."""
    return replace(
        numbers,
        fixed=change(numbers.fixed),
        before=change(numbers.before),
        shut=change(numbers.shut),
        closed=change(numbers.closed),
        leak=change(numbers.leak),
        power=None if numbers.power is None else change(numbers.power),
        source=None if numbers.source is None else change(numbers.source),
    )


def _geometry(geometry: Geometry, column: Places, outlets: Places) -> Geometry:
    """Return bores case by case; angles and written coefficients are alike in all of them."""

    def own(array: Floats, rows: Places) -> Floats:
        return array if array.shape[1] == 1 else np.take_along_axis(array, rows, 1)

    return replace(
        geometry,
        start_area_m2=own(geometry.start_area_m2, column),
        end_area_m2=own(geometry.end_area_m2, column),
        outlet_area_m2=own(geometry.outlet_area_m2, column[outlets]),
    )

"""Pressure against flow: what the blower gives, what is left of it for the duct, what the duct of each case takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ductcalc.answers.verdict import ALL_WELL, NO_ANSWER, NOT_WELL
from ductcalc.arrays import Floats
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Ask, Choice, choice_of, default_choices, no_machine
from ductcalc.cases.key_machines import key_machines
from ductcalc.cases.solving import Batch, collector_of, ducts_take_pa, solve_choices
from ductcalc.errors import InputError, Problem
from ductcalc.model.collector import ModelCollector
from ductcalc.model.model import Model, build_model
from ductcalc.physics.curve import evaluate
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop

MOST_CASES = 6
"""System curves in one chart."""
POINTS = 61
"""Flows at which a curve is told."""

CurveKind = Literal["blower", "hopeful", "clean", "dirty", "system"]
Spot = tuple[float, float]
"""A flow [m3/s] and a pressure [Pa]."""


@dataclass(frozen=True)
class ChartCurve:
    """A curve through spots. blower: on its own basis, in the shop's air; hopeful: through both advertised maxima.

    clean, dirty: total suction left for the duct behind cyclone, filter and outlet; system: what a case's duct takes.
    """

    kind: CurveKind
    spots: tuple[Spot, ...]


@dataclass(frozen=True)
class ChartCase:
    """A case: what its duct takes, and its points with the dirty and the clean filter (None without an answer)."""

    dirty: Case
    clean: Case
    curve: ChartCurve

    @property
    def meetings(self) -> tuple[Spot | None, Spot | None]:
        """Where it meets what is left, filter dirty and clean."""
        found = (case.collector for case in (self.dirty, self.clean))
        both = [None if one is None else (one.flow_m3_s, one.inlet_total_pa) for one in found]
        return both[0], both[1]

    @property
    def duty(self) -> Spot | None:
        """Flow and total suction at the duct's end that all the air wanted would need; None if none was found."""
        wanted = self.dirty.wanted
        if wanted.flow_m3_s is None or wanted.suction_total_pa is None:
            return None
        return wanted.flow_m3_s, wanted.suction_total_pa


@dataclass(frozen=True)
class Chart:
    """The collector's curves and the cases. points: of the blower in the shop's air, or the two advertised maxima.

    by_default: nobody chose the cases; they are those of the worst, the farthest and the greediest machine.
    """

    shop: str
    collector: str
    basis: str
    provisional: bool
    curves: tuple[ChartCurve, ...]
    points: tuple[Spot, ...]
    cases: tuple[ChartCase, ...]
    by_default: bool
    changes: tuple[str, ...] = ()

    @property
    def exit_code(self) -> int:
        """3 when a case has no answer with the dirty filter, 1 when something is short or settles, else 0."""
        if not all(case.dirty.solved for case in self.cases):
            return NO_ANSWER
        return ALL_WELL if all(case.dirty.well for case in self.cases) else NOT_WELL


def chart(shop: Shop, asks: Sequence[Ask | Choice] | None = None, junction: Junction | None = None) -> Chart:
    """Return the curves of a shop's collector, and of the cases asked for or those that a verdict names.

    Raises InputError as `check` does, and for more than six cases.
    """
    model = build_model(shop, junction)
    collector = collector_of(model)
    choices = _named(model) if asks is None else [choice_of(model, ask) for ask in asks]
    if len(choices) > MOST_CASES:
        raise InputError([Problem(f"{len(choices)} cases are too many for one chart", f"ask for {MOST_CASES} at most")])
    return chart_of(collector, solve_choices(model, choices), asks is None)


def chart_of(collector: ModelCollector, batch: Batch, by_default: bool = False) -> Chart:
    """Return the chart of cases that are solved already, each with the dirty and the clean filter."""
    cases = read_cases(batch)
    model = batch.model
    return Chart(
        shop=model.shop.name,
        collector=collector.name,
        basis=collector.basis,
        provisional=collector.provisional,
        curves=tuple(_curves(collector)),
        points=_points(collector),
        cases=tuple(
            ChartCase(dirty, clean, _system(batch, 2 * number))
            for number, (dirty, clean) in enumerate(zip(cases[0::2], cases[1::2], strict=True))
        ),
        by_default=by_default,
        changes=model.shop.changes,
    )


def _named(model: Model) -> list[Choice]:
    """Return the cases of the machines that a verdict names: worst, farthest, greediest."""
    choices = default_choices(model)
    if not choices:
        raise no_machine(model)
    farthest, worst, greediest = key_machines(model, read_cases(solve_choices(model, choices, ("loaded",))))
    names = dict.fromkeys(key.case for key in (worst, farthest, greediest))
    return [next(choice for choice in choices if choice.name == name) for name in names]


def _curves(collector: ModelCollector) -> list[ChartCurve]:
    scale = collector.air.density_kg_m3 / collector.rated.density_kg_m3
    curve = collector.blower_curve()
    flows = np.linspace(0.0, float(curve.breaks[-1]), POINTS)
    found = [ChartCurve("blower", _spots(flows, np.asarray(evaluate(curve, flows)[0]) * scale))]
    if collector.provisional:
        high = collector.blower_curve("high")
        far = np.linspace(0.0, float(high.breaks[-1]), POINTS)
        found.append(ChartCurve("hopeful", _spots(far, np.asarray(evaluate(high, far)[0]) * scale)))
    for kind, state in (("clean", "clean"), ("dirty", "loaded")):
        left = collector.supply(state).available(flows)[0]  # type: ignore[arg-type]
        found.append(ChartCurve(kind, _spots(flows, left)))  # type: ignore[arg-type]
    return found


def _points(collector: ModelCollector) -> tuple[Spot, ...]:
    scale = collector.air.density_kg_m3 / collector.rated.density_kg_m3
    written, both = collector.collector.blower, collector.collector.advertised
    if written:
        return tuple((point.flow_m3_s, point.pressure_pa * scale) for point in written)
    assert both is not None
    return (0.0, both.pressure_pa * scale), (both.flow_m3_s, 0.0)


def _system(batch: Batch, column: int) -> ChartCurve:
    last = batch.supply_of(column).last_flow_m3_s
    flows = np.linspace(0.0, last, POINTS)[1:]
    return ChartCurve("system", _spots(flows, ducts_take_pa(batch, column, flows)))


def _spots(flows: Floats, pressures: Floats) -> tuple[Spot, ...]:
    """Return flows and pressures as spots, those left out where nothing is known or pulled."""
    both = zip(flows.tolist(), pressures.tolist(), strict=True)
    return tuple((flow, pressure) for flow, pressure in both if pressure >= 0.0)

"""What a collector must do: air, suction and fan pressure at the wanted flows, whether one is there or not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ductcalc.answers.columns import Column, Columns, within
from ductcalc.answers.need.candidates import CandidateCollector, candidates_of
from ductcalc.answers.need.system_curve import CurvePoint, system_curve
from ductcalc.answers.need.throttling import Balance, Throttle, balance_of, throttles
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Ask, Choice, choice_of, default_choices, no_machine, usable_machines
from ductcalc.cases.figures import PathAnswer, SectionAnswer
from ductcalc.cases.solving import Batch, collector_of, needing, solve_held
from ductcalc.cases.worth import JUNCTIONS
from ductcalc.catalog import cite, fact
from ductcalc.errors import InputError, Problem
from ductcalc.model.air import Air
from ductcalc.model.assumption import Assumption
from ductcalc.model.decided import leaning
from ductcalc.model.model import Model, build_model
from ductcalc.model.no_blower import without_blower
from ductcalc.physics.velocity import velocity, velocity_pressure
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop

if TYPE_CHECKING:
    import pandas


Range = tuple[float, float]
ALIKE = 0.01
"""Share by which two cases may differ and ask the same of a blower: our judgement, no source."""
FAR_BEYOND = 1.1
"""Times the highest speed of a main from which on wider pipe is spoken of: our judgement, no source."""
OUTLET = "blower's outlet"
OUTLET_TEXT = "outlet not stated: no duct behind the blower, whose outlet is as wide as the duct's end"


@dataclass(frozen=True)
class BranchNeed:
    """A port's path at the wanted flows: total suction [Pa] at the collector that it needs, what it then has over.

    gate_opening: opening [1] of the gate that burns what it has over, 1 where that is nothing, None without a gate.
    left_pa: what no gate on its way burns [Pa]. length_m: of pipe and hose to the collector.
    """

    machine: str
    run: str
    need_pa: float
    excess_pa: float
    gate_opening: float | None
    gate_run: str | None
    left_pa: float
    length_m: float


@dataclass(frozen=True)
class CaseNeed:
    """What a blower must give for one case. Pressures are None where no suction draws the wanted flows.

    flow_m3_s: air at the collector's inlet, leaks in. static_pa, total_pa: suction there. cyclone_pa, filter_pa (dirty)
    and outlet_pa: taken beyond. fan_static_pa, fan_total_pa: asked of the blower in the shop's air; rated_static_pa:
    fan static pressure at the air for which curves are given. worst: the path with nothing over.
    """

    case: Case
    flow_m3_s: float | None = None
    static_pa: float | None = None
    total_pa: float | None = None
    cyclone_pa: float | None = None
    filter_pa: float | None = None
    outlet_pa: float | None = None
    fan_static_pa: float | None = None
    fan_total_pa: float | None = None
    rated_static_pa: float | None = None
    worst: PathAnswer | None = None
    paths: tuple[BranchNeed, ...] = ()
    throttles: tuple[Throttle, ...] = ()

    @property
    def solved(self) -> bool:
        """Whether it has an answer."""
        return self.fan_static_pa is not None

    @property
    def too_fast(self) -> SectionAnswer | None:
        """The section in which air runs fastest, where that is clearly beyond what a main should have; None else."""
        fastest = max(self.case.sections, key=lambda section: section.velocity_m_s, default=None)
        most = FAR_BEYOND * fact("parts", "main speed").high
        return None if fastest is None or not self.solved or fastest.velocity_m_s <= most else fastest

    def covers(self, other: CaseNeed) -> bool:
        """Whether a blower that does this case does another one, but for what no figure shows."""
        mine, others = (self.flow_m3_s, self.fan_static_pa), (other.flow_m3_s, other.fan_static_pa)
        return all((m or 0.0) >= (1.0 - ALIKE) * (o or 0.0) for m, o in zip(mine, others, strict=True))


@dataclass(frozen=True)
class NeedWorth:
    """An assumption, and the fan static pressure [Pa] to ask for at its two ends (None: no band or no answer)."""

    assumption: Assumption
    low_pa: float | None
    high_pa: float | None


@dataclass(frozen=True)
class MethodNeed:
    """The fan static pressure [Pa] to ask for by another wye method."""

    method: str
    fan_static_pa: float | None


@dataclass(frozen=True)
class Need:
    """What a collector must do. deciding: the cases of which none covers another one, highest pressure first.

    range_pa: fan static pressure [Pa] of the first of them when everything assumed errs as is likely: the swings of all
    assumptions added as squares.
    """

    shop: str
    junction: Junction
    cases: tuple[CaseNeed, ...]
    deciding: tuple[CaseNeed, ...]
    range_pa: Range | None
    assumptions: tuple[NeedWorth, ...]
    methods: tuple[MethodNeed, ...]
    candidates: tuple[CandidateCollector, ...]
    always_open: tuple[str, ...]
    by_default: bool
    air: Air
    remarks: tuple[str, ...]
    changes: tuple[str, ...] = ()
    balances: tuple[Balance, ...] = ()
    curve: tuple[CurvePoint, ...] = ()

    @property
    def unanswered(self) -> tuple[CaseNeed, ...]:
        """Cases in which no suction draws the wanted flows."""
        return tuple(case for case in self.cases if not case.solved)

    @property
    def settling(self) -> tuple[CaseNeed, ...]:
        """Cases in which chips settle at the wanted flows."""
        return tuple(case for case in self.cases if case.solved and case.case.chips == "settles")

    @property
    def exit_code(self) -> int:
        """3 when a case has no answer; the best candidate's; else 1 when chips settle at the wanted flows."""
        if self.unanswered:
            return 3
        if self.candidates:
            return min(candidate.exit_code for candidate in self.candidates)
        return 1 if self.settling else 0

    def frame(self) -> pandas.DataFrame:
        """Return a row for each open branch of each case as a pandas table, the unit in every column name."""
        from ductcalc.answers.columns import frame

        return frame(BRANCHES, branch_lines(self.cases))


def need(
    shop: Shop,
    asks: Sequence[Ask | Choice] | None = None,
    junction: Junction | None = None,
    collectors: Sequence[tuple[str, Shop]] = (),
    balance: bool = False,
    curve: bool = False,
) -> Need:
    """Return what a collector must do for every machine alone and every named set, or for what is asked for.

    collectors: the same shop with other collector tables, each with a name. One that the shop has is held against the
    need as well. balance: how gates share out the air of cases with several open machines. curve: also each case's
    system curve.

    Raises InputError when the shop cannot be hung together.
    """
    plain = build_model(shop, junction)
    choices = _choices(plain, asks)
    model = needing(plain, choices)
    batch = solve_held(model, choices)
    cases = tuple(case_need(batch, number) for number in range(len(choices)))
    deciding = deciding_of(cases)
    worths, methods = _worth(model, choices[cases.index(deciding[0])]) if deciding else ((), ())
    collector = collector_of(model)
    own = [(f"the shop's own {plain.collector.name}", shop)] if plain.collector is not None else []
    return Need(
        shop=shop.name,
        junction=model.junction,
        cases=cases,
        deciding=deciding,
        range_pa=_range(deciding[0], worths) if deciding else None,
        assumptions=worths,
        methods=methods,
        candidates=candidates_of([*own, *collectors], shop, choices, model.junction),
        always_open=model.always_open,
        by_default=asks is None,
        air=model.air,
        remarks=(*shop.remarks, *collector.remarks),
        changes=shop.changes,
        balances=_balances(plain, batch) if balance else (),
        curve=tuple(point for choice in choices for point in system_curve(model, choice)) if curve else (),
    )


def _balances(plain: Model, batch: Batch) -> tuple[Balance, ...]:
    several = [number for number, case in enumerate(read_cases(batch)) if len(case.open) > 1]
    return tuple(balance_of(plain, batch, number) for number in several)


def _choices(model: Model, asks: Sequence[Ask | Choice] | None) -> tuple[Choice, ...]:
    if not usable_machines(model):
        raise no_machine(model)
    if asks is None:
        return tuple(choice for choice in default_choices(model) if choice.machines)  # a named set may open nothing
    choices = tuple(choice_of(model, ask) for ask in asks)
    if not choices or not all(choice.machines for choice in choices):
        raise InputError([Problem("no machine is open in this choice", "name machines, or leave the choice out")])
    return choices


def case_need(batch: Batch, number: int) -> CaseNeed:
    """Return what a blower must give for a case of a batch at its wanted flows."""
    case = read_cases(batch)[number]
    point, wanted = case.collector, case.wanted
    if point is None or wanted.suction_total_pa is None:
        return CaseNeed(case)
    found = throttles(batch, number)
    model, density = batch.model, batch.model.air.density_kg_m3
    leaving = float(velocity_pressure(density, velocity(point.flow_m3_s, _outlet_bore_m(model))))
    return CaseNeed(
        case,
        flow_m3_s=point.flow_m3_s,
        static_pa=point.inlet_static_pa,
        total_pa=point.inlet_total_pa,
        cyclone_pa=point.cyclone_pa,
        filter_pa=point.filter_pa,
        outlet_pa=point.outlet_pa,
        fan_static_pa=point.blower_pa,
        fan_total_pa=point.blower_pa + leaving,
        rated_static_pa=point.blower_pa * collector_of(model).rated.density_kg_m3 / density,
        worst=min(wanted.paths, key=lambda path: path.excess_pa),
        paths=tuple(_branch(batch, number, port, found) for port in _open_ports(batch, number)),
        throttles=tuple(found.values()),
    )


def _outlet_bore_m(model: Model) -> float:
    """Return the bore [m] of the blower's outlet; without one that was written, that of the duct's end."""
    return collector_of(model).outlet_bore_m or model.sections[model.tree.root].end_bore_m


def _open_ports(batch: Batch, number: int) -> list[int]:
    return [int(port) for port in np.flatnonzero(~np.isnan(batch.wanted.over_pa[:, number]))]


def _branch(batch: Batch, number: int, port: int, found: dict[int, Throttle]) -> BranchNeed:
    model, total = batch.model, float(batch.wanted.total_pa[number])
    paths = {(path.machine, path.run): path for path in read_cases(batch)[number].wanted.paths}
    path = paths[model.ports[port].machine, model.ports[port].run]
    way = model.path(port)
    mine = [found[section] for section in way if section in found]
    gates = [section for section in way if model.sections[section].gates]
    return BranchNeed(
        machine=path.machine,
        run=path.run,
        need_pa=total - path.excess_pa,
        excess_pa=path.excess_pa,
        gate_opening=mine[0].opening if mine else 1.0 if gates else None,
        gate_run=mine[0].run if mine else None,
        left_pa=max(path.excess_pa - sum(one.burnt_pa for one in mine), 0.0),
        length_m=path.length_m,
    )


def deciding_of(cases: Sequence[CaseNeed]) -> tuple[CaseNeed, ...]:
    """Return the cases that no other one covers, highest pressure first; of two alike the first."""
    solved = [case for case in cases if case.solved]
    kept: list[CaseNeed] = []
    for case in sorted(solved, key=lambda c: (-(c.fan_static_pa or 0.0), -(c.flow_m3_s or 0.0))):
        if not any(other.covers(case) for other in kept):
            kept.append(case)
    return tuple(kept)


def _worth(model: Model, choice: Choice) -> tuple[tuple[NeedWorth, ...], tuple[MethodNeed, ...]]:
    """Return what the pressure asked for in a case is worth under each assumption, and by the other wye methods."""

    def end(key: str, side: str) -> float | None:
        return case_need(solve_held(model, [choice], leaning(key, side)), 0).fan_static_pa

    worths = tuple(
        NeedWorth(one, end(one.key, "low"), end(one.key, "high")) if one.banded else NeedWorth(one, None, None)
        for one in (*model.assumptions, *_outlet(model))
    )
    others = [junction for junction in JUNCTIONS if junction != model.junction]
    return worths, tuple(MethodNeed(other, _by_method(model, choice, other)) for other in others)


def _outlet(model: Model) -> tuple[Assumption, ...]:
    if collector_of(model).outlet_bore_m is not None:
        return ()
    return (Assumption(OUTLET, OUTLET_TEXT, banded=False, source=cite("practice")),)


def _by_method(model: Model, choice: Choice, junction: Junction) -> float | None:
    other = build_model(model.shop, junction, loading=model.loading, hanging=model.hanging)
    parts = without_blower(other, collector_of(model).collector.usual_flow_m3_s or 0.0)
    return case_need(solve_held(parts, [choice]), 0).fan_static_pa


def _range(deciding: CaseNeed, worths: Sequence[NeedWorth]) -> Range | None:
    """Return the pressure [Pa] less and more the swings of all assumptions, which are independent: added as squares."""
    middle = deciding.fan_static_pa or 0.0
    ends = [(worth.low_pa, worth.high_pa) for worth in worths if worth.low_pa is not None and worth.high_pa is not None]
    if not ends:
        return None
    down = sum(max(middle - min(pair), 0.0) ** 2 for pair in ends) ** 0.5
    up = sum(max(max(pair) - middle, 0.0) ** 2 for pair in ends) ** 0.5
    return middle - down, middle + up


FIGURES: Columns[CaseNeed] = (
    Column("flow", lambda case: case.flow_m3_s, "flow", "air"),
    Column("static", lambda case: case.static_pa, "pressure", "suction", 6, csv="static_suction"),
    Column("total", lambda case: case.total_pa, "pressure", "total\nsuction", 0, csv="total_suction"),
    Column("cyclone", lambda case: case.cyclone_pa, "pressure"),
    Column("filter", lambda case: case.filter_pa, "pressure"),
    Column("outlet", lambda case: case.outlet_pa, "pressure"),
    Column("fan_static", lambda case: case.fan_static_pa, "pressure", "fan static\nhere", 2),
    Column("fan_total", lambda case: case.fan_total_pa, "pressure", "fan total\nhere", 1),
    Column("rated_static", lambda case: case.rated_static_pa, "pressure", "fan static", csv="fan_static_on_paper"),
)
"""What a blower must give; the last one is the fan static pressure at the air for which curves are given."""

BRANCH: Columns[BranchNeed] = (
    Column("machine", lambda path: path.machine),
    Column("run", lambda path: path.run),
    Column("need", lambda path: path.need_pa, "pressure", "needs"),
    Column("excess", lambda path: path.excess_pa, "pressure", "over"),
    Column("gate_opening", lambda path: path.gate_opening, "share"),
    Column("gate_run", lambda path: path.gate_run),
    Column("left", lambda path: path.left_pa, "pressure"),
    Column("length", lambda path: path.length_m, "length"),
)
CURVE: Columns[CurvePoint] = (
    Column("case", lambda point: point.case),
    Column("share", lambda point: point.share, "share", csv="share_of_wanted"),
    Column("flow", lambda point: point.flow_m3_s, "flow", "flow"),
    Column("static", lambda point: point.static_pa, "pressure", "suction", 1, csv="static_suction"),
    Column("total", lambda point: point.total_pa, "pressure", "total\nsuction", 0, csv="total_suction"),
    Column("fan_static", lambda point: point.fan_static_pa, "pressure", "fan static"),
    Column(
        "open_fan_static",
        lambda point: point.open_fan_static_pa,
        "pressure",
        "gates fully\nopen",
        csv="fan_static_gates_fully_open",
    ),
)


class BranchLine(NamedTuple):
    """A branch in its case; None where the case has no answer."""

    case: CaseNeed
    path: BranchNeed | None


BRANCHES: Columns[BranchLine] = (
    Column("case", lambda line: line.case.case.name),
    Column("status", lambda line: line.case.case.status),
    *within(BranchLine, lambda line: line.case, FIGURES),
    Column("chips", lambda line: line.case.case.chips),
    *within(BranchLine, lambda line: line.path, BRANCH),
    Column("decides", lambda line: None if line.path is None else line.path.excess_pa == 0.0),
)


def branch_lines(cases: tuple[CaseNeed, ...]) -> list[BranchLine]:
    """Return a line for each open branch of each case, one for a case without an answer."""
    return [BranchLine(case, path) for case in cases for path in case.paths or (None,)]

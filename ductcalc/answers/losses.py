"""Where the pressure goes: the way of one machine's air, piece by piece, from port to collector."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import (
    Ask,
    Choice,
    choice_of,
    choose_open,
    every_machine_alone,
    no_machine,
    usable_machines,
)
from ductcalc.cases.key_machines import key_machines
from ductcalc.cases.solving import Batch, solve_choices
from ductcalc.errors import InputError, Problem
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import found_in
from ductcalc.model.collector import ChargedPart, ModelCollector, Part
from ductcalc.model.loss import Loss
from ductcalc.model.model import Model, build_model
from ductcalc.physics.velocity import bore_area
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop

if TYPE_CHECKING:
    import pandas

LossGroup = Literal[
    "machine", "hose", "pipe", "elbow", "reducer", "gate", "other", "wye", "cyclone", "filter", "outlet"
]


@dataclass(frozen=True)
class LossRow:
    """One piece on the way: flow, speed, VP, coefficient and its source, loss, running totals.

    coefficient: loss over VP, None where VP is not defined (cyclone, filter). running_total_pa and
    running_static_pa: suction just behind the piece, total and static (positive). share: of all losses on the way.
    shared_by: machines whose air also passes here in this case.
    """

    group: LossGroup
    label: str
    section: str
    place: str | None
    bore_m: float | None
    length_m: float
    flow_m3_s: float
    velocity_m_s: float | None
    vp_pa: float | None
    coefficient: float | None
    reason: str
    source: str
    loss_pa: float
    running_total_pa: float
    running_static_pa: float | None
    share: float
    shared_by: tuple[str, ...]
    assumed: bool


@dataclass(frozen=True)
class Losses:
    """The branch loss report of one machine's port in one case, at the flows that really run (loaded filter)."""

    shop: str
    machine: str
    run: str
    case: Case
    rows: tuple[LossRow, ...]
    junction: Junction
    changes: tuple[str, ...] = ()
    findings: Findings = NOTHING_SEEN

    @property
    def total_pa(self) -> float:
        """All losses on the way [Pa], cyclone, filter and outlet included."""
        return sum(row.loss_pa for row in self.rows)

    def by_group(self) -> tuple[tuple[LossGroup, float, float], ...]:
        """Return (group, loss [Pa], share) of each kind, largest first."""
        sums: dict[LossGroup, float] = {}
        for row in self.rows:
            sums[row.group] = sums.get(row.group, 0.0) + row.loss_pa
        total = self.total_pa or 1.0
        return tuple((g, p, p / total) for g, p in sorted(sums.items(), key=lambda pair: -pair[1]))

    def largest_first(self) -> tuple[LossRow, ...]:
        """Return the rows by loss, largest first."""
        return tuple(sorted(self.rows, key=lambda row: -row.loss_pa))

    def frame(self) -> pandas.DataFrame:
        """Return the rows as a pandas table, the unit in every column name."""
        from ductcalc.answers.frames import losses_frame

        return losses_frame(self)


def losses(
    shop: Shop, ask: Ask | Choice | None = None, machine: str | None = None, junction: Junction | None = None
) -> Losses:
    """Return where the pressure goes for a machine in a case.

    Without a choice the machine is alone; without a machine the worst one of the choice, or of all alone.
    Raises InputError for an unknown machine, or one that is not open in the choice, and where none can be opened.
    """
    model = build_model(shop, junction)
    if not usable_machines(model):
        raise no_machine(model)
    if machine is not None:
        machine = choose_open(model, [machine]).machines[0]
    if ask is not None:
        choices: tuple[Choice, ...] = (choice_of(model, ask),)
    else:
        choices = every_machine_alone(model) if machine is None else (choose_open(model, [machine]),)
    if not choices[0].machines:
        open_one = f"open at least one of: {', '.join(usable_machines(model))}"
        raise InputError([Problem("no machine is open in this choice", open_one)])
    if machine is not None and not choices[0].asks(machine):
        raise InputError(
            [
                Problem(
                    f'"{machine}" is not open in this choice',
                    f"open are: {', '.join(choices[0].machines)}",
                    given=machine,
                )
            ]
        )
    batch = solve_choices(model, choices, ("loaded",))
    cases = read_cases(batch)
    _, worst, _ = key_machines(model, cases)
    name = machine or worst.machine
    number = next(n for n, c in enumerate(cases) if c.name == worst.case) if ask is None else 0
    case = cases[number]
    if not case.solved:
        return Losses(shop.name, name, "", case, (), model.junction, shop.changes)
    port = _poorest_port(model, case, name)
    rows = _rows(batch, number, port)
    seen = found_in(model, choices[number : number + 1], [case])
    return Losses(shop.name, name, model.ports[port].run, case, rows, model.junction, shop.changes, seen)


def _poorest_port(model: Model, case: Case, machine: str) -> int:
    answer = next(m for m in case.machines if key_of(m.machine) == key_of(machine))
    poorest = min(answer.ports, key=lambda port: port.flow_m3_s / port.wanted_m3_s)
    return next(p for p in model.ports_of[key_of(machine)] if model.ports[p].run == poorest.run)


@dataclass
class _Walk:
    """Running totals along the way."""

    total_pa: float = 0.0


def _rows(batch: Batch, column: int, port: int) -> tuple[LossRow, ...]:
    model, walk = batch.model, _Walk()
    found: list[LossRow] = []
    passing = _passing(model, batch, column)
    path = model.path(port)
    for section in path:
        found += _section_rows(batch, column, section, walk, passing[section])
        if section != path[-1]:
            found.append(_wye_row(batch, column, section, walk, passing))
    found += _collector_rows(batch, column, walk, passing[path[-1]])
    whole = sum(row.loss_pa for row in found) or 1.0
    return tuple(replace(row, share=row.loss_pa / whole) for row in found)


def _passing(model: Model, batch: Batch, column: int) -> list[tuple[str, ...]]:
    """Return for each section the open machines whose air passes it."""
    names: list[dict[str, None]] = [{} for _ in model.sections]
    for number, port in enumerate(model.ports):
        if batch.state.taking[number, column]:
            for section in model.path(number):
                names[section][port.machine] = None
    return [tuple(found) for found in names]


def _section_rows(batch: Batch, column: int, section: int, walk: _Walk, passing: tuple[str, ...]) -> Iterable[LossRow]:
    model, table = batch.model, batch.table
    flow = float(batch.solved.flow[section, column])
    feeding = int(model.opening.feeding(batch.state)[section, column])
    for piece in np.flatnonzero(table.section == section):
        if table.head[piece] not in (-1, feeding):
            continue
        loss = table.losses[piece]
        yield _piece_row(model, loss, section, flow, float(batch.audit.losses[piece, column]), walk, passing)


def _piece_row(
    model: Model,
    loss: Loss,
    section: int,
    flow: float,
    pressure: float,
    walk: _Walk,
    passing: tuple[str, ...],
) -> LossRow:
    speed = flow / float(bore_area(loss.bore_m))
    vp = 0.5 * model.air.density_kg_m3 * speed**2
    walk.total_pa += pressure
    after = _bore_after(model, loss, section)
    static = walk.total_pa + 0.5 * model.air.density_kg_m3 * (flow / float(bore_area(after))) ** 2
    reason, source = _why(loss)
    return LossRow(
        loss.kind,
        loss.label,
        model.sections[section].name,
        str(loss.place) if loss.place else None,
        loss.bore_m,
        loss.length_m,
        flow,
        speed,
        vp,
        pressure / vp if vp > 0.0 else None,
        reason,
        source,
        pressure,
        walk.total_pa,
        static,
        0.0,
        passing if len(passing) > 1 else (),
        loss.assumed,
    )


def _bore_after(model: Model, loss: Loss, section: int) -> float:
    """Bore [m] behind a piece: a reducer leads from one of its bores to the other."""
    if loss.kind != "reducer":
        return loss.bore_m
    pieces = model.sections[section].losses()
    place = next((n for n, other in enumerate(pieces) if other is loss), len(pieces) - 1)
    following = next((other for other in pieces[place + 1 :] if other.kind != "reducer"), None)
    return following.bore_m if following else model.sections[section].end_bore_m


def _coefficient(k: float) -> str:
    """Show a coefficient to three digits, written out."""
    return f"{k:.3g}" if abs(k) < 1000.0 else f"{float(f'{k:.3g}'):.0f}"


def _why(loss: Loss) -> tuple[str, str]:
    """Return what a loss is made of, and the sources of its numbers."""
    reasons, sources = [], []
    if loss.has_friction:
        assert loss.roughness_m is not None and loss.factor is not None
        rough = loss.roughness_m
        times = "" if loss.factor.value == 1.0 else f"{loss.factor.value:g} x "
        reasons.append(f"{times}friction, roughness {rough.value * 1000:.3g} mm")
        sources += [rough.source] + ([loss.factor.source] if loss.factor.value != 1.0 else [])
    if loss.k is not None:
        reasons.append(f"{loss.k.reason}, {_coefficient(loss.k.value)} VP")
        sources.append(loss.k.source)
    return "; ".join(reasons), "; ".join(dict.fromkeys(sources))


def _wye_row(batch: Batch, column: int, section: int, walk: _Walk, passing: list[tuple[str, ...]]) -> LossRow:
    model = batch.model
    number = next(n for n, shape in enumerate(model.tree.wyes) if section in shape.streams)
    wye, shape = model.wyes[number], model.tree.wyes[number]
    place = shape.streams.index(section)
    pressure = float(batch.audit.junction[section, column])
    walk.total_pa += pressure
    flow = float(batch.solved.flow[shape.outlet, column])
    speed = flow / shape.outlet_area_m2
    vp = 0.5 * model.air.density_kg_m3 * speed**2
    way = "straight on" if shape.straight[place] else f"branch, {shape.angles_deg[place]:g} degrees"
    dragged = "; the faster stream drags this one along" if pressure < 0.0 else ""
    return LossRow(
        "wye",
        f"wye, {way}",
        model.sections[shape.outlet].name,
        str(wye.hung.piece.place) if wye.hung.piece.place else None,
        wye.hung.bore_m,
        0.0,
        flow,
        speed,
        vp,
        pressure / vp if vp > 0.0 else None,
        f"{model.junction} balance on the outlet's VP{dragged}",
        WYE_SOURCES[model.junction],
        pressure,
        walk.total_pa,
        walk.total_pa + vp,
        0.0,
        passing[section] if len(passing[section]) > 1 else (),
        False,
    )


WYE_SOURCES = {
    "momentum": "control-volume balance; Idelchik, Handbook of Hydraulic Resistance, 1966",
    "handbook": "ACGIH, Industrial Ventilation (from memory)",
    "factored": "Crane, TP-410",
}


def _part_row(
    collector: ModelCollector,
    group: ChargedPart,
    part: Part,
    label: str,
    flow: float,
    walk: _Walk,
    passing: tuple[str, ...],
) -> LossRow:
    """Return the row of a cyclone or filter: what it takes beyond what the blower curve contains of it."""
    pressure = collector.charge_pa(group, "loaded", flow)
    walk.total_pa += pressure
    decided = part.pressure_pa
    return LossRow(
        group,
        label,
        collector.name,
        None,
        None,
        0.0,
        flow,
        None,
        None,
        None,
        decided.reason,
        decided.source,
        pressure,
        walk.total_pa,
        None,
        0.0,
        passing if len(passing) > 1 else (),
        decided.assumed is not None,
    )


def _collector_rows(batch: Batch, column: int, walk: _Walk, passing: tuple[str, ...]) -> Iterable[LossRow]:
    model = batch.model
    collector = model.collector
    assert collector is not None
    flow = float(batch.collector_flow[column])
    contains = collector.collector.contains
    beyond = ", beyond the curve's" if "filter clean" in contains else ""
    parts: list[tuple[ChargedPart, Part | None, str]] = [
        ("cyclone", collector.cyclone, "cyclone" + (", in the curve" if "cyclone" in contains else "")),
        ("filter", collector.filter_loaded, f"filter, loaded{beyond}"),
    ]
    for group, part, label in parts:
        if part is not None:
            yield _part_row(collector, group, part, label, flow, walk, passing)
    if collector.outlet:
        pressure = collector.outlet_pressure(flow)
        walk.total_pa += pressure
        yield LossRow(
            "outlet",
            "outlet duct",
            collector.name,
            None,
            None,
            sum(loss.length_m for loss in collector.outlet),
            flow,
            None,
            None,
            None,
            "its losses, and the VP where the air leaves less that at the blower",
            "your table",
            pressure,
            walk.total_pa,
            None,
            0.0,
            (),
            False,
        )

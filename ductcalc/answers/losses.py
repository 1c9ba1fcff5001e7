"""Where the pressure goes: the way of one machine's air, piece by piece, from port to collector."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from ductcalc.answers.columns import Column, Columns, frame
from ductcalc.audit.offer import Offer
from ductcalc.audit.pieces import end_velocity_pressure
from ductcalc.cases.case import Case, hardest_path, read_cases
from ductcalc.cases.choices import (
    Ask,
    Choice,
    choice_of,
    choose_open,
    every_machine_alone,
    no_machine,
    usable_machines,
)
from ductcalc.cases.figures import MachineAnswer, PortAnswer
from ductcalc.cases.key_machines import key_machines
from ductcalc.cases.solving import Batch, collector_of, needing, solve_choices, solve_held
from ductcalc.catalog.fact import fact_rows
from ductcalc.errors import InputError, Place, Problem
from ductcalc.findings.finding import NOTHING_SEEN, Findings
from ductcalc.findings.weighing import found_in
from ductcalc.model.collector import ChargedPart, ModelCollector, RatedPart
from ductcalc.model.loss import Loss
from ductcalc.model.model import Model, build_model
from ductcalc.model.numbers import own_blowers
from ductcalc.physics.velocity import velocity, velocity_pressure
from ductcalc.shop.bore import height, hydraulic_diameter, sides, width
from ductcalc.shop.kinds import LossKind
from ductcalc.shop.names import key_of
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop

if TYPE_CHECKING:
    import pandas

LossGroup = LossKind | Literal["wye", "cyclone", "filter", "outlet", "own blower", "over", "inlet", "basis"]
At = Literal["actual", "wanted"]
BESIDE_THE_WAY = frozenset({"own blower", "over", "inlet", "basis"})
"""Rows that are no loss on the way: what the machine's own blower gives (below zero), what the way has over at wanted
flows, the place where `check` tells the suction, the VP that the blower's curve counts in."""
VP_OF_BASIS = {"fan total": "VP at the blower's outlet", "inlet suction": "VP in the test pipe"}
WYE_ROWS = {
    "momentum": "momentum balance",
    "handbook": "sheet",
    "factored": "factored, low share",
}
"""Rows of `branch_entry` that tell where each method comes from."""


OVER_PA = 1e-6
"""Less over than this is nothing but rounding."""


@dataclass(frozen=True, kw_only=True)
class LossRow:
    """One line of the bill: flow, speed, VP, coefficient and its source, loss, running totals.

    coefficient: loss over VP, None where VP is not defined (cyclone, filter). running_total_pa and
    running_static_pa: suction just behind the piece, total and static (positive). share: of all losses on the way,
    None where the row is none of them. shared_by: machines whose air also passes here in this case.
    """

    group: LossGroup
    label: str
    section: str
    place: str | None = None
    bore_m: float | None = None
    length_m: float = 0.0
    flow_m3_s: float
    velocity_m_s: float | None = None
    vp_pa: float | None = None
    coefficient: float | None = None
    reason: str
    source: str
    loss_pa: float
    running_total_pa: float = 0.0
    running_static_pa: float | None = None
    share: float | None = None
    shared_by: tuple[str, ...] = ()
    assumed: bool = False


BILL: Columns[LossRow] = (
    Column("group", lambda row: row.group, csv="kind"),
    Column("label", lambda row: row.label, csv="piece"),
    Column("section", lambda row: row.section),
    Column("place", lambda row: row.place),
    Column("bore", lambda row: row.bore_m, "size", "size", drop=4, csv="size"),
    Column("width", lambda row: width(row.bore_m), "size"),
    Column("height", lambda row: height(row.bore_m), "size"),
    Column("length", lambda row: row.length_m, "length"),
    Column("", lambda row: row.length_m or None, "length", "length", drop=7),
    Column("flow", lambda row: row.flow_m3_s, "flow", "flow", drop=5),
    Column("velocity", lambda row: row.velocity_m_s, "speed", "speed", drop=6, csv="speed"),
    Column("vp", lambda row: row.vp_pa, "pressure", "VP", drop=0, csv="velocity_pressure"),
    Column("coefficient", lambda row: row.coefficient, None, "K, loss\nin VP", 1, right=True, csv="loss_coefficient"),
    Column("reason", lambda row: row.reason),
    Column("source", lambda row: row.source),
    Column("loss", lambda row: row.loss_pa, "pressure", "loss"),
    Column("running_total", lambda row: row.running_total_pa, "pressure", "running\nTP", 2, csv="total_so_far"),
    Column("running_static", lambda row: row.running_static_pa, "pressure", "running\nSP", 8, csv="static_so_far"),
    Column("share", lambda row: row.share, "share", "share"),
    Column("shared_by", lambda row: row.shared_by),
    Column("assumed", lambda row: row.assumed),
)


@dataclass(frozen=True)
class Losses:
    """The branch loss report of one machine's port in one case, loaded filter.

    rows: a bill, which adds up to the pressure of the collector's blower on the basis of its curve; at wanted flows,
    to the fan static pressure that a blower must give.
    """

    shop: str
    machine: str
    run: str
    case: Case
    rows: tuple[LossRow, ...]
    junction: Junction
    changes: tuple[str, ...] = ()
    findings: Findings = NOTHING_SEEN
    at: At = "actual"

    @property
    def answer(self) -> MachineAnswer:
        """The machine in its case, all of its ports together."""
        return self.case.machine(self.machine)

    @property
    def port(self) -> PortAnswer:
        """The port whose way is shown."""
        return next(port for port in self.answer.ports if port.run == self.run)

    @property
    def total_pa(self) -> float:
        """All losses on the way [Pa], cyclone, filter and outlet included."""
        return sum(row.loss_pa for row in self.rows if row.group not in BESIDE_THE_WAY)

    def by_group(self) -> tuple[tuple[LossGroup, float, float], ...]:
        """Return (group, loss [Pa], share) of each kind of loss on the way, largest first."""
        sums: dict[LossGroup, float] = {}
        for row in self.rows:
            if row.group not in BESIDE_THE_WAY:
                sums[row.group] = sums.get(row.group, 0.0) + row.loss_pa
        total = self.total_pa or 1.0
        return tuple((g, p, p / total) for g, p in sorted(sums.items(), key=lambda pair: -pair[1]))

    def largest_first(self) -> tuple[LossRow, ...]:
        """Return the rows by loss, largest first."""
        return tuple(sorted(self.rows, key=lambda row: -row.loss_pa))

    def frame(self) -> pandas.DataFrame:
        """Return the rows as a pandas table, the unit in every column name."""
        return frame(BILL, self.rows)


def losses(
    shop: Shop,
    ask: Ask | Choice | None = None,
    machine: str | None = None,
    junction: Junction | None = None,
    at: At = "actual",
) -> Losses:
    """Return where the pressure goes for a machine in a case.

    Without a choice the machine is alone; without a machine the worst one of the choice, or of all alone. at: at the
    flows that really run, or at the wanted ones, for which no collector is needed.
    Raises InputError for an unknown machine, or one that is not open in the choice, and where none can be opened.
    """
    model = build_model(shop, junction)
    if not usable_machines(model):
        raise no_machine(model)
    if machine is not None:
        machine = choose_open(model, [machine]).machines[0]
    choices = choices_of(model, ask, machine)
    batch = solved_at(at, model, choices, tells_wanted=machine is None)
    cases = read_cases(batch)
    worst = key_machines(model, cases)[1]
    name = machine or worst.machine
    number = next(n for n, c in enumerate(cases) if c.name == worst.case) if ask is None else 0
    case = cases[number]
    if not case.solved:
        return Losses(shop.name, name, "", case, (), model.junction, shop.changes, at=at)
    port = _decisive_port(model, case, name, at)
    seen = found_in(model, choices[number : number + 1], [case]) if at == "actual" else NOTHING_SEEN
    rows = Way(batch, number, port).rows()
    return Losses(shop.name, name, model.ports[port].run, case, rows, model.junction, shop.changes, seen, at)


def solved_at(at: At, model: Model, choices: Sequence[Choice], tells_wanted: bool = False) -> Batch:
    """Return choices solved at the flows that really run, or at the wanted ones."""
    if at == "wanted":
        return solve_held(needing(model, choices), choices)
    return solve_choices(model, choices, ("loaded",), tells_wanted=tells_wanted)


def choices_of(model: Model, ask: Ask | Choice | None, machine: str | None) -> tuple[Choice, ...]:
    """Return the choices among which the worst machine is looked for."""
    if ask is None:
        return every_machine_alone(model) if machine is None else (choose_open(model, [machine]),)
    choice = choice_of(model, ask)
    if not choice.machines:
        open_one = f"open at least one of: {', '.join(usable_machines(model))}"
        raise InputError([Problem("no machine is open in this choice", open_one)])
    if machine is not None and not choice.asks(machine):
        said = f'"{machine}" is not open in this choice'
        raise InputError([Problem(said, f"open are: {', '.join(choice.machines)}", given=machine)])
    return (choice,)


def _decisive_port(model: Model, case: Case, machine: str, at: At) -> int:
    """Return a machine's port with the least air for what it wants; at wanted flows, the one with least over."""
    path = hardest_path(case, machine) if at == "wanted" else None
    run = case.machine(machine).poorest.run if path is None else path.run
    return next(p for p in model.ports_of[key_of(machine)] if model.ports[p].run == run)


_Why = tuple[str, str]
"""What a loss is made of, and the sources of its numbers."""


@dataclass(frozen=True)
class Way:
    """One port's way to the collector's blower in a solved case.

    A line is a row without its sums, and the VP [Pa] just behind it, None where no duct is.
    """

    batch: Batch
    column: int
    port: int

    def rows(self) -> tuple[LossRow, ...]:
        """Return the bill, with its running sums and shares."""
        lines = tuple(self._lines())
        so_far = accumulate(row.loss_pa for row, _ in lines)
        on_the_way = sum(row.loss_pa for row, _ in lines if row.group not in BESIDE_THE_WAY) or 1.0
        return tuple(
            replace(
                row,
                running_total_pa=total,
                running_static_pa=None if behind is None else total + behind,
                share=None if row.group in BESIDE_THE_WAY else row.loss_pa / on_the_way,
            )
            for (row, behind), total in zip(lines, so_far, strict=True)
        )

    def _lines(self) -> Iterator[tuple[LossRow, float | None]]:
        path = self._model.path(self.port)
        yield from self._own_blower(path[0])
        yield from self._over(path[0])
        for section, after in zip(path, (*path[1:], None), strict=True):
            yield from self._pieces(section)
            if after is not None:
                yield self._wye(section, after)
        yield self._inlet(path[-1])
        for row in self._collector(path[-1]):
            yield row, None

    @property
    def _model(self) -> Model:
        return self.batch.model

    @cached_property
    def _sharing(self) -> tuple[tuple[str, ...], ...]:
        """For each section the open machines whose air passes it, none where it is only one."""
        names: list[dict[str, None]] = [{} for _ in self._model.sections]
        for number, port in enumerate(self._model.ports):
            if self.batch.state.taking[number, self.column]:
                for section in self._model.path(number):
                    names[section][port.machine] = None
        return tuple(tuple(found) if len(found) > 1 else () for found in names)

    def _flow(self, section: int) -> float:
        return float(self.batch.solved.flow[section, self.column])

    def _vp(self, flow: float, bore_m: float) -> float:
        return float(velocity_pressure(self._model.air.density_kg_m3, velocity(flow, bore_m)))

    def _row(
        self, at: int, flow: float, pressure: float, why: _Why, bore_m: float | None = None, **more: Any
    ) -> LossRow:
        """Return a row without its sums. at: its section. With a bore also speed, VP and coefficient."""
        vp = None if bore_m is None else self._vp(flow, bore_m)
        found = {"section": self._model.sections[at].name, "shared_by": self._sharing[at], **more}
        return LossRow(
            bore_m=bore_m,
            flow_m3_s=flow,
            velocity_m_s=None if bore_m is None else float(velocity(flow, bore_m)),
            vp_pa=vp,
            coefficient=pressure / vp if vp else None,
            reason=why[0],
            source=why[1],
            loss_pa=pressure,
            **found,
        )

    def _own_blower(self, section: int) -> Iterator[tuple[LossRow, None]]:
        pushed = own_blowers(self._model, self.batch.state)
        given = 0.0 if pushed is None else float(pushed[section, self.column])
        if given > 0.0:
            label = f"own blower of {self._model.ports[self.port].machine}"
            why = ("it pushes: the collector pulls that much less", "your settings")
            yield self._row(section, self._flow(section), -given, why, group="own blower", label=label), None

    def _over(self, section: int) -> Iterator[tuple[LossRow, None]]:
        """What the way has over at wanted flows; shown where it begins, as the suction behind it is that much more."""
        over = float(self.batch.wanted.over_pa[self.port, self.column]) if self.batch.held else 0.0
        if over > OVER_PA:
            why = ("another branch needs more suction; a gate on this way burns it", "worked out here")
            yield self._row(section, self._flow(section), over, why, group="over", label="over, for a gate"), None

    def _pieces(self, section: int) -> Iterator[tuple[LossRow, float]]:
        batch, table, flow = self.batch, self.batch.table, self._flow(section)
        feeding = self._model.opening.feeding(batch.state)[section, self.column]
        for piece in np.flatnonzero((table.section == section) & np.isin(table.head, (-1, feeding))):
            loss, pressure = table.losses[piece], float(batch.audit.losses[piece, self.column])
            what: dict[str, Any] = {"group": loss.kind, "label": loss.label, "place": _place(loss.place)}
            what |= {"length_m": loss.length_m, "assumed": loss.assumed}
            behind = loss.ends_m[1] if loss.ends_m else loss.bore_m
            yield self._row(section, flow, pressure, _why(loss), loss.bore_m, **what), self._vp(flow, behind)

    def _wye(self, section: int, outlet: int) -> tuple[LossRow, float | None]:
        model, number = self._model, self._model.tree.wye_above[outlet]
        hung, shape = model.wyes[number].hung, model.tree.wyes[number]
        place = shape.streams.index(section)
        pressure = float(self.batch.audit.junction[section, self.column])
        way = "straight on" if shape.straight[place] else f"branch, {shape.angles_deg[place]:g} degrees"
        dragged = "; the faster stream drags this one along" if pressure < 0.0 else ""
        why = (f"{model.junction} balance on the outlet's VP{dragged}", _wye_source(model.junction))
        if shape.own_k is not None:
            why = (f"loss coefficient as written, {_coefficient(shape.own_k)} VP", "your table")
        what = {"group": "wye", "label": f"wye, {way}", "place": _place(hung.piece.place)}
        what["section"] = model.sections[outlet].name
        row = self._row(section, self._flow(outlet), pressure, why, hung.bore_m, **what)
        return row, row.vp_pa

    def _inlet(self, section: int) -> tuple[LossRow, float]:
        """The duct's end, where `check` tells the suction: what joints let in on the last stretch has entered."""
        flow, bore = self.batch.collector_flow[self.column], self._model.sections[section].end_bore_m
        why = ("no loss: the flow and suction that check tells, joint leaks included", "worked out here")
        row = self._row(section, float(flow), 0.0, why, bore, group="inlet", label="collector's inlet")
        return row, float(end_velocity_pressure(self._model, section, flow))

    def _collector(self, section: int) -> Iterator[LossRow]:
        """What cyclone, filter and outlet take beyond what the curve contains of them; the VP that it counts in."""
        collector, at = collector_of(self._model), self.batch.collector_flow[[self.column]]
        bill, flow = Offer(collector).bill(at, np.array([True])), float(at[0])
        for group, part, label in _parts(collector):
            decided, charged = part.pressure_pa, float(getattr(bill, group)[0])
            what: dict[str, Any] = {"group": group, "label": label, "assumed": decided.assumed is not None}
            yield self._row(section, flow, charged, (decided.reason, decided.source), section=collector.name, **what)
        if collector.outlet:
            length = sum(loss.length_m for loss in collector.outlet)
            why = ("its losses, and the VP where the air leaves less that at the blower", "your table")
            what = {"group": "outlet", "label": "outlet duct", "length_m": length}
            yield self._row(section, flow, float(bill.outlet[0]), why, section=collector.name, **what)
        if collector.basis in VP_OF_BASIS:
            why = (f"no loss on the way: a curve of {collector.basis} counts it in", "your settings")
            what = {"group": "basis", "label": VP_OF_BASIS[collector.basis]}
            bore = collector.basis_bore_m
            yield self._row(section, flow, float(bill.basis[0]), why, bore, section=collector.name, **what)


def _place(place: Place | None) -> str | None:
    return str(place) if place else None


def _parts(collector: ModelCollector) -> Iterator[tuple[ChargedPart, RatedPart, str]]:
    """Yield cyclone and loaded filter, named by what the curve contains of them."""
    clean, loaded = collector.filter_clean, collector.filter_loaded
    if collector.cyclone is not None:
        yield "cyclone", collector.cyclone, "cyclone" + (", in the curve" if collector.cyclone.contained else "")
    if loaded is not None:
        beyond = ", beyond the curve's" if clean is not None and clean.contained else ""
        yield "filter", loaded, "filter, loaded" + (", in the curve" if loaded.contained else beyond)


def _wye_source(junction: Junction) -> str:
    """Return where a wye method comes from; of several rows of one method all name the same."""
    return fact_rows("branch_entry", WYE_ROWS[junction])[0].fact.cited


def _why(loss: Loss) -> _Why:
    reasons, sources = [], []
    if loss.has_friction:
        assert loss.roughness_m is not None and loss.factor is not None
        rough = loss.roughness_m
        times = "" if loss.factor.value == 1.0 else f"{loss.factor.value:g} x "
        flat = f" on a hydraulic diameter of {hydraulic_diameter(loss.bore_m) * 1000:.4g} mm"
        across = flat if sides(loss.bore_m) else ""
        reasons.append(f"{times}friction{across}, roughness {rough.value * 1000:.3g} mm")
        sources += [rough.source] + ([loss.factor.source] if loss.factor.value != 1.0 else [])
    if loss.k is not None:
        reasons.append(f"{loss.k.reason}, {_coefficient(loss.k.value)} VP")
        sources.append(loss.k.source)
    return "; ".join(reasons), "; ".join(dict.fromkeys(sources))


def _coefficient(k: float) -> str:
    """Show a coefficient to three digits, written out."""
    return f"{k:.3g}" if abs(k) < 1000.0 else f"{float(f'{k:.3g}'):.0f}"

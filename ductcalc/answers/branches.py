"""A line for each branch of some cases: what it needs, what it has over, and the piece that takes most."""

from __future__ import annotations

from dataclasses import dataclass

from ductcalc.answers.columns import Column, Columns
from ductcalc.answers.losses import BESIDE_THE_WAY, At, LossRow, Way, choices_of, solved_at
from ductcalc.cases.case import Case, read_cases
from ductcalc.cases.choices import Ask, Choice, no_machine, usable_machines
from ductcalc.cases.solving import Batch
from ductcalc.model.model import build_model
from ductcalc.shop.settings import Junction
from ductcalc.shop.shop import Shop


@dataclass(frozen=True)
class BranchLoss:
    """An open port's way: its air [m3/s], total suction [Pa] at the collector's inlet that it takes, what is over.

    largest: the piece that takes most of it, None where nothing does.
    """

    case: Case
    machine: str
    run: str
    flow_m3_s: float
    wanted_m3_s: float
    need_pa: float
    excess_pa: float
    largest: LossRow | None

    @property
    def largest_share(self) -> float | None:
        """What the piece that takes most takes of the suction at the inlet."""
        return self.largest.loss_pa / self.need_pa if self.largest and self.need_pa > 0.0 else None


@dataclass(frozen=True)
class Branches:
    """Every open branch of some cases, loaded filter, at the flows that really run or at the wanted ones."""

    shop: str
    junction: Junction
    at: At
    cases: tuple[Case, ...]
    lines: tuple[BranchLoss, ...]
    changes: tuple[str, ...] = ()

    @property
    def exit_code(self) -> int:
        """0 when everything asked for is served and nothing settles, 1 when not, 3 when a case has no answer."""
        if not all(case.solved for case in self.cases):
            return 3
        return 0 if all(case.well for case in self.cases) else 1


LINES: Columns[BranchLoss] = (
    Column("case", lambda line: line.case.name),
    Column("machine", lambda line: line.machine),
    Column("run", lambda line: line.run),
    Column("wanted", lambda line: line.wanted_m3_s, "flow", "wanted", 1),
    Column("flow", lambda line: line.flow_m3_s, "flow", "air"),
    Column("need", lambda line: line.need_pa, "pressure", "needs"),
    Column("excess", lambda line: line.excess_pa, "pressure", "over"),
    Column("largest_piece", lambda line: line.largest and line.largest.label),
    Column("largest_place", lambda line: line.largest and line.largest.place),
    Column("largest_section", lambda line: line.largest and line.largest.section),
    Column("largest_loss", lambda line: line.largest and line.largest.loss_pa, "pressure"),
    Column("largest_share", lambda line: line.largest_share, "share"),
)


def branches(
    shop: Shop, ask: Ask | Choice | None = None, junction: Junction | None = None, at: At = "actual"
) -> Branches:
    """Return every open branch of a case, or of every machine alone.

    Raises InputError when the shop cannot be hung together, and at actual flows when it has no collector.
    """
    model = build_model(shop, junction)
    if not usable_machines(model):
        raise no_machine(model)
    batch = solved_at(at, model, choices_of(model, ask, None))
    cases = read_cases(batch)
    lines = tuple(line for number, case in enumerate(cases) if case.solved for line in _lines(batch, number, case))
    return Branches(shop.name, model.junction, at, cases, lines, shop.changes)


def _lines(batch: Batch, column: int, case: Case) -> list[BranchLoss]:
    taking = batch.state.taking[:, column]
    return [_line(batch, column, case, port) for port in range(len(taking)) if taking[port]]


def _line(batch: Batch, column: int, case: Case, port: int) -> BranchLoss:
    rows, made = Way(batch, column, port).rows(), batch.model.ports[port]
    answer = next(one for one in case.machine(made.machine).ports if one.run == made.run)
    to_inlet = rows[: next(number for number, row in enumerate(rows) if row.group == "inlet") + 1]
    over = float(sum(row.loss_pa for row in rows if row.group == "over"))
    taken = [row for row in to_inlet if row.group not in BESIDE_THE_WAY and row.loss_pa > 0.0]
    return BranchLoss(
        case,
        made.machine,
        made.run,
        answer.flow_m3_s,
        answer.wanted_m3_s,
        to_inlet[-1].running_total_pa - over,
        over,
        max(taken, key=lambda row: row.loss_pa, default=None),
    )

"""The tables of a need: cases, branches, the system curve."""

from __future__ import annotations

from typing import NamedTuple

from ductcalc.answers.columns import Column, Columns, within
from ductcalc.answers.need.need import BranchNeed, CaseNeed
from ductcalc.answers.need.system_curve import CurvePoint

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

"""What stands in the CSV of each answer."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.check import Check
from ductcalc.answers.layout import Layout
from ductcalc.answers.losses import Losses
from ductcalc.cases.case import Case
from ductcalc.cases.figures import MachineAnswer
from ductcalc.report.csv_text import csv_text, ending, shown
from ductcalc.report.display import Display


def check_csv(check: Check, display: Display) -> str:
    """Return a line for each case and machine; a case without an answer has a line with its status."""
    flow, speed, pressure = (ending(what, display) for what in ("flow", "speed", "pressure"))
    columns = (
        "case",
        "filter",
        "status",
        "machine",
        "asked",
        "open",
        f"wanted_{flow}",
        f"flow_{flow}",
        "served",
        "word",
        "slowest_section",
        f"speed_{speed}",
        f"needed_speed_{speed}",
        "section_word",
        f"collector_flow_{flow}",
        f"static_suction_{pressure}",
        f"total_suction_{pressure}",
    )
    return csv_text(columns, (row for case in check.cases for row in _case_rows(case, display)))


def _case_rows(case: Case, display: Display) -> Iterator[list[Any]]:
    head = [case.name, case.filter, case.status]
    if case.collector is None:
        yield [*head, *[None] * 14]
        return
    point, slow = case.collector, case.slowest
    tail = [
        slow.section if slow else None,
        shown(slow.velocity_m_s if slow else None, "speed", display),
        shown(slow.needed_velocity_m_s if slow else None, "speed", display),
        slow.word if slow else None,
        shown(point.flow_m3_s, "flow", display),
        shown(point.inlet_static_pa, "pressure", display),
        shown(point.inlet_total_pa, "pressure", display),
    ]
    for machine in case.machines:
        yield [*head, *_machine(machine, display), *tail]


def _machine(machine: MachineAnswer, display: Display) -> list[Any]:
    return [
        machine.machine,
        machine.asked,
        machine.open,
        shown(machine.wanted_m3_s, "flow", display),
        shown(machine.flow_m3_s, "flow", display),
        machine.served,
        machine.word,
    ]


def losses_csv(losses: Losses, display: Display, largest_first: bool = False) -> str:
    """Return a line for each piece on the way."""
    size, length, flow, speed, pressure = (
        ending(what, display) for what in ("size", "length", "flow", "speed", "pressure")
    )
    columns = (
        "kind",
        "piece",
        "section",
        "place",
        f"size_{size}",
        f"length_{length}",
        f"flow_{flow}",
        f"speed_{speed}",
        f"velocity_pressure_{pressure}",
        "loss_coefficient",
        f"loss_{pressure}",
        f"total_so_far_{pressure}",
        f"static_so_far_{pressure}",
        "share",
        "shared_by",
        "assumed",
        "reason",
        "source",
    )
    rows = losses.largest_first() if largest_first else losses.rows
    return csv_text(
        columns,
        (
            [
                row.group,
                row.label,
                row.section,
                row.place,
                shown(row.bore_m, "size", display),
                shown(row.length_m, "length", display),
                shown(row.flow_m3_s, "flow", display),
                shown(row.velocity_m_s, "speed", display),
                shown(row.vp_pa, "pressure", display),
                row.coefficient,
                shown(row.loss_pa, "pressure", display),
                shown(row.running_total_pa, "pressure", display),
                shown(row.running_static_pa, "pressure", display),
                row.share,
                ", ".join(row.shared_by),
                row.assumed,
                row.reason,
                row.source,
            ]
            for row in rows
        ),
    )


def layout_csv(layout: Layout, display: Display) -> str:
    """Return a line for each piece of each run, in the order of the air."""
    size, length, flow = (ending(what, display) for what in ("size", "length", "flow"))
    columns = (
        "run",
        "joins_run",
        "piece",
        "name",
        "style",
        f"size_{size}",
        f"length_{length}",
        f"rise_{length}",
        "angle_deg",
        "count",
        "comes_in",
        f"wanted_{flow}",
        "assumed",
        "note",
    )
    return csv_text(
        columns,
        (
            [
                run.name,
                run.joins,
                piece.kind,
                piece.name,
                piece.style,
                shown(piece.bore_m, "size", display),
                shown(piece.length_m, "length", display),
                shown(piece.rise_m, "length", display),
                " + ".join(f"{angle:g}" for angle in piece.angles_deg),
                piece.count,
                " + ".join(piece.joins),
                shown(piece.wanted_m3_s, "flow", display),
                ", ".join(piece.assumed),
                piece.note,
            ]
            for run in layout.runs
            for piece in run.pieces
        ),
    )

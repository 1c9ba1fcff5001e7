"""What `losses` tells adds up to the blower's pressure and is what `check` tells; text, JSON and CSV tell the same."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator
from io import StringIO
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings

import ductcalc
from ductcalc import Ask
from ductcalc.answers.check import Check
from ductcalc.answers.losses import Losses
from ductcalc.answers.verdict import pairs
from ductcalc.report.blocks import Grid, Paragraph, plain
from ductcalc.report.check.data import check_document
from ductcalc.report.check.tables import collector_grid, machine_grid
from ductcalc.report.display import Display
from ductcalc.report.losses import losses_blocks, losses_csv, losses_document
from ductcalc.units.display import to_display
from tests.properties.random_shops import Plan, blown_plans

LONG = bool(os.environ.get("DUCTCALC_LONG"))
MANY = settings(
    max_examples=200 if LONG else 60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)


def solved(plan: Plan) -> Check:
    """All machines open, where that has an answer."""
    found = ductcalc.check(plan.shop(), [Ask.everything()])
    assume(found.loaded[0].solved)
    return found


def reports(plan: Plan, found: Check) -> Iterator[Losses]:
    """Every machine's losses in that case."""
    for machine in found.loaded[0].asked:
        yield ductcalc.losses(plan.shop(), Ask.everything(), machine)


@MANY
@given(blown_plans())
def test_the_running_sums_pass_what_check_tells_at_the_inlet_and_end_at_the_blowers_pressure(plan: Plan) -> None:
    found = solved(plan)
    point = found.loaded[0].collector
    assert point is not None
    for report in reports(plan, found):
        total = {"abs": 1e-9 * point.blower_pa, "rel": 1e-9}
        inlet = next(row for row in report.rows if row.group == "inlet")
        assert inlet.flow_m3_s == point.flow_m3_s
        assert inlet.running_total_pa == pytest.approx(point.inlet_total_pa, **total)
        assert inlet.running_static_pa == pytest.approx(point.inlet_static_pa, **total)
        assert sum(row.loss_pa for row in report.rows) == pytest.approx(point.blower_pa, rel=1e-9)
        assert report.rows[-1].running_total_pa == pytest.approx(point.blower_pa, rel=1e-9)


@MANY
@given(blown_plans())
def test_text_and_csv_tell_the_figures_of_json(plan: Plan) -> None:
    found = solved(plan)
    display = Display("inch" if plan.outlet else "metric")
    for pair, case in zip(pairs(found), check_document(found, display)["cases"][::2], strict=True):
        (points,) = collector_grid([pair.loaded], display).rows
        assert plain(points[3]) == display.pressure_number(case["collector"]["inlet_static_pa"])
        machines = [m for m in case["machines"] if m["asked"]]
        figures = [part for m in machines for part in (m, *(m["ports"] if len(m["ports"]) > 1 else ()))]
        assert column(machine_grid([pair], display), 2) == [air(part, display) for part in figures]
    for report in reports(plan, found):
        losses_tell_one_figure(report, display)


def losses_tell_one_figure(report: Losses, display: Display) -> None:
    document, blocks = losses_document(report), list(losses_blocks(report, display))
    bill, kinds = (block for block in blocks if isinstance(block, Grid))
    for title, key in (("flow", "flow_m3_s"), ("loss", "loss_pa"), ("running TP", "running_total_pa")):
        place = max(n for n, head in enumerate(bill.columns) if " ".join(head.title).startswith(title))
        show = display.flow_number if title == "flow" else lambda value: display.pressure_number(value, fine=True)
        assert column(bill, place) == [show(row[key]) for row in document["rows"]]
    beside = [row["loss_pa"] for row in document["rows"] if row["group"] in ("own blower", "basis")]
    of_kinds = [kind["loss_pa"] for kind in document["by_kind"]]
    sums = [*of_kinds, document["total_pa"], *beside, document["blower_pa"]]
    assert column(kinds, 1) == [display.pressure_number(value, fine=True) for value in sums]
    port = next(port for port in document["ports"] if port["run"] == document["run"])
    figures = [port, document] if len(document["ports"]) > 1 else [port]
    said = " ".join(plain(block.words) for block in blocks if isinstance(block, Paragraph))
    for part in figures:
        assert f"{air(part, display)} of {display.flow(part['wanted_m3_s'])}" in said
    lines = list(csv.DictReader(StringIO(losses_csv(report, display))))
    sums_so_far = [to_display(row["running_total_pa"], "pressure", display.system) for row in document["rows"]]
    for line, (value, unit) in zip(lines, sums_so_far, strict=True):
        assert float(line[f"total_so_far_{unit}"]) == pytest.approx(value, rel=1e-5, abs=1e-5)


def column(grid: Grid, place: int) -> list[str]:
    return [plain(row[place]) for row in grid.rows]


def air(part: Any, display: Display) -> str:
    """Air of a machine or port in a document, as a text shows it."""
    return display.got_number(part["flow_m3_s"], part["wanted_m3_s"], part["flow_m3_s"] >= part["wanted_m3_s"])


@MANY
@given(blown_plans())
def test_at_the_wanted_flows_each_bill_ends_at_the_pressure_that_a_blower_must_give(plan: Plan) -> None:
    shop = plan.shop()
    need = ductcalc.need(shop, [Ask.everything()]).cases[0]
    assume(need.solved)
    assert need.fan_static_pa is not None
    scale = abs(need.fan_static_pa) + 1.0
    for machine in need.case.asked:
        report = ductcalc.losses(shop, Ask.everything(), machine, at="wanted")
        inlet = next(row for row in report.rows if row.group == "inlet")
        assert inlet.running_static_pa == pytest.approx(need.static_pa, rel=1e-8, abs=1e-8 * scale)
        assert report.rows[-1].running_total_pa == pytest.approx(need.fan_static_pa, rel=1e-8, abs=1e-8 * scale)
        over = sum(row.loss_pa for row in report.rows if row.group == "over")
        path = next(path for path in need.paths if (path.machine, path.run) == (machine, report.run))
        assert over == pytest.approx(path.excess_pa, abs=1e-7 * scale)

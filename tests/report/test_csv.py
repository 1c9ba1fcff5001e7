"""CSV: a line per item, units in the column names, the same numbers as elsewhere."""

from __future__ import annotations

import csv
from io import StringIO

import pytest

from ductcalc.answers.check import check
from ductcalc.answers.layout import layout
from ductcalc.answers.losses import losses
from ductcalc.report.check.data import check_csv
from ductcalc.report.display import Display
from ductcalc.report.losses import losses_csv
from ductcalc.report.tree import layout_csv
from ductcalc.tables import read_shop
from tests.scenes import SHOPS


def _rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(text), strict=True))


def test_check_has_a_line_for_each_case_and_machine() -> None:
    answer = check(read_shop(SHOPS / "cellar"))
    rows = _rows(check_csv(answer, Display("inch")))
    assert len(rows) == len(answer.cases) * 3
    assert {row["machine"] for row in rows} == {"band saw", "planer", "table saw"}


@pytest.mark.parametrize(("system", "column", "unit"), [("inch", "flow_cfm", 2118.88), ("metric", "flow_m3_h", 3600.0)])
def test_units_stand_in_the_column_names(system: str, column: str, unit: float) -> None:
    answer = check(read_shop(SHOPS / "cellar"))
    row = _rows(check_csv(answer, Display(system)))[0]  # type: ignore[arg-type]
    assert float(row[column]) == pytest.approx(answer.cases[0].machines[0].flow_m3_s * unit, rel=1e-5)


def test_names_with_commas_quotes_and_markup_survive() -> None:
    rows = _rows(check_csv(check(read_shop(SHOPS / "annex")), Display("metric")))
    assert "Bandschleifer [bold]an der Wand[/bold] 🪚 Nr. 7" in {row["machine"] for row in rows}


def test_losses_have_a_line_for_each_piece_in_the_order_of_the_air() -> None:
    answer = losses(read_shop(SHOPS / "cellar"), machine="band saw")
    rows = _rows(losses_csv(answer, Display("inch")))
    assert [row["kind"] for row in rows] == [row.group for row in answer.rows]
    running = [float(row["total_so_far_inwg"]) for row in rows]
    assert running[-1] == pytest.approx(sum(float(row["loss_inwg"]) for row in rows), rel=1e-4)


def test_losses_largest_first() -> None:
    answer = losses(read_shop(SHOPS / "cellar"), machine="band saw")
    taken = [float(row["loss_inwg"]) for row in _rows(losses_csv(answer, Display("inch"), largest_first=True))]
    assert taken == sorted(taken, reverse=True)


def test_tree_has_a_line_for_each_piece() -> None:
    answer = layout(read_shop(SHOPS / "cellar"))
    rows = _rows(layout_csv(answer, Display("inch")))
    assert len(rows) == sum(len(run.pieces) for run in answer.runs)
    assert rows[0]["machine" if "machine" in rows[0] else "name"] == "band saw"

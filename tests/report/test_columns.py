"""One tuple of columns is the table in every form: same values, the unit in the name, empty where nothing is."""

from __future__ import annotations

import csv
from io import StringIO
from typing import NamedTuple

import pytest

from ductcalc.answers.columns import Column, Columns, frame, records, within
from ductcalc.report.blocks import plain
from ductcalc.report.columns import csv_of, grid_of
from ductcalc.report.display import Display

INCH_M = 0.0254


class Gate(NamedTuple):
    name: str
    bore_m: float | None
    flow_m3_s: float
    share: float = 0.5


TABLE: Columns[Gate] = (
    Column("name", lambda gate: gate.name, heading="gate"),
    Column("bore", lambda gate: gate.bore_m, "size", "size", drop=1, csv="size"),
    Column("flow", lambda gate: gate.flow_m3_s, "flow", "clean\nair"),
    Column("share", lambda gate: gate.share, "share", "share"),
    Column("leaks", lambda gate: ("a", "b")),
    Column("", lambda gate: "*", heading="mark"),
)
GATES = (Gate("saw", 4 * INCH_M, 0.1), Gate("planer", None, 0.25))


def lines(display: Display) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(csv_of(TABLE, GATES, display))))


def test_si_names_end_in_the_si_unit_and_text_alone_is_left_out() -> None:
    assert records(TABLE, GATES)[0] == {
        "name": "saw", "bore_m": 4 * INCH_M, "flow_m3_s": 0.1, "share": 0.5, "leaks": ("a", "b")
    }  # fmt: skip


def test_pandas_holds_the_records() -> None:
    table = frame(TABLE, GATES)
    assert list(table.columns) == list(records(TABLE, GATES)[0])
    assert table["flow_m3_s"].tolist() == [0.1, 0.25]


@pytest.mark.parametrize(("display", "size", "flow"), [
    (Display("inch"), ("size_in", 4.0), ("flow_cfm", 211.888)),
    (Display("metric"), ("size_mm", 101.6), ("flow_m3_h", 360.0)),
])  # fmt: skip
def test_csv_has_the_readers_units(display: Display, size: tuple[str, float], flow: tuple[str, float]) -> None:
    saw, planer = lines(display)
    assert float(saw[size[0]]) == pytest.approx(size[1])
    assert float(saw[flow[0]]) == pytest.approx(flow[1], rel=1e-5)
    assert planer[size[0]] == ""
    assert (saw["share"], saw["leaks"]) == ("0.5", "a, b")


def test_csv_puts_the_unit_into_brackets_where_the_name_ends_in_them() -> None:
    told = csv_of((Column("air saw []", lambda gate: gate.flow_m3_s, "flow"),), GATES, Display("metric"))
    assert told.splitlines()[0] == "air saw [m3_h]"


def test_text_has_the_columns_with_a_heading_in_the_readers_units() -> None:
    grid = grid_of(TABLE, GATES, Display("inch"))
    titles = [column.title for column in grid.columns]
    assert titles == [("gate", ""), ("size", "in"), ("clean", "air cfm"), ("share", "%"), ("mark", "")]
    assert [[plain(cell) for cell in row] for row in grid.rows][1] == ["planer", "", "530", "50", "*"]
    assert [column.right for column in grid.columns] == [False, True, True, True, False]


def test_a_part_that_is_missing_leaves_its_columns_empty() -> None:
    class Pair(NamedTuple):
        gate: Gate | None

    found = records(within(Pair, lambda pair: pair.gate, TABLE[:2]), [Pair(GATES[0]), Pair(None)])
    assert found == [{"name": "saw", "bore_m": 4 * INCH_M}, {"name": None, "bore_m": None}]

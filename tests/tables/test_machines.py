"""A list of machines: everyday writing is read, and everything wrong is told at once with place and repair."""

from __future__ import annotations

from pathlib import Path

import pytest

from ductcalc.errors import InputError, Problem
from ductcalc.shop.piece import Wanted
from ductcalc.shop.placed import MachineList
from ductcalc.tables.machines import read_machines

CFM = 0.3048**3 / 60.0
HEADER = "machine,kind,flow,port,along,height,reach,note\n"


def listed(folder: Path, text: str) -> MachineList:
    path = folder / "machines.csv"
    path.write_text(text, encoding="utf-8")
    return read_machines(path)


def problems(folder: Path, rows: str, header: str = HEADER) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as caught:
        listed(folder, header + rows)
    return caught.value.problems


def test_a_row_is_read_in_si(tmp_path: Path) -> None:
    found = listed(tmp_path, HEADER + "planer,planer 15 in,,6 in,28 ft,5 ft 6 in,4 ft,by the door\n")
    (one,) = found.machines
    assert (one.machine, one.note, found.units) == ("planer", "by the door", "inch")
    assert (one.port_m, one.along_m, one.height_m, one.reach_m) == pytest.approx((0.1524, 8.5344, 1.6764, 1.2192))
    assert one.air.wanted.flow_m3_s == pytest.approx(525 * CFM)


def test_header_units_decimal_commas_and_other_names_of_columns(tmp_path: Path) -> None:
    found = listed(tmp_path, "machine;flow [m3/h];port [mm];along [m];height [m]\nsaw;650;100;7,5;2\n")
    (one,) = found.machines
    assert (found.units, one.air.cell) == ("metric", "650 m3/h")
    assert (one.port_m, one.along_m, one.air.wanted.flow_m3_s) == pytest.approx((0.1, 7.5, 650 / 3600))


@pytest.mark.parametrize(
    ("flow", "wanted"), [("20 m/s", Wanted(speed_m_s=20.0)), ("off", Wanted(off=True)), ("360 m3/h", Wanted(0.1))]
)
def test_a_written_flow_goes_before_that_of_the_kind(tmp_path: Path, flow: str, wanted: Wanted) -> None:
    (one,) = listed(tmp_path, f"{HEADER}saw,table saw,{flow},100 mm,1 m,1 m,,\n").machines
    assert one.air.wanted == wanted
    assert (one.air.cell, one.air.source) == (flow, "")


def test_the_source_of_a_kinds_air_is_kept(tmp_path: Path) -> None:
    (one,) = listed(tmp_path, f"{HEADER}m,spindle moulder,,160 mm,1 m,1 m,,\n").machines
    assert one.air.cell == "1450 m3/h"
    assert "TRGS 553" in one.air.source


@pytest.mark.parametrize(
    ("row", "column", "repair"),
    [
        ("saw,table saw,,4,1 ft,1 ft,,", "port", "6 in"),
        ("saw,table saw,,,1 ft,1 ft,,", "port", "6 in"),
        ("saw,table saw,,4 in,,1 ft,,", "along", "12 ft"),
        ("saw,table saw,,4 in,-1 ft,1 ft,,", "along", "0 to 10 km"),
        ("saw,table saw,,4 in,1 ft,1,,", "height", "unit"),
        ("saw,table saw,,4 in,1 ft,1 ft,2,", "reach", "unit"),
        ("saw,tabel saw,,4 in,1 ft,1 ft,,", "kind", "did you mean table saw"),
        ("saw,planer,,4 in,1 ft,1 ft,,", "kind", "planer 15 in"),
        ("saw,drum sander,,4 in,1 ft,1 ft,,", "kind", "did you mean drum sander each port"),
        ("saw,zzz,,4 in,1 ft,1 ft,,", "kind", "write one of: planer to 400 mm"),
        ("saw,,,4 in,1 ft,1 ft,,", "kind", "flow"),
        ("saw,,400,4 in,1 ft,1 ft,,", "flow", "cfm"),
        ("saw,,5000 cfm,4 in,1 ft,1 ft,,", "flow", "20 m/s is usual"),
        ("saw,planer from 520 mm,,1 in,1 ft,1 ft,,", "kind", "20 m/s is usual"),
        (",table saw,,4 in,1 ft,1 ft,,", "machine", "name"),
        ("a + b,table saw,,4 in,1 ft,1 ft,,", "machine", "and"),
    ],
)
def test_a_wrong_cell_is_told_with_its_place_and_a_repair(tmp_path: Path, row: str, column: str, repair: str) -> None:
    (problem,) = problems(tmp_path, row + "\n")
    assert problem.place is not None
    assert (problem.place.row, problem.place.column) == (2, column)
    assert repair in problem.hint


def test_all_problems_are_told_at_once(tmp_path: Path) -> None:
    found = problems(tmp_path, "saw,tabel saw,,4,1 ft,1 ft,,\n,table saw,,4 in,1 ft,,,\n")
    assert [(p.place.row, p.place.column) for p in found if p.place] == [
        (2, "port"), (2, "kind"), (3, "machine"), (3, "height"),
    ]  # fmt: skip


def test_a_missing_column_is_told_once(tmp_path: Path) -> None:
    found = problems(tmp_path, "saw,table saw,4 in,1 ft\nother,table saw,4 in,2 ft\n", "machine,kind,port,along\n")
    assert ["height" in problem.message for problem in found] == [True]

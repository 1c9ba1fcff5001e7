"""The log of readings: what a row means, and every problem of it at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from ductcalc import read_shop
from ductcalc.errors import InputError
from ductcalc.shop import Shop
from ductcalc.shop.readings import COLUMNS
from ductcalc.tables.readings import read_readings, readings_and_remarks
from tests.typed import ROOT, typed

INWG = 249.0889


@pytest.fixture(scope="module")
def creamery() -> Shop:
    return read_shop(ROOT / "examples/creamery")


def row(**cells: str) -> dict[str, str]:
    return {"when": "2026-03-14", "open": "planer", "where": "port planer drop", "value": "2.6 inwg", **cells}


def test_a_row_has_its_value_in_si_and_half_of_the_instruments_two_sigma(creamery: Shop) -> None:
    found = read_readings([row(healthy="yes", instrument="u tube", note="windy")], creamery)[0]
    assert (found.value, found.sigma) == pytest.approx((2.6 * INWG, 10.0))
    assert (found.kind, found.instrument, found.healthy, found.note) == ("static", "u-tube", True, "windy")
    assert found.where.run == "planer drop"


def test_blank_when_and_open_repeat_the_row_above(creamery: Shop) -> None:
    rows = [row(open="planer + Table Saw"), {"where": "end planer drop", "value": "5 inwg"}]
    first, second = read_readings(rows, creamery)
    assert second.when == first.when and second.open == first.open == ("planer", "table saw")


@pytest.mark.parametrize(
    ("cells", "kind", "instrument"),
    [
        ({"where": "filter"}, "drop", "u-tube"),
        ({"where": "motor", "value": "11.5 A"}, "current", "clamp meter"),
        ({"kind": "speed", "value": "21 m/s"}, "speed", "vane"),
        ({"kind": "velocity pressure", "instrument": "Pitot"}, "velocity pressure", "pitot tube"),
        ({"where": "collector inlet"}, "static", "u-tube"),
        ({"where": "planer drop at 9 ft"}, "static", "u-tube"),
        ({"where": "gate saw gate"}, "static", "u-tube"),
    ],
)
def test_a_blank_kind_and_instrument_follow_the_place(
    creamery: Shop, cells: dict[str, str], kind: str, instrument: str
) -> None:
    found = read_readings([row(**cells)], creamery)[0]
    assert (found.kind, found.instrument) == (kind, instrument)


@pytest.mark.parametrize(
    ("cells", "two_sigma"),
    [
        ({"uncertainty": "0.2 inwg"}, 0.2 * INWG),
        ({"uncertainty": "5 %"}, 0.05 * 2.6 * INWG),
        ({"instrument": "dial gauge"}, 50.0),
        ({"instrument": "digital gauge", "value": "1000 Pa"}, (2.0**2 + 10.0**2) ** 0.5),
        ({"instrument": "hot wire", "kind": "speed", "value": "20 m/s"}, (0.2**2 + 2.0**2) ** 0.5),
    ],
)
def test_two_sigma_are_as_written_or_by_the_instrument(creamery: Shop, cells: dict[str, str], two_sigma: float) -> None:
    assert 2.0 * read_readings([row(**cells)], creamery)[0].sigma == pytest.approx(two_sigma)


@pytest.mark.parametrize(
    ("cells", "column", "hint"),
    [
        ({"when": "14/3/2026"}, "when", "2026-03-14"),
        ({"open": "plner"}, "open", "did you mean planer"),
        ({"open": "planer, resaw"}, "open", "join machines with +"),
        ({"where": "port plner drop"}, "where", "did you mean planer drop"),
        ({"where": "end trunk"}, "where", "collector inlet"),
        ({"where": "trunk at 300 ft"}, "where", "from the start of the run"),
        ({"where": "gate guard hose"}, "where", "end guard hose"),
        ({"where": "somewhere"}, "where", "collector inlet"),
        ({"where": "filter", "kind": "static"}, "kind", "drop"),
        ({"value": "2.6"}, "value", "unit"),
        ({"value": "2 in"}, "value", "inches of water"),
        ({"value": "-2 inwg"}, "value", "without a minus"),
        ({"value": "300 kPa"}, "value", "2.6 inwg"),
        ({"instrument": "vane"}, "instrument", "u-tube"),
        ({"uncertainty": "5"}, "uncertainty", "unit"),
        ({"uncertainty": "0 Pa"}, "uncertainty", "more than 0"),
        ({"healthy": "maybe"}, "healthy", "yes"),
    ],
)
def test_a_problem_has_row_column_and_repair(creamery: Shop, cells: dict[str, str], column: str, hint: str) -> None:
    with pytest.raises(InputError) as caught:
        read_readings([row(), row(**cells)], creamery)
    (problem,) = caught.value.problems
    assert problem.place is not None and (problem.place.row, problem.place.column) == (2, column)
    assert hint in problem.hint and problem.given == cells[column]


def test_what_a_run_lacks_is_named(creamery: Shop) -> None:
    with pytest.raises(InputError, match='"guard hose" has no gate'):
        read_readings([row(where="gate guard hose")], creamery)


def test_all_problems_come_together(creamery: Shop) -> None:
    bad = row(when="soon", open="plner", where="port x", value="2", instrument="ruler", healthy="maybe")
    with pytest.raises(InputError) as caught:
        read_readings([bad], creamery)
    columns = [problem.place.column for problem in caught.value.problems if problem.place]
    assert sorted(columns) == ["healthy", "instrument", "open", "value", "when", "where"]


def test_the_form_is_read_back_once_values_stand_in_it(creamery: Shop, tmp_path: Path) -> None:
    form = tmp_path / "readings.csv"
    typed("expect", "examples/creamery", "--output", form)
    with pytest.raises(InputError, match="holds no reading"):
        read_readings(form, creamery)
    head, first, *others = form.read_text().splitlines()
    filled = first.split(",")
    filled[0], filled[4] = "2026-03-14", "4 inwg"
    form.write_text("\n".join([head, ",".join(filled), *others]))
    found, remarks = readings_and_remarks(form, creamery)
    assert [(r.where.written, r.value) for r in found] == [("port trunk", pytest.approx(4 * INWG))]
    assert f"{len(others)} rows" in remarks[-1]


def test_a_set_is_named_in_open(creamery: Shop) -> None:
    from tests.scenes import two_machines

    found = read_readings(
        [{"when": "2026-03-14", "open": "Both", "where": "collector inlet", "value": "5 inwg"}],
        two_machines(gates={"sets": {"both": ["band saw", "planer"]}}),
    )[0]
    assert found.gate_set == "both" and len(found.open) == 2


def test_columns_are_those_of_the_form() -> None:
    assert COLUMNS == ("when", "open", "where", "kind", "value", "instrument", "uncertainty", "healthy", "note")


def test_what_a_row_leaves_out_is_said(creamery: Shop) -> None:
    with pytest.raises(InputError) as caught:
        read_readings([{"when": "", "open": "planer", "where": "", "value": "2 inwg"}], creamery)
    said = [problem.message for problem in caught.value.problems]
    assert said == ["this row does not say when", "this row does not say where"]

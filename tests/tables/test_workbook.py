"""A workbook read as a shop: the same answer as its text tables, places in its sheets, faults told with a repair."""

from __future__ import annotations

import csv
import re
import sys
import tomllib
from pathlib import Path
from typing import Any
from unittest.mock import patch
from zipfile import ZipFile

import pytest
from openpyxl import Workbook, load_workbook

from ductcalc.errors import InputError
from ductcalc.tables import read_shop
from tests.scenes import EXAMPLES
from tests.typed import typed

HEAD = ["run", "piece", "machine", "size", "length", "flow"]
ROWS: list[list[Any]] = [
    HEAD,
    ["main", "port", "saw", "4 in", None, "400 cfm"],
    [None, "pipe", None, None, "12 ft", None],
    [None, "collector", None, None, None, None],
]
POINTS: list[list[Any]] = [
    ["item", "flow [cfm]", "pressure [inwg]"], ["blower", 0, 12], ["blower", 800.5, 9.25], ["blower", 1500, 1],
]  # fmt: skip


def book(path: Path, **sheets: list[list[Any]]) -> Path:
    made = Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    made.save(path)
    return path


def cells(file: Path) -> list[list[str]]:
    text = file.read_text(encoding="utf-8-sig")
    header = next(line for line in text.splitlines() if line and not line.startswith("#"))
    return list(csv.reader(text.splitlines(), delimiter=";" if header.count(";") > header.count(",") else ","))


def settings(file: Path) -> list[list[str]]:
    """Return settings as rows, lists and tables written as they stand in the file's own language."""

    def rows(section: str, table: dict[str, Any]) -> list[list[str]]:
        found: list[list[str]] = []
        for key, value in table.items():
            if isinstance(value, dict):
                found += rows(f'{section}.{key if key.isidentifier() else chr(34) + key + chr(34)}'.strip("."), value)
            else:
                found.append([section, key, value if isinstance(value, str) else str(value).lower().replace("'", '"')])
        return found

    return [["section", "key", "value"], *rows("", tomllib.loads(file.read_text(encoding="utf-8")))]


@pytest.mark.parametrize("name", ["creamery", "one-machine"])
def test_a_workbook_gives_the_answer_of_its_tables(tmp_path: Path, name: str) -> None:
    folder = EXAMPLES / name
    sheets = {"duct": cells(folder / "duct.csv"), "collector": cells(folder / "collector.csv")}
    if (folder / "shop.toml").exists():
        sheets["shop"] = settings(folder / "shop.toml")
    path = book(tmp_path / f"{name}.xlsx", **sheets)
    first, second = (typed("check", shop, "--format", "json").stdout for shop in (folder, path))
    assert first and first == second.replace(f"{name}.xlsx, sheet duct", "duct.csv").replace(
        f"{name}.xlsx, sheet collector", "collector.csv"
    )


def test_numbers_in_cells_are_read_with_the_unit_of_their_heading(tmp_path: Path) -> None:
    shop = read_shop(book(tmp_path / "shop.xlsx", duct=ROWS, collector=POINTS))
    assert shop.collectors[0].blower[1].flow_m3_s == pytest.approx(800.5 * 0.3048**3 / 60)
    assert shop.name == "shop"


def test_sheets_are_found_whatever_their_letters_and_order(tmp_path: Path) -> None:
    made = book(tmp_path / "shop.xlsx", **{"notes": [["x"]], "Collector ": POINTS, "DUCT": ROWS})
    assert read_shop(made).collectors[0].blower


def test_settings_stand_in_rows_of_section_key_and_value(tmp_path: Path) -> None:
    rows = [
        ["section", "key", "value"], ["air", "altitude", "1200 ft"], [None, "temperature", "60 F"],
        ["gates.sets", "sawing", '["saw"]'], ["room", "heater", True], ["method", "flex_factor", 2.5],
        ["# a remark", None, None],
    ]  # fmt: skip
    found = read_shop(book(tmp_path / "s.xlsx", duct=ROWS, collector=POINTS, shop=rows)).settings
    assert found.air.altitude_m == pytest.approx(1200 * 0.3048)
    assert (found.gates.sets[0].open, found.room.heater, found.method.flex_factor) == (("saw",), True, 2.5)


def problems(path: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        read_shop(path)
    return [f"{one.place}: {one.message} | {one.hint}" for one in caught.value.problems]


def test_a_fault_is_told_with_its_sheet_row_and_column(tmp_path: Path) -> None:
    rows = [*ROWS[:2], [None, "elbo", None, None, None, None], ROWS[3]]
    (said,) = problems(book(tmp_path / "shop.xlsx", duct=rows, collector=POINTS))
    assert said.startswith("shop.xlsx, sheet duct row 3, column piece (B)") and "did you mean elbow" in said


def test_a_workbook_without_a_duct_sheet_names_those_it_has(tmp_path: Path) -> None:
    (said,) = problems(book(tmp_path / "shop.xlsx", pipes=ROWS))
    assert "no sheet named duct" in said and "pipes" in said


def test_a_formula_that_was_never_computed_is_told(tmp_path: Path) -> None:
    rows = [*ROWS[:2], [None, "pipe", None, None, "=A1", None], ROWS[3]]
    said = problems(book(tmp_path / "shop.xlsx", duct=rows, collector=POINTS))
    assert any("row 3" in one and "formula" in one and "save it" in one for one in said)


def test_a_folder_that_holds_only_a_workbook_names_it(tmp_path: Path) -> None:
    book(tmp_path / "mine.xlsx", duct=ROWS)
    (said,) = problems(tmp_path)
    assert "there is no duct.csv" in said and "mine.xlsx" in said and "by itself" in said


@pytest.mark.parametrize("data", [b"PK\x03\x04 broken", b"not a workbook", b""])
def test_a_broken_workbook_is_told(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "shop.xlsx").write_bytes(data)
    (said,) = problems(tmp_path / "shop.xlsx")
    assert "no workbook" in said and "save it anew" in said


@pytest.mark.parametrize("row", [["air", "altitude", None], ["air", None, "1200 ft"], [None, "altitude", "1 ft"]])
def test_half_a_setting_is_told(tmp_path: Path, row: list[str | None]) -> None:
    (said,) = problems(book(tmp_path / "s.xlsx", duct=ROWS, collector=POINTS, shop=[["section", "key", "value"], row]))
    assert "sheet shop row 2" in said


def test_without_its_library_the_command_that_installs_it_is_named(tmp_path: Path) -> None:
    path = book(tmp_path / "shop.xlsx", duct=ROWS)
    with patch.dict(sys.modules, {"openpyxl": None}):
        answer = typed("check", path)
    assert answer.returncode == 2 and 'pip install "ductcalc[xlsx]"' in answer.stderr


def test_a_page_of_a_workbook_holds_its_tables_as_text(tmp_path: Path) -> None:
    path = book(tmp_path / "shop.xlsx", duct=ROWS, collector=POINTS)
    typed("page", path, "--output", tmp_path / "shop.html")
    said = (tmp_path / "shop.html").read_text(encoding="utf-8")
    assert 'download="duct.csv"' in said and 'download="collector.csv"' in said


# out


@pytest.mark.parametrize(
    "words", [("check",), ("tree",), ("losses",), ("gates",), ("parts",), ("draw",), ("chart",), ("need",)]
)
def test_a_report_s_workbook_holds_the_lines_of_its_csv(tmp_path: Path, words: tuple[str, ...]) -> None:
    shop = EXAMPLES / "creamery"
    lines = list(csv.reader(typed(*words, shop, "--format", "csv").stdout.splitlines()))
    assert typed(*words, shop, "--output", tmp_path / "out.xlsx").returncode in (0, 1)
    sheet = load_workbook(tmp_path / "out.xlsx").active
    rows = [["" if cell is None else cell for cell in row] for row in sheet.iter_rows(values_only=True)]
    assert len(rows) == len(lines) > 1
    for row, line in zip(rows, lines, strict=True):
        for cell, text in zip(row, line, strict=True):
            assert (float(text) == cell) if isinstance(cell, int | float) else cell == text


def test_a_workbook_tells_no_time(tmp_path: Path) -> None:
    typed("tree", EXAMPLES / "one-machine", "--output", tmp_path / "out.xlsx")
    with ZipFile(tmp_path / "out.xlsx") as made:
        times = re.findall(rb"\d{4}-\d\d-\d\dT", made.read("docProps/core.xml"))
        assert times and set(times) == {b"2000-01-01T"}
        assert {info.date_time for info in made.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_no_text_of_a_workbook_is_a_formula(tmp_path: Path) -> None:
    rows = [HEAD, ["main", "port", "@saw", "4 in", None, "400 cfm"], *ROWS[2:]]
    (tmp_path / "shop").mkdir()
    with (tmp_path / "shop" / "duct.csv").open("w", newline="") as file:
        csv.writer(file).writerows(["" if cell is None else cell for cell in row] for row in rows)
    with (tmp_path / "shop" / "collector.csv").open("w", newline="") as file:
        csv.writer(file).writerows(POINTS)
    typed("check", tmp_path / "shop", "--output", tmp_path / "out.xlsx")
    made = [cell for row in load_workbook(tmp_path / "out.xlsx").active.iter_rows() for cell in row]
    assert any("@saw" in str(cell.value) for cell in made)
    assert all(cell.data_type != "f" for cell in made)
    typed("tree", tmp_path / "shop", "--output", tmp_path / "tree.xlsx")
    assert all(c.data_type != "f" for row in load_workbook(tmp_path / "tree.xlsx").active.iter_rows() for c in row)


def test_out_without_the_library_names_the_command_that_installs_it(tmp_path: Path) -> None:
    with patch.dict(sys.modules, {"openpyxl": None}):
        answer = typed("check", EXAMPLES / "creamery", "--output", tmp_path / "out.xlsx")
    assert answer.returncode == 2 and 'pip install "ductcalc[xlsx]"' in answer.stderr
    assert not (tmp_path / "out.xlsx").exists()

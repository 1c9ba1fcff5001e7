"""`ductcalc parts`: exit codes, the three forms, what lies around and prices, files that are kept."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run

STOCK = "piece,size,length,count\ngate,5 in,,1\npipe,5 in,12 ft,1\n"
PRICES = "piece;price;note\ngate;12,50;für später\n"


@pytest.fixture
def stock(tmp_path: Path) -> Path:
    path = tmp_path / "stock.csv"
    path.write_text(STOCK, encoding="utf-8")
    return path


def test_a_list_is_made_whatever_the_machines_get(run: Run, shop: Path) -> None:
    assert run("check", shop).returncode == 1
    answer = run("parts", shop)
    assert (answer.returncode, answer.stderr) == (0, "")
    assert answer.stdout.startswith("Buy ")


@pytest.mark.parametrize("form", ["text", "csv", "json"])
def test_the_three_forms(run: Run, shop: Path, form: str) -> None:
    answer = run("parts", shop, "--format", form)
    assert answer.returncode == 0
    if form == "csv":
        assert {row["part"] for row in csv.DictReader(io.StringIO(answer.stdout))} >= {"pipe", "hose", "gate"}
    if form == "json":
        assert json.loads(answer.stdout)["shop"] == "cellar"


def test_json_does_not_depend_on_the_units_shown(run: Run, shop: Path) -> None:
    inch = run("parts", shop, "--format", "json", "--units", "inch").stdout
    assert inch == run("parts", shop, "--format", "json", "--units", "metric").stdout


def test_units_change_what_is_shown_and_nothing_else(run: Run, shop: Path) -> None:
    inch, metric = run("parts", shop).stdout, run("parts", shop, "--units", "metric").stdout
    assert inch.splitlines()[0] == metric.splitlines()[0]
    assert "101.6 mm" in metric and "3.048 m" in metric


def test_what_lies_around_is_subtracted(run: Run, shop: Path, stock: Path) -> None:
    bare = json.loads(run("parts", shop, "--format", "json").stdout)
    answer = json.loads(run("parts", shop, "--have", stock, "--format", "json").stdout)

    def gates(document: dict[str, list[dict[str, object]]]) -> list[object]:
        return [i["buy"] for i in document["items"] if i["part"] == "gate" and i["sizes_m"] == [0.127]]

    before, after = gates(bare), gates(answer)
    assert len(before) == len(after) == 1
    assert int(str(before[0])) - int(str(after[0])) == 1


def test_prices_are_summed_and_remarks_on_the_file_told(run: Run, shop: Path, tmp_path: Path) -> None:
    (tmp_path / "prices.csv").write_text(PRICES, encoding="cp1252")
    answer = run("parts", shop, "--prices", "prices.csv")
    assert answer.returncode == 0
    assert "remark: prices.csv " in answer.stderr and "1252" in answer.stderr
    assert "37.50" in answer.stdout.split("\n\n")[0]


@pytest.mark.parametrize("option", ["--have", "--prices"])
def test_nonsense_lists_are_told_and_nothing_is_written(run: Run, shop: Path, tmp_path: Path, option: str) -> None:
    (tmp_path / "list.csv").write_text("piece,size,price\ngaet,4 in,x\n", encoding="utf-8")
    answer = run("parts", shop, option, "list.csv", "--output", "said.txt")
    assert (answer.returncode, answer.stdout) == (2, "")
    assert "list.csv row 2" in answer.stderr and "did you mean gate?" in answer.stderr
    assert not (tmp_path / "said.txt").exists()


def test_a_list_that_is_not_there_is_told(run: Run, shop: Path) -> None:
    answer = run("parts", shop, "--have", "nowhere.csv")
    assert answer.returncode == 2 and "nowhere.csv" in answer.stderr


def test_output_never_replaces_the_list_of_what_lies_around(run: Run, shop: Path, stock: Path) -> None:
    answer = run("parts", shop, "--have", stock, "--output", stock, "--force")
    assert answer.returncode == 2 and stock.read_text(encoding="utf-8") == STOCK


def test_output_file_holds_what_a_pipe_shows(run: Run, shop: Path, tmp_path: Path) -> None:
    piped = run("parts", shop).stdout
    assert run("parts", shop, "--output", "said.txt").returncode == 0
    assert (tmp_path / "said.txt").read_text(encoding="utf-8") == piped
    assert run("parts", shop, "--output", "said.txt").returncode == 2
    assert run("parts", shop, "--output", "said.txt", "--force").returncode == 0


def test_a_shop_without_a_collector_is_enough(run: Run, shop: Path) -> None:
    (shop / "collector.csv").unlink()
    answer = run("parts", shop)
    assert answer.returncode == 0 and answer.stdout.startswith("Buy ")


def test_what_if_changes_the_list(run: Run, shop: Path) -> None:
    answer = run("parts", shop, "--with", "main: pipe 1 length = 20 ft")
    assert answer.returncode == 0, answer.stderr
    assert "Changed: main: pipe 1 length = 20 ft" in answer.stdout


def test_names_that_are_hard_to_print_reach_an_ascii_console(run: Run, annex: Path) -> None:
    answer = run("parts", annex, "--format", "json", encoding="ascii")
    assert answer.returncode == 0 and answer.stdout.isascii()

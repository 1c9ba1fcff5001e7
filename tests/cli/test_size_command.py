"""`ductcalc size`: exit codes, the three forms, one run, what is loaded."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.conftest import ROOT, Run
from tests.cli.test_gates_command import write


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write(tmp_path / "small")


class TestExitCodes:
    def test_found(self, run: Run, folder: Path) -> None:
        answer = run("size", folder)
        assert (answer.returncode, answer.stderr) == (0, "")
        assert answer.stdout.startswith("Yes: with these sizes both sets are fine")

    def test_none(self, run: Run, tmp_path: Path) -> None:
        answer = run("size", write(tmp_path / "greedy", saw="1200 cfm"))
        assert answer.returncode == 1
        assert "cannot be had" in answer.stdout.splitlines()[0]

    def test_input(self, run: Run, tmp_path: Path) -> None:
        answer = run("size", tmp_path / "nowhere")
        assert (answer.returncode, answer.stdout) == (2, "")
        assert "hint:" in answer.stderr

    def test_usage(self, run: Run, folder: Path) -> None:
        answer = run("size", folder, "--drop", "drop", "--keep", "main")
        assert (answer.returncode, answer.stdout) == (2, "")

    def test_unknown_run(self, run: Run, folder: Path) -> None:
        for option in ("--drop", "--keep"):
            answer = run("size", folder, option, "drip")
            assert (answer.returncode, answer.stdout) == (2, "")
            assert "did you mean drop?" in answer.stderr

    def test_no_answer(self, run: Run, tmp_path: Path) -> None:
        early = write(tmp_path / "early")
        table = "item,flow,pressure\nblower,0 cfm,14 inwg\nblower,100 cfm,13 inwg\ncyclone,,none\nfilter clean,,none\n"
        (early / "collector.csv").write_text(table, encoding="utf-8")
        answer = run("size", early)
        assert answer.returncode == 3 and "no answer" in answer.stdout
        assert run("size", early, "--drop", "drop").returncode == 3


def test_csv_has_a_line_for_each_stretch(run: Run, folder: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(run("size", folder, "--format", "csv").stdout)))
    assert [row["stretch"] for row in rows] == ["main 1", "main 2", "drop 1"]
    assert all(float(row["take_in"]) >= 3.0 and row["why"] for row in rows)


def test_json_is_si_and_the_same_every_time(run: Run, folder: Path) -> None:
    first, second = (run("size", folder, "--format", "json").stdout for _ in range(2))
    assert first == second
    document = json.loads(first)
    assert document["found"] is True and document["proven"] is True
    assert document["cost_then_kg"] == pytest.approx(document["bound_kg"])
    sizes = {row["stretch"]: row["chosen_m"][0] for row in document["stretches"]}
    shown = csv.DictReader(io.StringIO(run("size", folder, "--format", "csv", "--units", "metric").stdout))
    assert {row["stretch"]: float(row["take_mm"]) for row in shown} == pytest.approx(
        {name: 1000.0 * size for name, size in sizes.items()}, rel=1e-5
    )
    assert all(entry["then"]["fine"] for entry in document["sets"])


def test_one_run_in_all_three_forms(run: Run, folder: Path) -> None:
    text = run("size", folder, "--drop", "drop").stdout
    document = json.loads(run("size", folder, "--drop", "drop", "--format", "json").stdout)
    rows = list(csv.DictReader(io.StringIO(run("size", folder, "--drop", "drop", "--format", "csv").stdout)))
    assert text.startswith(("Take ", "No size of drop"))
    assert [row["verdict"] == "OK" for row in rows] == [size["all_fine"] for size in document["sizes"]]
    assert document["sets"] == ["sander"] and len(rows) == 9


def test_a_what_if_is_said_and_counts(run: Run, folder: Path) -> None:
    plain = run("size", folder).stdout
    answer = run("size", folder, "--with", "main: port 1 flow = 900 cfm").stdout
    assert "Changed: " in answer and answer.splitlines()[0] != plain.splitlines()[0]


def test_text_loads_neither_pandas_nor_pint(folder: Path) -> None:
    told = f"run(['size', {str(folder)!r}])\nprint(*sys.modules, file=sys.stderr)"
    code = f"import sys\nfrom ductcalc.cli.app import run\n{told}"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert {"pandas", "pint"}.isdisjoint(found.stderr.split())


def test_write_makes_a_shop_with_the_sizes_told(run: Run, folder: Path, tmp_path: Path) -> None:
    answer = run("size", folder, "--write", tmp_path / "new", "--format", "csv")
    assert answer.returncode == 0 and "written: " in answer.stderr
    again = run("size", tmp_path / "new", "--format", "csv")
    rows = [list(csv.DictReader(io.StringIO(one.stdout))) for one in (answer, again)]
    assert [row["take_in"] for row in rows[0]] == [row["take_in"] for row in rows[1]]
    assert [row["now_in"] for row in rows[1]] == [row["take_in"] for row in rows[0]]
    second = run("size", folder, "--write", tmp_path / "new")
    assert (second.returncode, second.stdout) == (2, "") and "there already" in second.stderr
    assert run("size", folder, "--write", tmp_path / "other", "--with", "drop: port 1 k = 2").returncode == 2

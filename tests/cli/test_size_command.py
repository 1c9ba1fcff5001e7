"""`ductcalc size`: exit codes, the three forms, one run, what is loaded."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.cli.test_gates_command import write


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write(tmp_path / "small")


@pytest.fixture
def wide(folder: Path) -> Path:
    """The small shop with a long main of 6 in, which size makes smaller."""
    duct = (folder / "duct.csv").read_text(encoding="utf-8")
    main = ",wye,,,6 in,,drop,,\n,pipe,,spiral,,20 ft,,,\n"
    (folder / "duct.csv").write_text(duct.replace(",wye,,,5 in,,drop,,\n", main), encoding="utf-8")
    return folder


class TestExitCodes:
    def test_found(self, run: Run, folder: Path) -> None:
        answer = run("size", folder)
        assert (answer.returncode, answer.stderr) == (0, "")
        assert answer.stdout.startswith(("Take these sizes", "Keep the sizes"))

    def test_none(self, run: Run, tmp_path: Path) -> None:
        answer = run("size", write(tmp_path / "greedy", saw="1200 cfm"))
        assert answer.returncode == 1

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
        assert answer.returncode == 3
        assert run("size", early, "--drop", "drop").returncode == 3


def ending_early(folder: Path, last: str = "100 cfm,13 inwg") -> Path:
    """Write the small shop with a blower whose points end too soon."""
    write(folder)
    table = f"item,flow,pressure\nblower,0 cfm,14 inwg\nblower,{last}\ncyclone,,none\nfilter clean,,none\n"
    (folder / "collector.csv").write_text(table, encoding="utf-8")
    return folder


class TestNoAnswer:
    def test_one_run_says_that_the_points_end(self, run: Run, tmp_path: Path) -> None:
        text = " ".join(run("size", ending_early(tmp_path / "early"), "--drop", "drop").stdout.split())
        assert "points end at 100 cfm" in text and "comes nearest" not in text


def test_added_costs_in_csv_are_those_of_json(run: Run, tmp_path: Path) -> None:
    folder = write(tmp_path / "greedy", saw="600 cfm")
    rows = list(csv.DictReader(io.StringIO(run("size", folder, "--format", "csv").stdout)))
    costs = [float(row[f"{side}_added_cost_lb"]) for row in rows for side in ("down", "up") if row[f"{side}_in"]]
    assert costs and max(costs) > 0.0
    document = json.loads(run("size", folder, "--format", "json").stdout)
    sides = [row[side] for row in document["stretches"] for side in ("down", "up") if row[side] is not None]
    assert [cost * 0.45359237 for cost in costs] == pytest.approx([side["added_cost_kg"] for side in sides], rel=1e-5)


def test_the_speed_that_a_run_needs_is_that_of_a_check(run: Run, folder: Path) -> None:
    case = json.loads(run("check", folder, "--format", "json").stdout)["cases"][0]
    needed = {s["needed_velocity_m_s"] for s in case["sections"] if s["needed_velocity_m_s"] is not None}
    rows = list(csv.DictReader(io.StringIO(run("size", folder, "--drop", "drop", "--format", "csv").stdout)))
    assert {round(float(row["needs_fpm"]) * 0.00508, 3) for row in rows} == {round(one, 3) for one in needed}
    assert all(float(row["settles_below_fpm"]) <= float(row["needs_fpm"]) for row in rows)


def test_what_a_set_lacks_is_not_called_the_most(run: Run, tmp_path: Path) -> None:
    folder = write(tmp_path / "greedy")
    table = "item,flow,pressure\nblower,0 cfm,5 inwg\nblower,300 cfm,3 inwg\nblower,420 cfm,0 inwg\n"
    (folder / "collector.csv").write_text(table + "cyclone,,none\nfilter clean,,none\n", encoding="utf-8")
    (folder / "shop.toml").write_text('[gates.sets]\nboth = ["saw", "sander"]\n', encoding="utf-8")
    first = " ".join(run("size", folder, "--sets-only").stdout.split("\n\n")[0].split())
    assert '"both"' in first and "is the most" not in first


def test_csv_has_a_line_for_each_stretch(run: Run, folder: Path) -> None:
    rows = list(csv.DictReader(io.StringIO(run("size", folder, "--format", "csv").stdout)))
    assert [row["stretch"] for row in rows] == ["main 1", "main 2", "drop 1"]
    assert all(float(row["take_in"]) >= 3.0 and row["why"] for row in rows)


def test_json_is_si_and_the_same_every_time(run: Run, folder: Path) -> None:
    first, second = (run("size", folder, "--format", "json").stdout for _ in range(2))
    assert first == second
    document = json.loads(first)
    assert document["found"] is True and document["cost_then_kg"] > 0.0
    assert not {"proven", "bound_kg", "impossible", "giving"} & document.keys()
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
    assert "drop" in text.splitlines()[0]
    assert [row["verdict"] for row in rows] == [size["word"] for size in document["sizes"]]
    assert [row["verdict"] in ("ok", "slow") for row in rows] == [size["all_fine"] for size in document["sizes"]]
    assert len({row["verdict"] for row in rows}) > 2
    assert document["sets"] == ["sander"] and len(rows) == 9


def test_a_what_if_is_said_and_counts(run: Run, folder: Path) -> None:
    plain = run("size", folder).stdout
    answer = run("size", folder, "--with", "main: port 1 flow = 900 cfm").stdout
    assert "Changed: " in answer
    assert ("2/2" in plain, "1/2" in plain) == (True, False) and ("2/2" in answer, "1/2" in answer) == (False, True)


def test_report_is_not_written_where_the_shop_cannot_be(run: Run, wide: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("no folder")
    answer = run("size", wide, "--output", tmp_path / "said.txt", "--write", tmp_path / "file" / "new")
    assert answer.returncode == 2 and "cannot be written" in answer.stderr
    assert not (tmp_path / "said.txt").exists()


def test_shop_is_not_written_where_the_report_cannot_be(
    run: Run, wide: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        assert (tmp_path / "deep" / "new" / "duct.csv").exists()
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("ductcalc.tables.writing.write_whole", full)
    answer = run("size", wide, "--output", tmp_path / "said.txt", "--write", tmp_path / "deep" / "new")
    assert answer.returncode == 2 and "no space left" in answer.stderr
    assert not (tmp_path / "deep").exists() and not (tmp_path / "said.txt").exists()


def test_report_never_takes_the_place_of_a_table_of_the_new_shop(run: Run, folder: Path, tmp_path: Path) -> None:
    (tmp_path / "new").mkdir()
    answer = run("size", folder, "--output", tmp_path / "new" / "duct.csv", "--force", "--write", tmp_path / "new")
    assert answer.returncode == 2 and "own tables" in answer.stderr
    assert list((tmp_path / "new").iterdir()) == []


def test_write_makes_a_shop_with_the_sizes_told(run: Run, wide: Path, tmp_path: Path) -> None:
    answer = run("size", wide, "--write", tmp_path / "new", "--format", "csv")
    assert answer.returncode == 0 and "written: " in answer.stderr
    again = run("size", tmp_path / "new", "--format", "csv")
    rows = [list(csv.DictReader(io.StringIO(one.stdout))) for one in (answer, again)]
    assert [row["take_in"] for row in rows[0]] == [row["take_in"] for row in rows[1]]
    assert [row["now_in"] for row in rows[1]] == [row["take_in"] for row in rows[0]]
    second = run("size", wide, "--write", tmp_path / "new")
    assert (second.returncode, second.stdout) == (2, "") and "there already" in second.stderr
    assert run("size", wide, "--write", tmp_path / "other", "--with", "drop: port 1 k = 2").returncode == 2


def test_sizes_that_stay_as_written_are_not_written_again(run: Run, folder: Path, tmp_path: Path) -> None:
    answer = run("size", folder, "--write", tmp_path / "new")
    assert answer.returncode == 2 and "nothing was written" in answer.stderr
    assert not (tmp_path / "new").exists()

"""What a need says: the duty in the first line, the names of its figures, the CSV that a fan chart is laid over."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path

import pytest

from tests.report.answered import answered, text
from tests.scenes import CFM, INCH_WATER, SHOPS
from tests.typed import typed

BARN, CELLAR = (f"tests/report/shops/{name}" for name in ("barn", "cellar"))


def test_the_first_line_tells_air_pressure_and_the_case_that_decides() -> None:
    said = text("need", BARN).replace("\u00a0", " ").split(". ")[0]
    document = json.loads(answered("need", BARN).json)
    first = next(case for case in document["cases"] if case["case"] == document["deciding"][0])
    assert f"{first['flow_m3_s'] / CFM:.0f} cfm" in said
    assert f"{first['rated_static_pa'] / INCH_WATER:.1f} in of water of fan static pressure" in said
    assert f"the {first['case']} alone" in said and "dirty filter and cyclone included" in said


def test_where_several_machines_decide_one_machine_at_a_time_is_told_too() -> None:
    alone = ("--open", "sander", "--open", "lathe")
    words = ("need", BARN, "--open", "lathe, sander", *alone)
    cases = {case["case"]: case for case in json.loads(answered(*words).json)["cases"]}
    sander, lathe = (cases[name] for name in ("sander", "lathe"))
    assert all(sander[key] > lathe[key] for key in ("flow_m3_s", "rated_static_pa"))
    duty = f"{sander['flow_m3_s'] / CFM:.0f} cfm at {sander['rated_static_pa'] / INCH_WATER:.1f} in of water"
    said = " ".join(text(*words).replace("\u00a0", " ").split())
    assert f"For one machine at a time: {duty} (the sander alone)." in said
    assert "For one machine" not in text("need", BARN, *alone)


def test_json_bears_the_names_that_were_agreed() -> None:
    case = json.loads(answered("need", CELLAR, "--set", "ripping").json)["cases"][0]
    pressures = {"static_pa", "total_pa", "fan_static_pa", "fan_total_pa"}
    assert {"case", "flow_m3_s", "worst", "paths"} | pressures <= case.keys()
    assert case["worst"].keys() == {"machine", "run"}
    assert {"machine", "run", "need_pa", "excess_pa", "gate_opening"} <= case["paths"][0].keys()
    assert min(path["excess_pa"] for path in case["paths"]) == 0.0
    assert max(path["need_pa"] for path in case["paths"]) == pytest.approx(case["total_pa"], rel=1e-12)


def test_csv_has_a_line_for_each_branch_and_the_figures_of_json() -> None:
    found = answered("need", CELLAR, "--set", "ripping")
    rows = list(csv.DictReader(io.StringIO(found.csv)))
    case = json.loads(found.json)["cases"][0]
    assert [row["run"] for row in rows] == [path["run"] for path in case["paths"]]
    for row, path in zip(rows, case["paths"], strict=True):
        assert float(row["fan_static_inwg"]) == pytest.approx(case["fan_static_pa"] / INCH_WATER, rel=1e-5)
        assert float(row["excess_inwg"]) == pytest.approx(path["excess_pa"] / INCH_WATER, rel=1e-5, abs=1e-9)
        assert row["decides"] == ("yes" if path["excess_pa"] == 0.0 else "no")


def test_the_system_curve_is_the_csv_where_it_is_asked_for() -> None:
    found = answered("need", CELLAR, "--set", "ripping", "--system-curve")
    rows, points = list(csv.DictReader(io.StringIO(found.csv))), json.loads(found.json)["system_curve"]
    assert len(rows) == len(points) == 15
    for row, point in zip(rows, points, strict=True):
        assert float(row["flow_cfm"]) == pytest.approx(point["flow_m3_s"] / CFM, rel=1e-5)
        assert float(row["total_suction_inwg"]) == pytest.approx(point["total_pa"] / INCH_WATER, rel=1e-5)


def test_the_opening_of_each_gate_stands_in_the_text() -> None:
    found = json.loads(answered("need", CELLAR, "--set", "ripping").json)["cases"][0]["paths"]
    said = text("need", CELLAR, "--set", "ripping")
    set_back = [path for path in found if path["gate_run"]]
    assert set_back
    for path in set_back:
        assert f"{100.0 * path['gate_opening']:.0f}" in said


def tables(folder: Path) -> tuple[Path, Path]:
    weak, strong = folder / "weak.csv", folder / "strong.csv"
    weak.write_text("item,flow,pressure\nadvertised,400 cfm,3 inwg\n", "utf-8")
    strong.write_text("item,flow,pressure\nblower,0 cfm,20 inwg\nblower,1200 cfm,12 inwg\n", "utf-8")
    return weak, strong


def test_of_many_branches_ten_have_a_line_and_the_others_are_counted() -> None:
    words = ("need", "examples/joinery-class")
    cases = json.loads(answered(*words).json)["cases"]
    count = sum(len(case["paths"]) for case in cases if len(case["paths"]) > 1)
    said = text(*words).splitlines()
    first = next(n for n, line in enumerate(said) if line.startswith("open") and "gate open" in line) + 2
    last = said.index(f"... and {count - 10} more branches: --full.")
    named = [line for line in said[first:last] if re.search(r" \d+\.\d  ", line) or re.search(r" \d+  ", line)]
    assert count > 10 and len(named) == 10


def test_candidates_stand_in_a_table_with_what_each_has_to_spare(tmp_path: Path) -> None:
    weak, strong = tables(tmp_path)
    said = typed("need", BARN, "--open", "sander", "--collector", weak, "--collector", strong, width=80)
    assert "weak.csv (box" in said.stdout and "Provisional" in said.stdout
    document = json.loads(
        typed("need", BARN, "--open", "sander", "--collector", weak, "--collector", strong, "--format", "json").stdout
    )
    for one in document["candidates"]:
        margin = one["cases"][0]["margin_pa"]
        shown = "curve ends" if margin is None else f"{'+' if margin >= 0 else ''}{margin / INCH_WATER:.1f}"
        assert shown in said.stdout
    assert [one["provisional"] for one in document["candidates"]] == [True, False]


def test_of_many_cases_in_which_a_candidate_lets_chips_settle_two_are_named_and_the_others_counted() -> None:
    words = ("need", "examples/creamery", "--collector", "tests/report/shops/cellar/collector.csv")
    candidate = json.loads(answered(*words).json)["candidates"][-1]
    first, second, *others = [case["case"] for case in candidate["cases"] if case["chips"] == "settles"]
    assert others
    said = " ".join(text(*words).replace("\u00a0", " ").split())
    assert f"chips settle: {first}, {second} and {len(others)} more" in said


def test_where_no_collector_serves_all_the_one_with_air_in_most_cases_comes_nearest(tmp_path: Path) -> None:
    weak, _ = tables(tmp_path)
    other = "tests/report/shops/cellar/collector.csv"
    words = ("need", "examples/creamery", "--collector", str(weak), "--collector", other)
    candidates = json.loads(answered(*words).json)["candidates"]
    air = {one["collector"]: sum(case["air"] == "ok" for case in one["cases"]) for one in candidates}
    assert len(set(air.values())) == len(air) == 3
    said = " ".join(text(*words).split())
    assert f"{max(air, key=lambda name: air[name])} comes nearest" in said


def test_a_candidate_without_a_curve_is_refused(tmp_path: Path) -> None:
    parts = tmp_path / "parts.csv"
    parts.write_text("item,flow,pressure\ncyclone,800 cfm,2 inwg\n", "utf-8")
    said = typed("need", BARN, "--collector", parts)
    assert said.returncode == 2 and "no blower curve" in said.stderr and "parts.csv row 2" in said.stderr


@pytest.mark.parametrize("command", ["check", "losses", "card", "improve"])
def test_commands_that_need_a_curve_name_the_one_that_does_not(command: str) -> None:
    said = typed(command, BARN)
    assert said.returncode == 2 and not said.stdout
    assert "ductcalc need SHOP" in said.stderr


def test_a_curve_file_is_written_like_any_other_report(tmp_path: Path) -> None:
    target = tmp_path / "curve.csv"
    words = ("need", SHOPS / "cellar", "--set", "ripping", "--system-curve", "--output", target)
    assert typed(*words).returncode == 1
    assert target.read_text("utf-8").startswith("case,share_of_wanted,flow_cfm")
    assert typed(*words).returncode == 2

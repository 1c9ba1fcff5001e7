"""`ductcalc diagnose`: which log it reads, its forms, and what it refuses."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.typed import ROOT, typed

SHOP = "examples/creamery"


def test_the_first_line_names_fault_place_and_chance() -> None:
    ran = typed("diagnose", SHOP)
    first = " ".join(ran.stdout.split())[:160]
    assert ran.returncode == 1
    assert first.startswith("Most likely") and "planer drop" in first and "%" in first


def test_json_holds_faults_whose_chances_add_up() -> None:
    faults = json.loads(typed("diagnose", SHOP, "--format", "json").stdout)["faults"]
    assert {"kind", "where", "size", "probability"} <= set(faults[0])
    assert sum(fault["probability"] for fault in faults) == pytest.approx(1.0)


def test_csv_has_a_line_for_each_fault() -> None:
    faults = json.loads(typed("diagnose", SHOP, "--format", "json").stdout)["faults"]
    lines = typed("diagnose", SHOP, "--format", "csv").stdout.splitlines()
    assert len(lines) == len(faults) + 1
    assert lines[1].startswith(f"{faults[0]['kind']},{faults[0]['where']},")


def test_another_log_is_read_when_it_is_named(tmp_path: Path) -> None:
    log = tmp_path / "other.csv"
    log.write_text("when,open,where,value\n2026-05-01,planer,collector inlet,10.9 inwg\n,,filter,0.5 inwg\n")
    ran = typed("diagnose", SHOP, "--readings", log)
    assert ran.returncode == 0
    assert "no fault shows" in " ".join(ran.stdout.split())


def test_a_shop_without_readings_is_told_how_to_begin(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "examples/one-machine", tmp_path / "shop")
    ran = typed("diagnose", tmp_path / "shop")
    assert ran.returncode == 2
    assert "expect" in ran.stderr and "--readings" in ran.stderr


def test_problems_of_the_log_come_together(tmp_path: Path) -> None:
    log = tmp_path / "bad.csv"
    log.write_text("when,open,where,value\nsoon,plner,port nowhere,2\n")
    ran = typed("diagnose", SHOP, "--readings", log)
    assert ran.returncode == 2
    assert "4 problems in bad.csv" in ran.stderr


@pytest.mark.parametrize("width", [60, 80])
@pytest.mark.parametrize("full", [[], ["--full"]])
def test_the_diagnosis_fits_the_page(width: int, full: list[str]) -> None:
    ran = typed("diagnose", SHOP, *full, width=width)
    assert max(map(len, ran.stdout.splitlines())) <= width


def test_no_report_overwrites_the_log(tmp_path: Path) -> None:
    shutil.copytree(ROOT / SHOP, tmp_path / "shop")
    before = (tmp_path / "shop/readings.csv").read_bytes()
    ran = typed("diagnose", tmp_path / "shop", "--output", tmp_path / "shop/readings.csv", "--force")
    assert ran.returncode == 2
    assert (tmp_path / "shop/readings.csv").read_bytes() == before

"""`ductcalc expect`: its forms, and the form to fill in."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.typed import typed

SHOP = "examples/creamery"


def test_json_holds_exactly_these_figures_of_a_tap() -> None:
    taps = json.loads(typed("expect", SHOP, "--open", "planer", "--format", "json").stdout)["taps"]
    assert all(set(tap) == {"case", "where", "static_pa", "speed_m_s", "low_pa", "high_pa"} for tap in taps)
    assert {tap["case"] for tap in taps} == {"planer"}


def test_the_first_line_says_what_a_tube_reads_at_the_inlet() -> None:
    ran = typed("expect", SHOP, "--open", "planer")
    tap = next(t for t in json.loads(typed("expect", SHOP, "--open", "planer", "--format", "json").stdout)["taps"]
               if t["where"] == "collector inlet")  # fmt: skip
    assert ran.returncode == 0
    assert f"{tap['static_pa'] / 249.0889:.1f}" in ran.stdout.splitlines()[0]


@pytest.mark.parametrize("width", [60, 80])
@pytest.mark.parametrize("full", [[], ["--full"]])
def test_the_sheet_fits_the_page(width: int, full: list[str]) -> None:
    ran = typed("expect", SHOP, *full, width=width)
    assert max(map(len, ran.stdout.splitlines())) <= width


def test_readings_csv_is_a_form_and_is_never_overwritten(tmp_path: Path) -> None:
    form = tmp_path / "readings.csv"
    assert typed("expect", SHOP, "--output", form).returncode == 0
    lines = form.read_text().splitlines()
    assert lines[0] == "when,open,where,kind,value,instrument,uncertainty,healthy,note"
    assert lines[1].startswith(",resaw,port trunk,static,,")
    assert typed("expect", SHOP, "--output", form, "--force").returncode == 2
    assert form.read_text().splitlines() == lines


def test_the_two_systems_of_units_show_the_same_suction() -> None:
    inch, metric = (
        typed("expect", SHOP, "--format", "csv", "--units", units).stdout.splitlines() for units in ("inch", "metric")
    )
    assert float(inch[1].split(",")[2]) * 249.0889 == pytest.approx(float(metric[1].split(",")[2]), rel=1e-4)

"""`chart` as typed: its two pictures and their forms."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from xml.etree.ElementTree import fromstring

import pytest

from tests.cli.conftest import Run
from tests.scenes import EXAMPLES

CREAMERY = EXAMPLES / "creamery"


@pytest.mark.parametrize("width", [60, 80])
@pytest.mark.parametrize("along", [(), ("--along", "planer")])
def test_a_terminal_holds_the_chart(run: Run, along: tuple[str, ...], width: int) -> None:
    answer = run("chart", CREAMERY, *along, width=width)
    assert answer.returncode == 1
    assert max(map(len, answer.stdout.splitlines())) <= width
    assert "planer" in answer.stdout


def test_flows_in_the_key_are_those_of_the_json(run: Run) -> None:
    told = json.loads(run("chart", CREAMERY, "--open", "planer", "--format", "json").stdout)
    (case,) = told["cases"]
    said = run("chart", CREAMERY, "--open", "planer").stdout
    for state in ("loaded", "clean"):
        assert f"{case['meets'][state]['flow_m3_s'] / (0.3048**3 / 60):.0f} cfm" in said


def test_csv_holds_every_curve(run: Run) -> None:
    rows = list(csv.DictReader(run("chart", CREAMERY, "--format", "csv").stdout.splitlines()))
    assert {row["curve"] for row in rows} == {
        "blower", "clean", "dirty", "system", "point", "meets, dirty filter", "meets, clean filter", "duty",
    }  # fmt: skip


@pytest.mark.parametrize("along", [(), ("--along", "planer")])
def test_a_file_that_ends_in_svg_is_a_picture(run: Run, tmp_path: Path, along: tuple[str, ...]) -> None:
    assert run("chart", CREAMERY, *along, "--output", "curve.svg").returncode == 1
    assert fromstring((tmp_path / "curve.svg").read_text(encoding="utf-8")).get("role") == "img"


def test_the_way_of_a_machine_that_is_not_there_is_refused(run: Run) -> None:
    answer = run("chart", CREAMERY, "--along", "plainer")
    assert answer.returncode == 2 and "planer" in answer.stderr


def test_the_way_of_several_cases_is_refused(run: Run) -> None:
    answer = run("chart", CREAMERY, "--along", "planer", "--open", "planer", "--open", "resaw")
    assert answer.returncode == 2 and "one case" in answer.stderr


def test_a_case_without_an_answer_ends_with_3(run: Run, tmp_path: Path) -> None:
    (tmp_path / "duct.csv").write_text(
        "run,piece,machine,size,length,flow\nmain,port,saw,8 in,,400 cfm\n,pipe,,8 in,2 ft,\n,collector,,,,\n"
    )
    (tmp_path / "collector.csv").write_text(
        "item,flow,pressure\nblower,0 cfm,9 inwg\nblower,300 cfm,8.9 inwg\ncyclone,,none\nfilter clean,,none\n"
    )
    answer = run("chart", tmp_path)
    assert answer.returncode == 3 and "no answer" in answer.stdout

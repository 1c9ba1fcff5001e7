"""`draw` as typed: its forms, its refusals, and what a missing library says."""

from __future__ import annotations

import csv
import importlib.util
import json
import sys
from pathlib import Path
from unittest.mock import patch
from xml.etree.ElementTree import fromstring

import pytest

from tests.cli.conftest import Run
from tests.scenes import EXAMPLES

CREAMERY = EXAMPLES / "creamery"


@pytest.mark.parametrize("width", [60, 80])
def test_a_terminal_holds_the_picture_and_every_machine(run: Run, width: int) -> None:
    answer = run("draw", CREAMERY, width=width)
    assert answer.returncode == 0
    assert max(map(len, answer.stdout.splitlines())) <= width
    for name in ("resaw", "fret bench", "router table", "level line", "hose gate"):
        assert name in answer.stdout


def test_an_ascii_pipe_gets_ascii_lines(run: Run) -> None:
    answer = run("draw", CREAMERY, encoding="ascii")
    assert answer.stdout.isascii() and "+--" in answer.stdout and "\\u" not in answer.stdout


def test_air_of_a_case_is_the_one_that_check_tells(run: Run) -> None:
    said = run("draw", CREAMERY, "--open", "planer")
    case = json.loads(run("check", CREAMERY, "--open", "planer", "--format", "json").stdout)["cases"][0]
    drawn = json.loads(run("draw", CREAMERY, "--open", "planer", "--format", "json").stdout)
    planer = next(one for one in case["machines"] if one["machine"] == "planer")
    assert said.returncode == 1
    assert next(one for one in drawn["machines"] if one["machine"] == "planer")["flow_m3_s"] == planer["flow_m3_s"]
    assert f"{planer['flow_m3_s'] / (0.3048**3 / 60):.0f} of 785 cfm, SHORT" in said.stdout


def test_csv_has_a_line_for_each_stretch(run: Run) -> None:
    rows = list(csv.DictReader(run("draw", CREAMERY, "--set", "two saws", "--format", "csv").stdout.splitlines()))
    assert len(rows) == 16 and {row["word"] for row in rows} >= {"settles", "moves"}
    assert next(row for row in rows if row["stretch"] == "trunk 1")["begins_ft"] == "62.5"


def test_a_file_that_ends_in_svg_is_a_picture(run: Run, tmp_path: Path) -> None:
    answer = run("draw", CREAMERY, "--output", "duct.svg")
    assert answer.returncode == 0 and "wrote duct.svg" in answer.stderr
    assert fromstring((tmp_path / "duct.svg").read_text(encoding="utf-8")).get("role") == "img"


@pytest.mark.skipif(importlib.util.find_spec("cairosvg") is None, reason="cairosvg is not there")
def test_a_file_that_ends_in_png_holds_pixels(run: Run, tmp_path: Path) -> None:
    assert run("draw", CREAMERY, "--output", "duct.png").returncode == 0
    assert (tmp_path / "duct.png").read_bytes().startswith(b"\x89PNG")


def test_png_without_its_library_names_the_command_that_installs_it(run: Run, tmp_path: Path) -> None:
    with patch.dict(sys.modules, {"cairosvg": None}):
        answer = run("draw", CREAMERY, "--output", "duct.png")
    assert answer.returncode == 2 and 'pip install "ductcalc[png]"' in answer.stderr
    assert not (tmp_path / "duct.png").exists()


@pytest.mark.parametrize("output", ["duct.pdf", "duct.html", "duct"])
def test_other_endings_are_refused(run: Run, output: str) -> None:
    answer = run("draw", CREAMERY, "--output", output)
    assert answer.returncode == 2 and ".svg, .png" in answer.stderr


def test_a_report_without_a_picture_takes_no_svg(run: Run) -> None:
    answer = run("check", CREAMERY, "--output", "said.svg")
    assert answer.returncode == 2 and ".svg" not in answer.stderr.partition("hint")[2]


def test_several_cases_at_once_are_refused(run: Run) -> None:
    answer = run("draw", CREAMERY, "--open", "planer", "--open", "resaw")
    assert answer.returncode == 2 and "one case" in answer.stderr


def test_a_case_without_an_answer_is_told(run: Run, tmp_path: Path) -> None:
    (tmp_path / "duct.csv").write_text(
        "run,piece,machine,size,length,flow\nmain,port,saw,8 in,,400 cfm\n,pipe,,8 in,2 ft,\n,collector,,,,\n"
    )
    (tmp_path / "collector.csv").write_text(
        "item,flow,pressure\nblower,0 cfm,9 inwg\nblower,300 cfm,8.9 inwg\ncyclone,,none\nfilter clean,,none\n"
    )
    answer = run("draw", tmp_path, "--all-open")
    assert answer.returncode == 3 and "points end at" in answer.stderr

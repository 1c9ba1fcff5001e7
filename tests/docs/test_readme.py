"""Every block of README and examples/README is run, and says what it prints."""

from __future__ import annotations

import csv
import io
import shutil
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest

import ductcalc
from ductcalc.tables.machines import read_machines
from tests.docs.blocks import README, ROOT, WALK, blocks, console_output, python_output

CONSOLE = [block.text for page in (README, WALK) for block in blocks(page) if block.language == "console"]
SETUP = [block.text.strip() for block in blocks() if block.language == "sh"]


@pytest.mark.parametrize("text", CONSOLE, ids=[text.split("\n", 1)[0] for text in CONSOLE])
def test_a_console_block_shows_what_its_command_prints(text: str) -> None:
    command, shown = text.split("\n", 1)
    assert shown == console_output(command)


def test_a_python_block_prints_the_text_block_behind_it() -> None:
    found = blocks()
    pairs = [(a, b) for a, b in pairwise(found) if a.language == "python"]
    assert pairs
    for code, shown in pairs:
        assert shown.language == "text"
        assert python_output(code.text) == shown.text


def test_the_table_blocks_are_a_list_of_machines_and_a_shop_that_read() -> None:
    rows = [list(csv.DictReader(io.StringIO(block.text))) for block in blocks() if block.language == "csv"]
    machines, duct = sorted(rows, key=len)
    assert [one.machine for one in read_machines(machines).machines] == ["planer", "lathe"]
    assert [run.name for run in ductcalc.shop_from_rows(duct=duct).runs] == ["trunk", "sander drop"]


def test_the_two_setup_commands_are_one_line_each_and_the_whole_check_runs_them() -> None:
    assert len(SETUP) == 2
    assert all("\n" not in command and command.startswith("python3 -m venv .venv && ") for command in SETUP)
    whole_check = (ROOT / ".ci" / "run").read_text("utf-8")
    assert 'readme_command "pytest"' in whole_check and 'readme_command "ductcalc check"' in whole_check


def test_the_main_job_of_the_setup_command_ends_with_the_example_s_verdict() -> None:
    words = SETUP[0].rsplit("&& ", 1)[1].split()
    assert Path(words[0]).name == "ductcalc"
    done = subprocess.run([sys.executable, "-m", *[Path(words[0]).name, *words[1:]]], cwd=ROOT, capture_output=True)
    assert done.returncode == 1, done.stderr
    assert b"planer" in done.stdout.splitlines()[0]


def test_the_readme_is_short_enough_to_be_read() -> None:
    assert len(README.read_text("utf-8").splitlines()) <= 300


def test_every_block_is_of_a_kind_that_a_test_runs() -> None:
    assert {block.language for block in blocks()} == {"sh", "csv", "console", "python", "text", "toml"}


def test_a_settings_block_is_read_in_an_example_shop(tmp_path: Path) -> None:
    texts = [block.text for block in blocks() if block.language == "toml"]
    assert texts
    for number, text in enumerate(texts):
        folder = tmp_path / str(number)
        shutil.copytree(ROOT / "examples" / "one-machine", folder)
        (folder / "shop.toml").write_text(text, encoding="utf-8")
        told = ductcalc.check(ductcalc.read_shop(folder)).findings
        assert told.switched_off == ("long hose",) and "long hose" not in [found.rule for found in told.all]

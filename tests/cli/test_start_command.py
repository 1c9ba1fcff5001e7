"""A shop to begin with: the starter, or a first layout from a list of machines."""

from __future__ import annotations

from pathlib import Path

import pytest

from ductcalc.tables import read_shop
from tests.cli.conftest import Run

LIST = "machine,kind,port,along,height,reach\nplaner,planer 15 in,5 in,20 ft,5 ft,3 ft\nsaw,table saw,4 in,8 ft,6 ft,\n"


def test_a_list_of_machines_gives_a_table_and_the_next_commands(run: Run, tmp_path: Path) -> None:
    (tmp_path / "machines.csv").write_text(LIST)
    found = run("start", "my shop", "--machines", "machines.csv")
    assert (found.returncode, found.stderr) == (0, "")
    lines = found.stdout.splitlines()
    assert lines[0].endswith("duct.csv") and lines[-1] == "next: ductcalc need 'my shop'"
    assert "machine_airflow" in found.stdout and "least_flow" in found.stdout
    assert len(read_shop(tmp_path / "my shop").runs) == 2


@pytest.mark.parametrize("width", [60, 80])
def test_what_was_assumed_fits_the_page(run: Run, tmp_path: Path, width: int) -> None:
    (tmp_path / "machines.csv").write_text(LIST)
    lines = run("start", "shop", "--machines", "machines.csv", width=width).stdout.splitlines()
    assert max(map(len, lines)) <= width


def test_a_wrong_list_writes_nothing(run: Run, tmp_path: Path) -> None:
    (tmp_path / "machines.csv").write_text(LIST.replace("planer 15 in", "planer"))
    found = run("start", "shop", "--machines", "machines.csv")
    assert (found.returncode, found.stdout) == (2, "")
    assert "machines.csv row 2, column kind (B)" in found.stderr
    assert not (tmp_path / "shop").exists()

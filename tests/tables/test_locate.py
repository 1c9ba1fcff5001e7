"""Paths that lead to no shop, told with what is there instead."""

from __future__ import annotations

from pathlib import Path

import pytest

from ductcalc.errors import InputError, Problem
from ductcalc.tables import read_shop


def refused(path: Path, collector: Path | None = None) -> Problem:
    with pytest.raises(InputError) as raised:
        read_shop(path, collector)
    (problem,) = raised.value.problems
    return problem


def test_a_path_with_a_character_of_code_zero_is_no_file(tmp_path: Path) -> None:
    found = refused(tmp_path / "a\0b")
    assert found.message == "there is no such file or folder"
    assert found.hint is not None


def test_a_name_that_no_disk_takes_is_told(tmp_path: Path) -> None:
    assert refused(tmp_path / ("a" * 5000)).hint is not None


def test_a_folder_of_shops_names_them(tmp_path: Path) -> None:
    for name in ("barn", "loft"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "duct.csv").write_text("run,piece\n")
    hint = refused(tmp_path).hint
    assert hint is not None and "barn" in hint and "loft" in hint


def test_a_folder_with_other_tables_asks_for_the_ducts_name(tmp_path: Path) -> None:
    (tmp_path / "shop.xlsx").write_bytes(b"PK")
    hint = refused(tmp_path).hint
    assert hint is not None and "duct.csv" in hint and "shop.xlsx" in hint

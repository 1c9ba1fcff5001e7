"""The pair grid: every cell once, under its own number, however narrow the page."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ductcalc.report.blocks import Matrix, Span
from ductcalc.report.flow import width_of
from ductcalc.report.render import Page, rendered

LETTERS = "abcdefghijklmnopqrstuvwxyz"


def cell(row: int, column: int) -> str:
    """Return two letters that name a cell."""
    return LETTERS[row] + LETTERS[column]


def matrix(names: list[str]) -> Matrix:
    """Return a grid whose cells differ, two letters each."""
    cells = tuple(tuple(Span(cell(row, column)) for column in range(row)) for row in range(len(names)))
    return Matrix(tuple(names), cells)


def shown(names: list[str], width: int | None, encoding: str = "utf-8") -> str:
    return rendered([matrix(names)], Page(width, encoding))


def test_small_grid() -> None:
    assert shown(["saw", "planer", "sander"], 80) == (
        "           1  2\n"
        "1 saw\n"
        "2 planer  ba\n"
        "3 sander  ca cb\n"
    )  # fmt: skip


@given(st.integers(2, 26), st.integers(30, 100), st.integers(1, 40))
def test_every_cell_stands_once_in_its_row_and_under_its_number(count: int, width: int, length: int) -> None:
    lines = shown(["_" * length] * count, width).splitlines()
    assert all(width_of(line) <= width for line in lines)
    found, heads = [], {}
    for line in lines:
        if re.fullmatch(r"[ \d]+", line):
            heads = {match.end(): int(match[0]) - 1 for match in re.finditer(r"\d+", line)}
        for match in re.finditer(r"[a-z]{2}", line):
            found.append(match[0])
            assert match[0] == cell(int(line.split()[0]) - 1, heads[match.end()])
    assert sorted(found) == sorted(cell(row, column) for row in range(count) for column in range(row))


@pytest.mark.parametrize("width", [60, 80])
def test_names_flow_and_stay_whole(width: int) -> None:
    names = [f"a machine with a very long name number {n:02}" for n in range(12)]
    words = shown(names, width).split()
    assert words.count("machine") >= 12 and all(f"{n:02}" in words for n in range(12))


def test_names_past_the_encoding_are_spelled_out() -> None:
    assert "Fr\\xe4se" in shown(["Fräse", "saw"], 80, "ascii")

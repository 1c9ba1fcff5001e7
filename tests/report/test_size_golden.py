"""Sizing reports look as their golden files say, at both widths."""

from __future__ import annotations

import re
from functools import cache

import pytest

from ductcalc.report.carry import width_of
from tests.report.golden_cases import file_of
from tests.report.size_cases import NAMES, report


@cache
def made(shop: str, command: str, width: int | None) -> str:
    return report(shop, command, width)


@pytest.mark.parametrize(("shop", "command", "width"), NAMES)
def test_report_is_the_golden_one(shop: str, command: str, width: int | None) -> None:
    assert made(shop, command, width) == file_of(shop, command, width).read_text(encoding="utf-8")


@pytest.mark.parametrize(("shop", "command", "width"), NAMES)
def test_no_line_is_wider_than_the_page_or_ends_in_blanks(shop: str, command: str, width: int) -> None:
    lines = made(shop, command, width).splitlines()
    assert max(map(width_of, lines)) <= width
    assert all(line == line.rstrip() for line in lines)


def test_ascii_page_holds_ascii_alone() -> None:
    text = report("annex", "size", 80, "ascii")
    assert text.isascii() and "Fr\\xe4se" in text


def test_colour_adds_nothing_but_escape_codes() -> None:
    coloured = report("annex", "drop", 80, colour=True)
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == made("annex", "drop", 80)


def test_the_first_line_says_what_must_give() -> None:
    first = made("annex", "size", 80).split("\n\n")[0].replace("\n", " ")
    assert first.startswith("No sizing out of those sold makes both sets fine: with these sizes 1 is not")

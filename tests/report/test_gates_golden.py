"""Gate reports and wall cards look as their golden files say, at every width."""

from __future__ import annotations

import re

import pytest

from ductcalc.report.carry import width_of
from tests.report.gates_cases import MAKERS, NAMES, report
from tests.report.golden_cases import file_of


@pytest.mark.parametrize(("shop", "command", "width"), NAMES)
def test_report_is_the_golden_one(shop: str, command: str, width: int | None) -> None:
    assert report(shop, command, width) == file_of(shop, command, width).read_text(encoding="utf-8")


@pytest.mark.parametrize(("shop", "command", "width"), [name for name in NAMES if name[2]])
def test_no_line_is_wider_than_the_page(shop: str, command: str, width: int) -> None:
    assert max(map(width_of, report(shop, command, width).splitlines())) <= width


@pytest.mark.parametrize(("shop", "command", "width"), NAMES)
def test_no_line_ends_in_blanks(shop: str, command: str, width: int | None) -> None:
    assert all(line == line.rstrip() for line in report(shop, command, width).splitlines())


@pytest.mark.parametrize("command", MAKERS)
def test_ascii_page_holds_ascii_alone(command: str) -> None:
    text = report("annex", command, 80, "ascii")
    assert text.isascii() and "Fr\\xe4se" in text


@pytest.mark.parametrize("command", MAKERS)
def test_colour_adds_nothing_but_escape_codes(command: str) -> None:
    coloured = report("annex", command, 80, colour=True)
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == report("annex", command, 80)

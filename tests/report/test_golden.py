"""Every report looks as its golden file says, at every width."""

from __future__ import annotations

import pytest

from ductcalc.report.carry import width_of
from tests.report.golden_cases import NAMES, WIDTHS, file_of, report


@pytest.mark.parametrize(("shop", "command", "width"), NAMES)
def test_report_is_the_golden_one(shop: str, command: str, width: int | None) -> None:
    assert report(shop, command, width) == file_of(shop, command, width).read_text(encoding="utf-8")


@pytest.mark.parametrize(("shop", "command", "width"), [name for name in NAMES if name[2]])
def test_no_line_is_wider_than_the_page(shop: str, command: str, width: int) -> None:
    assert max(map(width_of, report(shop, command, width).splitlines())) <= width


@pytest.mark.parametrize(("shop", "command", "width"), NAMES)
def test_no_line_ends_in_blanks(shop: str, command: str, width: int | None) -> None:
    assert all(line == line.rstrip() for line in report(shop, command, width).splitlines())


@pytest.mark.parametrize("command", ["check", "losses", "tree"])
def test_same_shop_gives_the_same_bytes(command: str) -> None:
    assert report("cellar", command, 80) == report("cellar", command, 80)


@pytest.mark.parametrize("width", WIDTHS)
def test_words_of_a_name_stand_in_order_at_every_width(width: int | None) -> None:
    words = report("annex", "check", width).split()
    name = ["Bandschleifer", "[bold]an", "der", "Wand[/bold]", "🪚", "Nr.", "7"]
    assert any(words[n : n + len(name)] == name for n in range(len(words)))


@pytest.mark.parametrize("command", ["check", "losses", "tree"])
def test_ascii_page_holds_ascii_alone(command: str) -> None:
    text = report("annex", command, 80, "ascii")
    assert text.isascii()
    assert "Fr\\xe4se" in text and "\\U0001fa9a" in text


def test_ascii_bars_and_branches_have_substitutes() -> None:
    assert "#" in report("cellar", "losses", 80, "ascii")
    assert "|- planer drop" in report("cellar", "tree", 80, "ascii")


@pytest.mark.parametrize("command", ["check", "losses", "tree"])
def test_colour_adds_nothing_but_escape_codes(command: str) -> None:
    import re

    coloured = report("annex", command, 80, colour=True)
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == report("annex", command, 80)


def test_markup_in_a_name_is_text() -> None:
    assert "[bold]an" in report("annex", "check", None, colour=True)

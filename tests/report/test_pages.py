"""Every report on every page: its width, encoding and colour change how it is set and nothing of what it says."""

from __future__ import annotations

import re

import pytest

from ductcalc.report.carry import width_of
from tests.report.answered import text
from tests.report.goldens import REPORTS

WIDTHS = (60, 80, 100, 120, None)
each_report = pytest.mark.parametrize("words", REPORTS.values(), ids=REPORTS)


@each_report
@pytest.mark.parametrize("width", WIDTHS)
def test_no_line_is_wider_than_the_page_or_ends_in_blanks(words: tuple[str, ...], width: int | None) -> None:
    lines = text(*words, width=width).splitlines()
    assert all(line == line.rstrip() for line in lines)
    assert width is None or max(map(width_of, lines)) <= width


@each_report
def test_ascii_page_holds_ascii_alone(words: tuple[str, ...]) -> None:
    assert text(*words, width=80, encoding="ascii").isascii()


@each_report
def test_colour_adds_nothing_but_escape_codes(words: tuple[str, ...]) -> None:
    coloured = text(*words, width=80, colour=True)
    assert "\x1b[" in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == text(*words, width=80)


def test_words_that_an_encoding_lacks_are_spelled_out() -> None:
    said = text(*REPORTS["tree"], width=80, encoding="ascii")
    assert "Fr\\xe4se" in said and "\\U0001fa9a" in said


def test_ascii_bars_and_branches_have_substitutes() -> None:
    assert "#" in text(*REPORTS["losses"], width=80, encoding="ascii")
    assert "|- port: Fr" in text(*REPORTS["tree"], width=80, encoding="ascii")


@pytest.mark.parametrize("width", WIDTHS)
def test_words_of_a_name_stand_in_order_and_markup_in_it_is_text(width: int | None) -> None:
    words = text(*REPORTS["tree"], width=width).split()
    name = ["Bandschleifer", "[bold]an", "der", "Wand[/bold]", "🪚", "Nr.", "7:"]
    assert any(words[n : n + len(name)] == name for n in range(len(words)))

"""Every report reads as its golden file says; the page changes how it is set, and nothing of what it says."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator

import pytest

from ductcalc.report.blocks import Block, Grid, Heading, Matrix, plain
from ductcalc.report.flow import width_of
from tests.report.answered import answered, text
from tests.report.goldens import GOLDEN, NAMES, REPORTS, kept, report
from tests.typed import typed

WIDTHS = (60, 80, 100, 120, None)
NUMBER = re.compile(r"\d[\d,.]*\d|\d")
Typed = tuple[str, ...]
each_report = pytest.mark.parametrize("words", REPORTS.values(), ids=REPORTS)


@pytest.mark.parametrize("name", NAMES)
def test_report_is_the_golden_one(name: str) -> None:
    assert report(name) == kept(name).read_text(encoding="utf-8")


def test_every_golden_file_is_compared() -> None:
    assert {path.name for path in GOLDEN.iterdir()} == {kept(name).name for name in NAMES}


@pytest.mark.parametrize("name", ["check", "tree", "card"])
def test_a_terminal_shows_the_golden_report_and_a_wider_pipe_all_its_words(name: str) -> None:
    assert typed(*REPORTS[name], width=80).stdout == kept(name).read_text(encoding="utf-8")
    piped = typed(*REPORTS[name]).stdout
    assert max(map(width_of, piped.splitlines())) <= 100
    assert not Counter(kept(name).read_text(encoding="utf-8").split()) - Counter(piped.split())


@each_report
@pytest.mark.parametrize("width", WIDTHS)
def test_no_line_is_wider_than_the_page_or_ends_in_blanks(words: Typed, width: int | None) -> None:
    lines = text(*words, width=width).splitlines()
    assert all(line == line.rstrip() for line in lines)
    assert width is None or max(map(width_of, lines)) <= width


@each_report
@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_is_cut_but_columns_that_may_leave_a_narrow_page(words: Typed, width: int | None) -> None:
    shown = text(*words, width=width)
    missing = Counter(words_of(answered(*words).blocks, every_column=width is None)) - Counter(shown.split())
    assert not missing and "…" not in shown


@each_report
def test_a_narrower_page_has_no_other_numbers_than_one_of_any_width(words: Typed) -> None:
    *narrower, whole = [set(NUMBER.findall(text(*words, width=width))) for width in WIDTHS]
    assert all(numbers <= whole for numbers in narrower)


@each_report
def test_ascii_page_holds_ascii_alone(words: Typed) -> None:
    assert text(*words, width=80, encoding="ascii").isascii()


@each_report
def test_colour_adds_nothing_but_escape_codes(words: Typed) -> None:
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


def words_of(of: Iterable[Block], every_column: bool) -> Iterator[str]:
    """Return the words that a page must show; of a grid's cells those that never leave, unless all are asked for."""
    for block in of:
        if isinstance(block, Grid):
            stay = [every_column or column.drop is None for column in block.columns]
            parts = [plain(cell) for row in block.rows for cell, stays in zip(row, stay, strict=True) if stays]
        elif isinstance(block, Matrix):
            parts = [*block.names, *(cell.text for row in block.cells for cell in row)]
        else:
            parts = [block.text if isinstance(block, Heading) else plain(block.words)]
        yield from (word for part in parts for word in part.split())



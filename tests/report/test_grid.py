"""Tables keep every name and number; columns leave in their order."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ductcalc.report.blocks import Grid, GridColumn, Paragraph, Span
from ductcalc.report.flow import flowed, width_of
from ductcalc.report.render import Page, rendered

COLUMNS = (
    GridColumn(("machine", ""), wrap=True),
    GridColumn(("gets", "cfm"), right=True),
    GridColumn(("clean", "cfm"), right=True, drop=0),
    GridColumn(("speed", "fpm"), right=True, drop=1),
    GridColumn(("", "word"), wrap=True),
)
NUMBERS = ("554", "580", "4060")


def _text(width: int | None, *names: str) -> str:
    rows = tuple((name, *NUMBERS, (Span("SHORT", "bad"),)) for name in names)
    return rendered([Grid(COLUMNS, rows)], Page(width))


def test_natural_width_when_there_is_no_page() -> None:
    name = "x" * 200
    assert f"{name}   554    580   4060  SHORT" in _text(None, name)


@pytest.mark.parametrize(("width", "shown"), [(40, NUMBERS), (32, ("554", "4060")), (25, ("554",))])
def test_columns_leave_in_their_order(width: int, shown: tuple[str, ...]) -> None:
    words = _text(width, "drum sander").split()
    assert [word for word in words if word in NUMBERS] == list(shown)


def test_name_of_forty_characters_without_blanks_gets_its_own_line() -> None:
    name = "thicknessplanerwithaveryspecialcutterhead"
    lines = _text(60, name).splitlines()
    assert any(line.startswith(name) for line in lines)
    assert "SHORT" in _text(30, name) and "554" in _text(30, name)


@settings(max_examples=60)
@given(
    st.lists(st.text(st.characters(categories=("L", "N", "P", "S")), min_size=1, max_size=60), min_size=1, max_size=4),
    st.integers(20, 90),
)
def test_nothing_is_cut_and_nothing_sticks_out(names: list[str], width: int) -> None:
    text = _text(width, *names)
    together = "".join(text.split())
    assert together.count("554") >= len(names)
    assert together.count("SHORT") >= len(names)
    assert max(map(width_of, text.splitlines())) <= width


def test_words_are_broken_only_when_no_line_can_hold_them() -> None:
    lines = ["".join(span.text for span in line) for line in flowed("a" * 25 + " bb", 10, "utf-8")]
    assert lines == ["a" * 10, "a" * 10, "aaaaa bb"]


def test_number_and_unit_stay_together() -> None:
    text = rendered([Paragraph("the planer gets 554\u00a0cfm")], Page(20))
    assert text == "the planer gets\n554 cfm\n"


def test_unseen_characters_are_spelled_out() -> None:
    text = rendered([Paragraph("saw\x1b[31m\nred")], Page(None))
    assert text == "saw\\u001b[31m\\u000ared\n"


def test_wide_characters_count_double() -> None:
    assert width_of("木工") == 4
    assert all(width_of(line) <= 10 for line in rendered([Paragraph("木工" * 9)], Page(10)).splitlines())


@pytest.mark.parametrize("lead", ["", "\u00a0\u00a0"])
def test_where_each_cell_has_a_line_of_its_own_no_column_leaves_and_all_are_set_in_below_the_name(lead: str) -> None:
    row = (f"{lead}saw", *NUMBERS, "short-at-both-ports")
    name, *cells = rendered([Grid(COLUMNS, (row,))], Page(24)).splitlines()
    assert name.strip() == "saw"
    assert [cell.split()[-1] for cell in cells[:3]] == list(NUMBERS)
    assert {len(cell) - len(cell.lstrip()) for cell in cells} == {len(lead) + 2}

"""Blocks as HTML: names are text, tables have headers, lists are lists."""

from __future__ import annotations

from xml.etree.ElementTree import tostring

import pytest

from ductcalc.report.blocks import Grid, GridColumn, Heading, Matrix, Paragraph, Span
from ductcalc.report.html import element, elements, sheet


def html(*blocks: object) -> str:
    return "".join(tostring(one, encoding="unicode", method="html") for one in elements(blocks, "x"))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("<script>alert(1)</script>", "&lt;script&gt;alert(1)&lt;/script&gt;"),
        ("saw & co", "saw &amp; co"),
        ("</style><b>", "&lt;/style&gt;&lt;b&gt;"),
        ("a\u202eb\x00c", "a\\u202eb\\u0000c"),
    ],
)
def test_names_are_text_wherever_they_stand(name: str, written: str) -> None:
    grid = Grid((GridColumn(("machine",)), GridColumn(("air", "cfm"), right=True)), ((name, "12"),))
    said = html(Heading(name), Paragraph(name), Paragraph(name, "- "), grid, Matrix((name, "b"), ((), (Span("ok"),))))
    assert said.count(written) == 5 and name not in said


def test_an_attribute_cannot_be_left() -> None:
    assert tostring(element("a", "x", href='" onclick="alert(1)'), encoding="unicode", method="html").count('"') == 2


def test_a_style_tells_a_class_beside_the_words() -> None:
    assert html(Paragraph((Span("ok, "), Span("SHORT", "bad"), Span(" now", "strong")))) == (
        '<p>ok, <span class="bad">SHORT</span><strong> now</strong></p>'
    )


def test_entries_of_a_list_stand_in_one_list() -> None:
    said = html(Paragraph("one", "- "), Paragraph("two", "2. "), Paragraph("three"), Paragraph("four", "- "))
    assert said == "<ul><li>one</li><li>two</li></ul><p>three</p><ul><li>four</li></ul>"


def test_a_note_keeps_its_number() -> None:
    assert html(Paragraph("a source", "[2] ", "    ")) == "<p>[2] a source</p>"


def test_first_cells_name_their_rows_and_titles_their_columns() -> None:
    columns = GridColumn(("machine", "")), GridColumn(("air", "cfm"), right=True), GridColumn(("", ""))
    grid = Grid(columns, (("saw", "12", "ok"),))
    said = html(grid)
    assert '<th scope="col">machine</th><th scope="col" class="number">air<br>cfm</th><td></td>' in said
    assert '<th scope="row" dir="auto">saw</th><td class="number">12</td>' in said


def test_a_file_is_told_in_full_and_in_english() -> None:
    text = sheet("a < b", element("main", "x"))
    assert text.startswith("<!DOCTYPE html>\n<html lang=\"en\">") and "<title>a &lt; b</title>" in text

"""Every row of every reference table says what it is, how sure it is and where it comes from."""

from __future__ import annotations

import math
import re

import pytest

from ductcalc.catalog import cite, sources, table, table_names
from ductcalc.catalog.fact import CONVERSIONS
from ductcalc.catalog.read import data_folder

CONFIDENCES = {"published", "from memory", "common practice, no source", "computed"}
TAIL = ("value", "low", "high", "unit", "source", "table", "confidence", "note")
FORBIDDEN = ("http", "www", "web page", ".com", ".org", "vietnamese")
EXPECTED = {
    "air", "branch_entry", "bulk", "chips", "collector", "elbow", "findings", "gate", "hood_entry", "hose",
    "joint_leakage", "machine", "machine_airflow", "measuring", "outside", "parts", "rectangular", "roughness",
    "running", "sheet", "sizes", "transition", "transport", "verdict",
}  # fmt: skip

EVERY_ROW = [
    pytest.param(row, id=f"{name}-{place}")
    for name in sorted(EXPECTED)
    for place, row in enumerate(table(name).rows, start=3)
]


def test_the_promised_tables_are_there():
    assert set(table_names()) == EXPECTED


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_the_columns_begin_with_the_item_and_end_with_value_and_source(name):
    columns = table(name).columns
    assert columns[0] == "item"
    assert columns[-len(TAIL) :] == TAIL


@pytest.mark.parametrize("name", [*sorted(EXPECTED), "sources", "words", "metal_names"])
def test_the_first_line_names_table_version_and_title(name):
    first = (data_folder() / f"{name}.csv").read_text(encoding="utf-8").splitlines()[0]
    assert re.fullmatch(rf"# table {name}, version \d+: \S.*", first)
    assert table(name).title == first.split(": ", 1)[1]


@pytest.mark.parametrize("row", EVERY_ROW)
def test_a_row_has_item_unit_source_and_confidence(row):
    assert row["item"]
    assert row["unit"] in CONVERSIONS
    assert row["source"] in sources()
    assert row["confidence"] in CONFIDENCES


@pytest.mark.parametrize("row", EVERY_ROW)
def test_a_row_has_its_value_within_its_band(row):
    value, low, high = (float(row[name]) for name in ("value", "low", "high"))
    assert math.isfinite(low) and math.isfinite(high)
    assert 0.0 <= low <= value <= high


@pytest.mark.parametrize("row", EVERY_ROW)
def test_confidence_and_source_agree(row):
    """Published is what can be read, worked out what has no reader; a manual that nobody opened is from memory."""
    match row["confidence"]:
        case "published":
            assert row["source"] not in {"practice", "own", "definition", "acgih"}
        case "from memory":
            assert row["source"] not in {"own", "definition"}
        case "computed":
            assert row["source"] in {"own", "definition"}
        case _:
            assert (row["confidence"], row["source"]) == ("common practice, no source", "practice")


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_no_two_rows_have_the_same_keys(name):
    keys = table(name).columns[: -len(TAIL)]
    sizes = ("value", "unit") if name == "sizes" else ()
    seen = [tuple(row[key] for key in (*keys, *sizes)) for row in table(name).rows]
    assert len(seen) == len(set(seen))


@pytest.mark.parametrize("key", sorted(sources()))
def test_a_source_has_a_title_and_says_what_is_not_known(key):
    source = sources()[key]
    assert source.title and source.kind
    if source.kind not in {"practice", "definition", "calculation"} and not (source.author and source.year):
        assert source.note


def test_a_source_that_numbers_were_read_in_says_how_it_was_read():
    read_in = {row["source"] for name in table_names() for row in table(name).rows if row["confidence"] == "published"}
    assert len(read_in) > 15
    assert [key for key in sorted(read_in) if not sources()[key].seen] == []


def test_every_source_is_used():
    used = {row["source"] for name in table_names() for row in table(name).rows}
    assert set(sources()) == used


def test_a_citation_leaves_out_what_is_not_known():
    read = "(read in an excerpt)"
    assert cite("trgs-553") == f"Ausschuss für Gefahrstoffe (Germany), TRGS 553 Holzstaub, 2022 {read}"
    assert cite("precis") == f"Précis, technical text on wood-dust extraction (French) {read}"


def test_no_address_or_copy_is_named_in_any_table():
    for file in data_folder().iterdir():
        if file.is_file():
            text = file.read_text(encoding="utf-8").casefold()
            assert [word for word in FORBIDDEN if word in text] == [], file.name


def test_every_table_is_described_in_how_made():
    text = (data_folder() / "HOW_MADE.md").read_text(encoding="utf-8")
    titles = set(re.findall(r"^## (\w+)$", text, flags=re.MULTILINE))
    assert titles == EXPECTED | {"sources", "words", "metal_names"}

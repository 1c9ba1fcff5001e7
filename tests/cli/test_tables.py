"""The reference tables with their sources."""

from __future__ import annotations

import csv
import json
from io import StringIO

import pytest

from ductcalc.catalog import cite, table, table_names
from ductcalc.report.blocks import Block
from ductcalc.report.carry import width_of
from ductcalc.report.render import Page, rendered
from ductcalc.report.tables_text import list_blocks, table_blocks
from tests.cli.conftest import Run


def test_list_names_every_table_with_its_title(run: Run) -> None:
    said = run("tables").stdout
    assert all(name in said and table(name).title in said for name in table_names())


@pytest.mark.parametrize("name", table_names())
@pytest.mark.parametrize("width", [60, 80, 120])
def test_every_table_fits_the_page_and_cites_its_sources(name: str, width: int) -> None:
    text = rendered(table_blocks(table(name)), Page(width))
    assert max(map(width_of, text.splitlines())) <= width
    together = " ".join(text.split())
    assert all(cite(row["source"]) in together for row in table(name).rows)


def test_list_fits_the_page() -> None:
    blocks: list[Block] = list(list_blocks(table_names()))
    assert max(map(width_of, rendered(blocks, Page(60)).splitlines())) <= 60


def test_json_holds_numbers_bands_and_citations(run: Run) -> None:
    document = json.loads(run("tables", "gate", "--format", "json").stdout)
    row = document["tables"][0]["rows"][0]
    assert row["low"] <= row["value"] <= row["high"]
    assert row["citation"].startswith(cite(row["source"]))


def test_csv_holds_every_row(run: Run) -> None:
    rows = list(csv.DictReader(StringIO(run("tables", "hood-entry", "--format", "csv").stdout), strict=True))
    assert [row["value"] for row in rows] == [row["value"] for row in table("hood_entry").rows]

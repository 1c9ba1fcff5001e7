"""The reference tables with their sources."""

from __future__ import annotations

import csv
import json
from io import StringIO
from pathlib import Path

import pytest

from ductcalc.catalog import cite, table, table_names
from ductcalc.catalog.read import data_folder
from ductcalc.report.blocks import Block
from ductcalc.report.flow import width_of
from ductcalc.report.render import Page, rendered
from ductcalc.report.tables import citation, list_blocks, table_blocks
from tests.cli.conftest import Run


def test_list_names_every_table_with_its_title(run: Run) -> None:
    said = " ".join(run("tables").stdout.split())
    assert all(name in said and table(name).title in said for name in table_names())


@pytest.mark.parametrize("name", table_names())
@pytest.mark.parametrize("width", [60, 80, 120])
def test_every_table_fits_the_page_and_cites_its_sources(name: str, width: int) -> None:
    text = rendered(table_blocks(table(name)), Page(width))
    assert max(map(width_of, text.splitlines())) <= width
    together = " ".join(text.split())
    assert all(citation(row) in together for row in table(name).rows)


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


@pytest.mark.parametrize("form", ["text", "csv", "json"])
@pytest.mark.parametrize("name", ["sources", "words"])
def test_sources_and_words_are_tables_too(name: str, form: str, run: Run) -> None:
    said = " ".join(run("tables", name, "--format", form).stdout.split())
    first = next(iter(table(name).rows))
    assert all(text in said for text in first.values() if text)


def test_a_source_tells_how_many_rows_rest_on_it(run: Run) -> None:
    rows = json.loads(run("tables", "sources", "--format", "json").stdout)["tables"][0]["rows"]
    told = {row["key"]: row["rows"] for row in rows}
    counted = sum(row["source"] == "weisbach" for row in table("gate").rows)
    assert counted > 0 and told["weisbach"] == f"gate {counted}"
    every = sum(int(part.rpartition(" ")[2]) for text in told.values() if text for part in text.split(", "))
    assert every == sum(len(table(one).rows) for one in table_names())


def test_least_flow_is_listed_and_computed_for_standard_air_or_a_shops(run: Run, shop: Path) -> None:
    assert "least_flow" in run("tables").stdout
    standard, own = (
        json.loads(run("tables", "least-flow", *place, "--format", "json").stdout)["tables"][0]["rows"]
        for place in ((), (shop,))
    )
    assert standard[0]["density_kg_m3"] != own[0]["density_kg_m3"]
    assert all(row["flow_m3_s"] > 0.0 and row["citation"] for row in [*standard, *own])


@pytest.mark.parametrize("units", ["inch", "metric"])
@pytest.mark.parametrize("width", [60, 80])
def test_least_flow_fits_the_page(run: Run, units: str, width: int) -> None:
    lines = run("tables", "least_flow", "--units", units, width=width).stdout.splitlines()
    assert max(map(width_of, lines)) <= width


def test_a_shop_goes_with_no_other_table(run: Run, shop: Path) -> None:
    refused = run("tables", "elbow", shop)
    assert refused.returncode == 2 and "least_flow" in refused.stderr


@pytest.mark.parametrize("form", ["text", "csv", "json"])
def test_the_method_is_printed_with_its_worked_lines(form: str, run: Run) -> None:
    said = " ".join(run("tables", "method", "--format", form).stdout.split())
    written = (data_folder() / "METHOD.md").read_text(encoding="utf-8")
    worked = [line.strip(" `") for line in written.splitlines() if line.startswith("  `")]
    assert len(worked) > 25
    assert all(line in said for line in worked)

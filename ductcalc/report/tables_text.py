"""The reference tables with their sources, as text, CSV and plain values."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ductcalc.catalog.read import Table, cite, table
from ductcalc.report.blocks import Block, Column, Grid, Heading, Paragraph, Span
from ductcalc.report.csv_text import csv_text
from ductcalc.report.numbered import Numbered

NUMBERS = ("value", "low", "high")
ENDING = ("unit", "source", "table", "confidence", "note")


def list_blocks(names: Sequence[str]) -> Iterator[Block]:
    """Yield the list of tables with their titles."""
    said = f"{len(names)} reference tables; ductcalc tables NAME shows one with its sources."
    yield Paragraph((Span(said, "strong"),))
    yield Paragraph("")
    columns = (Column(("table",)), Column(("rows",), right=True, drop=0), Column(("what it holds",), wrap=True))
    rows = tuple((name, str(len(table(name).rows)), table(name).title) for name in names)
    yield Grid(columns, rows)


def table_blocks(found: Table) -> Iterator[Block]:
    """Yield one table: what, value, band, unit, source and how sure it is."""
    sources = Numbered()
    yield Paragraph((Span(f"{found.name}: {found.title}", "strong"),))
    yield Paragraph("")
    yield _grid(found, sources)
    yield Heading("Sources")
    for number, source in sources.lines():
        yield Paragraph(source, f"[{number}] ", "    ")


def _grid(found: Table, sources: Numbered) -> Grid:
    keys = [name for name in found.columns if name not in (*NUMBERS, *ENDING)]
    columns = (
        *(Column((key.replace("_", " "),), wrap=True) for key in keys),
        Column(("value",), right=True),
        Column(("low",), right=True, drop=2),
        Column(("high",), right=True, drop=3),
        Column(("unit",), wrap=True),
        Column(("source",), right=True, drop=1),
        Column(("note",), wrap=True, drop=0),
    )
    rows = tuple(
        (
            *(row[key] for key in keys),
            *(row[n] for n in NUMBERS),
            row["unit"],
            f"[{sources.number(_sourced(row))}]",
            row["note"],
        )
        for row in found.rows
    )
    return Grid(columns, rows)


def citation(row: Mapping[str, str]) -> str:
    """Return where a row comes from, in one line."""
    cited = cite(row["source"])
    return f"{cited}, {row['table']}" if row["table"] else cited


def _sourced(row: Mapping[str, str]) -> str:
    cited = citation(row)
    return cited if row["confidence"] in cited else f"{cited} ({row['confidence']})"


def table_csv(found: Table) -> str:
    """Return a table as CSV with the source written out."""
    return csv_text((*found.columns, "citation"), ([*row.values(), citation(row)] for row in found.rows))


def list_csv(names: Sequence[str]) -> str:
    """Return the list of tables as CSV."""
    return csv_text(("table", "rows", "title"), ((name, len(table(name).rows), table(name).title) for name in names))


def table_rows(found: Table) -> list[Mapping[str, Any]]:
    """Return a table's rows with numbers as numbers and the source written out."""
    return [{**{key: _number(key, text) for key, text in row.items()}, "citation": citation(row)} for row in found.rows]


def _number(key: str, text: str) -> float | str | None:
    if key in NUMBERS:
        return float(text)
    return text or None

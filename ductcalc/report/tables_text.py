"""The reference tables with their sources, as text, CSV and plain values."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from ductcalc.catalog.read import NOT_FACTS, Table, cite, rows_of_source, table
from ductcalc.report.blocks import Block, Column, Grid, Heading, Paragraph, Span
from ductcalc.report.csv_text import csv_text
from ductcalc.report.json_text import PROGRAM
from ductcalc.report.numbered import Numbered

NUMBERS = ("value", "low", "high")
NONE: Mapping[str, str] = MappingProxyType({})
ENDING = ("unit", "source", "table", "confidence", "note")


def list_blocks(names: Sequence[str], computed: Mapping[str, str] = NONE) -> Iterator[Block]:
    """Yield the list of tables with their titles; `computed` ones, name to title, have no rows of their own."""
    said = f"{len(names)} reference tables; ductcalc tables NAME shows one with its sources."
    yield Paragraph((Span(said, "strong"),))
    yield Paragraph("")
    columns = (Column(("table",)), Column(("rows",), right=True, drop=0), Column(("what it holds",), wrap=True))
    rows = tuple((name, str(len(table(name).rows)), table(name).title) for name in names)
    yield Grid(columns, (*rows, *((name, "", title) for name, title in computed.items())))


def table_blocks(found: Table) -> Iterator[Block]:
    """Yield one table: what, value, band, unit, source and how sure it is; of sources and words what stands there."""
    yield Paragraph((Span(f"{found.name}: {found.title}", "strong"),))
    yield Paragraph("")
    if found.name in NOT_FACTS:
        yield _plain_grid(table_rows(found))
        return
    sources = Numbered()
    yield _grid(found, sources)
    yield Heading("Sources")
    for number, source in sources.lines():
        yield Paragraph(source, f"[{number}] ", "    ")


def _plain_grid(rows: Sequence[Mapping[str, Any]]) -> Grid:
    columns = tuple(Column((key.replace("_", " "),), wrap=True) for key in rows[0])
    return Grid(columns, tuple(tuple(str(cell or "") for cell in row.values()) for row in rows))


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
            f"[{sources.number(citation(row))}]",
            row["note"],
        )
        for row in found.rows
    )
    return Grid(columns, rows)


def citation(row: Mapping[str, str]) -> str:
    """Return where a row comes from, in one line."""
    return cite(row["source"], row["table"], row["confidence"])


def table_csv(found: Table) -> str:
    """Return a table as CSV with the source written out."""
    rows = [{**row, **_added(found, row)} for row in found.rows]
    return csv_text(tuple(rows[0]), (list(row.values()) for row in rows))


def list_csv(names: Sequence[str]) -> str:
    """Return the list of tables as CSV."""
    return csv_text(("table", "rows", "title"), ((name, len(table(name).rows), table(name).title) for name in names))


def table_rows(found: Table) -> list[Mapping[str, Any]]:
    """Return a table's rows with numbers as numbers, the source written out, and of a source what rests on it."""
    return [{**{key: _number(key, text) for key, text in row.items()}, **_added(found, row)} for row in found.rows]


def _added(found: Table, row: Mapping[str, str]) -> dict[str, str]:
    if found.name == "sources":
        counts = rows_of_source(row["key"])
        return {"rows": ", ".join(f"{name} {count}" for name, count in counts.items())}
    return {"citation": citation(row)} if "source" in row else {}


def _number(key: str, text: str) -> float | str | None:
    if key in NUMBERS:
        return float(text)
    return text or None


def tables_document(tables: Sequence[Table]) -> dict[str, Any]:
    """Return reference tables as nested plain values."""
    return document_of((found.name, found.title, table_rows(found)) for found in tables)


def document_of(tables: Iterable[tuple[str, str, Sequence[Mapping[str, Any]]]]) -> dict[str, Any]:
    """Return tables, each its name, title and rows, as nested plain values."""
    return {**PROGRAM, "tables": [{"name": name, "title": title, "rows": list(rows)} for name, title, rows in tables]}

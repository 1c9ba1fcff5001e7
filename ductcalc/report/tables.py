"""The reference tables with their sources, and the rules of what is looked for unasked: as text, CSV and JSON."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from operator import itemgetter
from types import MappingProxyType
from typing import Any

from ductcalc.answers.columns import Column, Columns, records
from ductcalc.catalog.read import NOT_FACTS, Table, cite, rows_of_source, table
from ductcalc.findings.rule import Rule
from ductcalc.findings.rules import RULES
from ductcalc.report.blocks import Block, Grid, Heading, Paragraph, Span
from ductcalc.report.columns import csv_of, grid_of, titled
from ductcalc.report.display import Display
from ductcalc.report.head_and_foot import Numbered
from ductcalc.report.json_text import PROGRAM

NUMBERS = ("value", "low", "high")
NONE: Mapping[str, str] = MappingProxyType({})
ENDING = ("unit", "source", "table", "confidence", "note")


AS_WRITTEN = Display("metric")
"""Values stand as their sources print them: no column has a dimension."""
TABLES: Columns[Table] = (
    Column("table", lambda found: found.name, heading="table"),
    Column("rows", lambda found: len(found.rows), heading="rows", drop=0, right=True),
    Column("title", lambda found: found.title, heading="what it holds"),
)
RULE: Columns[Rule] = (
    Column("finding", lambda rule: rule.name),
    Column("looks_for", lambda rule: rule.catches, heading="looks for"),
    Column("mended_by", lambda rule: rule.cure, heading="mended by"),
    Column("caution", lambda rule: rule.caution),
    Column("source", lambda rule: cite(rule.source)),
)
SWITCH = 'Any of them is switched off by name in shop.toml: [findings] off = ["long hose"].'


def list_blocks(names: Sequence[str], computed: Mapping[str, str] = NONE) -> Iterator[Block]:
    """Yield the list of tables with their titles; `computed` ones, name to title, have no rows of their own."""
    said = f"{len(names)} reference tables; ductcalc tables NAME shows one with its sources."
    yield Paragraph((Span(said, "strong"),))
    yield Paragraph("")
    grid = grid_of(TABLES, map(table, names), AS_WRITTEN)
    yield grid._replace(rows=(*grid.rows, *((name, "", title) for name, title in computed.items())))


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
    columns = (Column[Mapping[str, Any]](key, itemgetter(key), heading=key.replace("_", " ")) for key in rows[0])
    return grid_of(tuple(columns), rows, AS_WRITTEN)


def _grid(found: Table, sources: Numbered) -> Grid:
    def text(key: str, drop: int | None = None) -> Column[Mapping[str, str]]:
        return Column(key, itemgetter(key), heading=key.replace("_", " "), drop=drop, right=key in NUMBERS)

    def source(row: Mapping[str, str]) -> str:
        return f"[{sources.number(citation(row))}]"

    columns = (
        *(text(name) for name in found.columns if name not in (*NUMBERS, *ENDING)),
        *(text("value"), text("low", 2), text("high", 3), text("unit")),
        Column("source", source, heading="source", drop=1, right=True),
        text("note", 0),
    )
    return grid_of(columns, found.rows, AS_WRITTEN)


def citation(row: Mapping[str, str]) -> str:
    """Return where a row comes from, in one line."""
    return cite(row["source"], row["table"], row["confidence"])


def table_csv(found: Table) -> str:
    """Return a table as CSV with the source written out."""
    rows = [{**row, **_added(found, row)} for row in found.rows]
    return csv_of(tuple(Column[dict[str, str]](key, itemgetter(key)) for key in rows[0]), rows, AS_WRITTEN)


def list_csv(names: Sequence[str]) -> str:
    """Return the list of tables as CSV."""
    return csv_of(TABLES, map(table, names), AS_WRITTEN)


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


def rules_blocks() -> Iterator[Block]:
    """Yield the list of rules; * marks cautions."""
    sources = Numbered()
    said = f"{len(RULES)} things are looked for unasked; what counts is solved with and without the cure."
    yield Paragraph((Span(said, "strong"),))
    yield Paragraph(f"{SWITCH} A caution (*) is shown however many there are.")
    yield Paragraph("")
    told: Columns[Rule] = (
        titled("finding", lambda rule: f"{rule.name} *" if rule.caution else rule.name),
        *RULE,
        titled("source", lambda rule: f"[{sources.number(cite(rule.source))}]", drop=0, right=True),
    )
    yield grid_of(told, RULES, AS_WRITTEN)
    yield Heading("Sources of the rules")
    for number, text in sources.lines():
        yield Paragraph(text, f"[{number}] ", "    ")
    yield Paragraph("")


def rules_rows() -> list[dict[str, Any]]:
    """Return the rules as plain values."""
    return records(RULE, RULES)


def rules_csv() -> str:
    """Return the rules as CSV."""
    return csv_of(RULE, RULES, AS_WRITTEN)

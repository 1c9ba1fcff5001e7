"""What `ductcalc tables` computes or tells beside the reference tables: least flows and the method."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from ductcalc.answers.columns import records
from ductcalc.answers.least_flow import LEAST_FLOWS, LeastFlow
from ductcalc.catalog import transport_speed
from ductcalc.catalog.read import data_folder
from ductcalc.report.blocks import Block, Grid, GridColumn, Heading, Paragraph, Span
from ductcalc.report.columns import csv_text
from ductcalc.report.display import Display
from ductcalc.report.head_and_foot import Numbered
from ductcalc.report.json_text import PROGRAM

COMPUTED = {
    "least_flow": "least air that keeps chips moving in each size sold (computed)",
    "method": "every formula with its range, its table and a worked line",
}
"""Name and title of each."""
WORKED = re.compile(r"`(\w+\(.*\) ?.*)`")
SETTLING = (
    "Least speed times the pipe's area. Chips settle below 0.89 of it in level pipe, below 0.94 in risers:"
    " ductcalc tables transport."
)


def least_flow_blocks(found: Sequence[LeastFlow], display: Display, shop: str | None) -> Iterator[Block]:
    """Yield a line for each size and a column for each material."""
    air = "standard air" if shop is None else f"the air of {shop}"
    yield Paragraph((Span(f"Least air that keeps chips moving, in {air}.", "strong"),))
    yield Paragraph("")
    speeds = {one.material: one.speed_m_s for one in found}
    rows: dict[float, list[str]] = {}
    for one in found:
        rows.setdefault(one.size_m, [display.size(one.size_m)]).append(display.flow_number(one.flow_m3_s))
    columns = (GridColumn((material, display.unit("flow")), right=True) for material in speeds)
    last = ("at least", *map(display.speed, speeds.values()))
    yield Grid((GridColumn(("size",)), *columns), (*map(tuple, rows.values()), last))
    yield Paragraph(SETTLING)
    sources = Numbered()
    for material in speeds:
        sources.number(f"{material}: {transport_speed(material).cited}")
    yield Heading("Sources")
    for number, source in sources.lines():
        yield Paragraph(source, f"[{number}] ", "    ")


def least_flow_document(found: Sequence[LeastFlow]) -> dict[str, Any]:
    """Return the flows as a table among tables, SI units."""
    table = {"name": "least_flow", "title": COMPUTED["least_flow"], "rows": records(LEAST_FLOWS, found)}
    return {**PROGRAM, "tables": [table]}


class Passage(NamedTuple):
    """A paragraph of the method. kind: `text`, `point` of a list, or `worked` line."""

    section: str
    kind: str
    text: str


def passages() -> tuple[Passage, ...]:
    """Return the method, paragraph by paragraph."""
    return tuple(_passages((data_folder() / "METHOD.md").read_text(encoding="utf-8")))


def _passages(written: str) -> Iterator[Passage]:
    section, kind, lines = "", "text", list[str]()
    for line in [*written.splitlines()[1:], ""]:
        worked = WORKED.fullmatch(line.strip())
        if lines and (worked or not line.strip() or line.startswith(("- ", "## "))):
            yield Passage(section, kind, " ".join(lines))
            kind, lines = "text", []
        if line.startswith("## "):
            section = line[3:]
        elif worked:
            yield Passage(section, "worked", worked[1])
        elif line.startswith("- "):
            kind, lines = "point", [line[2:]]
        elif line.strip():
            lines.append(line.strip())


def method_blocks() -> Iterator[Block]:
    """Yield the method section by section; worked lines stand set in."""
    yield Paragraph((Span("The method: formulas, ranges, tables, worked lines.", "strong"),))
    section = ""
    for passage in passages():
        if passage.section != section:
            section = passage.section
            yield Heading(section)
        text = passage.text.replace("`", "")
        if passage.kind == "worked":
            yield Paragraph(text, "    ", "      ")
        elif passage.kind == "point":
            yield Paragraph(text, "- ", "  ")
        else:
            yield Paragraph(text)


def method_csv() -> str:
    """Return a line for each paragraph."""
    return csv_text(Passage._fields, passages())


def method_document() -> dict[str, Any]:
    """Return the paragraphs as plain values."""
    return {**PROGRAM, "method": [passage._asdict() for passage in passages()]}

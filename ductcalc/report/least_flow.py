"""The least air in each size sold, as text, CSV and plain values."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ductcalc.answers.columns import records
from ductcalc.answers.least_flow import LEAST_FLOWS, LeastFlow
from ductcalc.catalog import transport_speed
from ductcalc.report.blocks import Block, Column, Grid, Heading, Paragraph, Span
from ductcalc.report.display import Display
from ductcalc.report.json_text import PROGRAM
from ductcalc.report.numbered import Numbered

NAME, TITLE = "least_flow", "least air that keeps chips moving in each size sold (computed)"
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
    columns = (Column((material, display.unit("flow")), right=True) for material in speeds)
    last = ("at least", *map(display.speed, speeds.values()))
    yield Grid((Column(("size",)), *columns), (*map(tuple, rows.values()), last))
    yield Paragraph(SETTLING)
    sources = Numbered()
    for material in speeds:
        sources.number(f"{material}: {transport_speed(material).cited}")
    yield Heading("Sources")
    for number, source in sources.lines():
        yield Paragraph(source, f"[{number}] ", "    ")


def least_flow_document(found: Sequence[LeastFlow]) -> dict[str, Any]:
    """Return the flows as a table among tables, SI units."""
    return {**PROGRAM, "tables": [{"name": NAME, "title": TITLE, "rows": records(LEAST_FLOWS, found)}]}

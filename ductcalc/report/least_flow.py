"""The least air in each size sold, as text, CSV and plain values."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ductcalc.answers.least_flow import LeastFlows
from ductcalc.catalog import transport_speed
from ductcalc.report.blocks import Block, Column, Grid, Heading, Paragraph, Span
from ductcalc.report.csv_text import csv_text
from ductcalc.report.display import Display
from ductcalc.report.numbered import Numbered

NAME, TITLE = "least_flow", "least air that keeps chips moving in each size sold (computed)"
SETTLING = (
    "Least speed times the pipe's area. Chips settle below 0.89 of it in level pipe, below 0.94 in risers:"
    " ductcalc tables transport."
)


def least_flow_blocks(found: LeastFlows, display: Display, shop: str | None) -> Iterator[Block]:
    """Yield a line for each size and a column for each material."""
    air = "standard air" if shop is None else f"the air of {shop}"
    yield Paragraph((Span(f"Least air that keeps chips moving, in {air}.", "strong"),))
    yield Paragraph("")
    unit = display.unit("flow")
    columns = [Column((one.material, unit), right=True) for one in found.materials]
    rows = [
        (display.size(size), *(display.flow_number(one.flows_m3_s[number]) for one in found.materials))
        for number, size in enumerate(found.sizes_m)
    ]
    speeds = ("at least", *(display.speed(one.speed_m_s) for one in found.materials))
    yield Grid((Column(("size",)), *columns), (*rows, speeds))
    yield Paragraph(SETTLING)
    sources = Numbered()
    for one in found.materials:
        sources.number(f"{one.material}: {transport_speed(one.material).cited}")
    yield Heading("Sources")
    for number, source in sources.lines():
        yield Paragraph(source, f"[{number}] ", "    ")


def least_flow_rows(found: LeastFlows) -> list[dict[str, Any]]:
    """Return a row for each size and material."""
    return [
        {
            "size_m": size,
            "material": one.material,
            "least_speed_m_s": one.speed_m_s,
            "flow_m3_s": one.flows_m3_s[number],
            "density_kg_m3": found.density_kg_m3,
            "citation": transport_speed(one.material).cited,
        }
        for number, size in enumerate(found.sizes_m)
        for one in found.materials
    ]


def least_flow_csv(found: LeastFlows) -> str:
    """Return the rows as CSV."""
    rows = least_flow_rows(found)
    return csv_text(tuple(rows[0]), (list(row.values()) for row in rows))

"""What a first layout took for granted, in lines."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.first_layout import FirstLayout
from ductcalc.report.blocks import Block, Paragraph
from ductcalc.report.display import Display
from ductcalc.report.sentences import listed


def layout_blocks(layout: FirstLayout) -> Iterator[Block]:
    """Yield the sizes of the main and what was assumed, a paragraph each."""
    return (Paragraph(line, "", "  ") for line in _lines(layout))


def _lines(layout: FirstLayout) -> Iterator[str]:
    display = Display(layout.units)
    for size in layout.main:
        yield (
            f"main: {display.size(size.size_m)} from {size.behind} on"
            f" ({size.use}: {display.flow(size.flow_m3_s)} at {display.speed(size.speed_m_s)})"
        )
    yield (
        f"assumed: {display.written_length(layout.hose_m)} of hose at each machine;"
        f" the collector's inlet as low as the port of {layout.nearest}"
    )
    for one in layout.slow:
        yield (
            f"too slow: {one.machine} wants {display.flow(one.flow_m3_s)} in {display.size(one.port_m)},"
            f" where chips settle below {display.flow(one.least_m3_s)}; write more flow or a smaller port"
        )
    if layout.slow_alone:
        yield (
            f"alone in the main's {display.size(layout.main[-1].size_m)} chips settle below"
            f" {display.flow(layout.least_m3_s)}: keep a second gate open with {listed(layout.slow_alone)}"
        )
    yield from layout.remarks
    yield "air by kind and its sources: ductcalc tables machine_airflow"
    yield "least air that keeps chips moving, by size: ductcalc tables least_flow"

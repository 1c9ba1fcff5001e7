"""The tree in text: every run as a finger walks it from the machine, with what comes in at a wye above that wye."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.layout import Layout, LayoutPiece, LayoutRun
from ductcalc.report.blocks import Block, Heading, Paragraph, Span, plain
from ductcalc.report.closing import noted, program_line
from ductcalc.report.display import Display
from ductcalc.report.findings_text import findings_blocks
from ductcalc.report.pieces_text import piece_words
from ductcalc.report.sentences import listed, several

Item = tuple[LayoutPiece, str] | str
DEEPEST = 10
FORK, LAST, LINE, BLANK = "├─ ", "└─ ", "│  ", "   "


def tree_blocks(layout: Layout, display: Display, every_finding: bool = False) -> Iterator[Block]:
    """Yield the tree of a shop as it was read; no flow is in it."""
    yield Paragraph((Span(_summary(layout), "strong"),))
    if layout.always_open:
        said = f"No gate on the way, so always open: {listed(layout.always_open)}."
        yield Paragraph((Span(said, "warn"),))
    yield Paragraph("Each run reads downwards, the way its air goes; what comes in at a wye stands above that wye.")
    yield Paragraph("")
    yield from _runs(layout, display)
    yield from _outlet(layout, display)
    yield Heading("Pipe and hose from each machine to the collector")
    for machine, length_m in layout.ways_m:
        yield noted(f"{machine}: {display.length(length_m)}")
    yield from _sets(layout)
    yield from _assumed(layout)
    yield from findings_blocks(layout.findings, display, every_finding)
    yield Paragraph("")
    yield program_line(layout.shop)


def _summary(layout: Layout) -> str:
    runs = several(len(layout.runs), "run")
    end = layout.collector.name if layout.collector else "a collector without a table"
    return f"{several(len(layout.machines), 'machine')} on {runs} of duct, ending at {end}. Flows are not shown here."


def _runs(layout: Layout, display: Display) -> Iterator[Block]:
    """Walk the runs from the one at the collector; a stack, no recursion, since runs may hang thousands deep."""
    by_name = {run.name: run for run in layout.runs}
    root = by_name[layout.root]
    yield Paragraph(_title(root, display))
    stack = [(_items(root), "")]
    while stack:
        items, indent = stack[-1]
        if not items:
            stack.pop()
            continue
        item = items.pop()
        if not isinstance(item, str):
            piece, begins = item
            first, rest = (FORK, LINE) if items else (LAST, BLANK)
            said = [Span(plain(piece_words(piece, display, layout.collector))), Span(begins, "dim")]
            yield Paragraph(said, indent + first, indent + rest + BLANK)
        else:
            yield Paragraph(_title(by_name[item], display), indent + FORK, indent + LINE)
            stack.append((_items(by_name[item]), _indent(indent, len(stack))))


def _items(run: LayoutRun) -> list[Item]:
    """Return a run's pieces, and before each wye the names of the runs that come in; the first item last.

    Behind a wye stands which section of the run begins there.
    """
    items: list[Item] = []
    number = 1
    for place, piece in enumerate(run.pieces):
        begins = piece.kind == "wye" and place > 0
        number += begins
        items += [*piece.joins, (piece, f"; {run.name} {number} begins" if begins else "")]
    return items[::-1]


def _indent(indent: str, depth: int) -> str:
    """Return the indent one level further in; far in, the level is written as a number."""
    return indent + LINE if depth < DEEPEST else f"[{depth} in] " + LINE


def _title(run: LayoutRun, display: Display) -> tuple[Span, ...]:
    return (Span(run.name, "strong"), Span(f" ({display.length(run.length_m)})"))


def _outlet(layout: Layout, display: Display) -> Iterator[Block]:
    if layout.outlet:
        yield Heading("Outlet duct, from the collector on")
    for piece in layout.outlet:
        yield noted(str(piece_words(piece, display, layout.collector)))


def _sets(layout: Layout) -> Iterator[Block]:
    if layout.sets:
        yield Heading("Named gate sets")
    for gate_set in layout.sets:
        helpers = f"; only helping with air: {listed(gate_set.helpers)}" if gate_set.helpers else ""
        yield noted(f"{gate_set.name}: {listed(gate_set.open)}{helpers}")


def _assumed(layout: Layout) -> Iterator[Block]:
    if layout.assumptions:
        yield Heading("Assumed, because nobody wrote it")
    for assumption in layout.assumptions:
        where = f" ({', '.join(assumption.where)})" if assumption.where else ""
        yield noted(assumption.text + where)

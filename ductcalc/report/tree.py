"""The tree of runs and pieces, as read back: text, JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any, NamedTuple

from ductcalc.answers.columns import Column, Columns, within
from ductcalc.answers.layout import Layout, LayoutCollector, LayoutPiece, LayoutRun
from ductcalc.report.blocks import Block, Heading, Paragraph, Span, glued
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.findings import findings_blocks
from ductcalc.report.head_and_foot import noted, program_line
from ductcalc.report.json_text import PROGRAM, fields_of
from ductcalc.report.sentences import listed, several
from ductcalc.shop.bore import height, width
from ductcalc.shop.kinds import TRAITS

Item = tuple[LayoutPiece, str] | str
DEEPEST = 10
ASSUMED = " (assumed)"
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
            said = [Span(piece_words(piece, display, layout.collector)), Span(begins, "dim")]
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
        yield noted(piece_words(piece, display, layout.collector))


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


def piece_words(piece: LayoutPiece, display: Display, collector: LayoutCollector | None) -> str:
    """Return a piece in words: what it is, its size, its length and build, what was assumed."""
    return f"{TRAITS[piece.kind].word}: {', '.join(_parts(piece, display, collector))}"


def _parts(piece: LayoutPiece, display: Display, collector: LayoutCollector | None) -> Iterator[str]:
    if piece.kind == "port":
        yield from _port(piece, display)
    elif piece.kind == "wye":
        yield from _wye(piece, display)
    elif piece.kind == "reducer":
        yield from _reducer(piece, display)
    elif piece.kind == "collector":
        yield from _collector(piece, display, collector)
    else:
        yield from _plain(piece, display)
    if piece.k is not None:
        yield f"own loss {piece.k:.10g} VP"
    if piece.note:
        yield f'"{piece.note}"'


def _port(piece: LayoutPiece, display: Display) -> Iterator[str]:
    yield str(piece.name)
    if piece.style:
        yield piece.style
    yield display.size(piece.bore_m)
    if piece.off:
        yield "never used (flow is off)"
    elif piece.wanted_m3_s is not None:
        yield f"wants {display.flow(piece.wanted_m3_s)}" + (ASSUMED if "wanted" in piece.assumed else "")
    if piece.drop is not None:
        yield f"takes {display.pressure(piece.drop.pressure_pa)} as stated"
    if piece.inlet_m2 is not None:
        yield f"lets air in through {display.area(piece.inlet_m2)}"
    if "resistance" in piece.assumed:
        yield "resistance not stated" + ASSUMED
    if piece.material:
        yield piece.material
    if piece.shares_hose:
        yield "shares this hose, one machine at a time"


def _wye(piece: LayoutPiece, display: Display) -> Iterator[str]:
    yield f"{display.size(piece.bore_m)} behind it"
    if piece.style:
        yield piece.style
    angles = [glued(f"{angle:g} deg") for angle in piece.angles_deg]
    note = ASSUMED if "angle" in piece.assumed else ""
    for name, angle in zip(piece.joins, angles, strict=True):
        yield f"{name} comes in at {angle}{note}"
    if piece.count:
        yield f"{several(piece.count, 'inlet')} capped"


def _reducer(piece: LayoutPiece, display: Display) -> Iterator[str]:
    before = display.size(piece.before_m if piece.before_m is not None else piece.bore_m)
    yield f"{before} to {display.size(piece.bore_m)}" + (ASSUMED if "piece" in piece.assumed else "")
    yield from (glued(f"{angle:g} deg") + " taper" for angle in piece.angles_deg)


def _collector(piece: LayoutPiece, display: Display, collector: LayoutCollector | None) -> Iterator[str]:
    yield collector.name if collector else str(piece.name or "no collector table")
    yield f"{display.size(piece.bore_m)} inlet"
    if collector is None:
        return
    flow, pressure = display.flow(collector.largest_flow_m3_s), display.pressure(collector.largest_pressure_pa)
    if collector.provisional:
        yield f"only two advertised maxima known: {flow} and {pressure}"
    else:
        yield f"{several(collector.points, 'blower point')} up to {flow} and {pressure}"


def _plain(piece: LayoutPiece, display: Display) -> Iterator[str]:
    if piece.name:
        yield piece.name
    if piece.count is not None and TRAITS[piece.kind].alike and piece.count > 1:
        yield f"{piece.count} alike"
    if piece.style:
        yield piece.style + (ASSUMED if "style" in piece.assumed else "")
    yield display.size(piece.bore_m)
    if piece.length_m is not None:
        yield display.written_length(piece.length_m) + " long"
    if piece.rise_m:
        way = "rises" if piece.rise_m > 0.0 else "falls"
        yield f"{way} {display.written_length(abs(piece.rise_m))}"
    yield from (glued(f"{angle:g} deg") for angle in piece.angles_deg)
    if piece.kind == "flex" and piece.count is not None:
        bends = several(piece.count, "bend") if piece.count else "no bend"
        yield bends + (ASSUMED if "count" in piece.assumed else "")
    if piece.opening is not None:
        yield f"{display.share(piece.opening)} open"


def layout_document(layout: Layout) -> dict[str, Any]:
    """Return the tree as nested plain values, SI units."""
    return {
        **PROGRAM,
        "shop": layout.shop,
        "root": layout.root,
        "collector": None if layout.collector is None else asdict(layout.collector),
        "runs": [
            {**fields_of(run, "name", "joins", "length_m"), "pieces": [_piece(piece) for piece in run.pieces]}
            for run in layout.runs
        ],
        "outlet": [_piece(piece) for piece in layout.outlet],
        "machines": [{"machine": machine, "length_m": length} for machine, length in layout.ways_m],
        "always_open": list(layout.always_open),
        "sets": [
            {"name": s.name, "open": list(s.open), "helpers": list(s.helpers), "flow_m3_s": dict(s.flow_m3_s)}
            for s in layout.sets
        ],
        "assumptions": [
            {"assumption": a.key, "text": a.text, "where": list(a.where), "source": a.source or None}
            for a in layout.assumptions
        ],
        "remarks": list(layout.remarks),
    }


def _piece(piece: LayoutPiece) -> dict[str, Any]:
    return {**asdict(piece), "width_m": width(piece.bore_m), "height_m": height(piece.bore_m)}


class _Line(NamedTuple):
    run: LayoutRun
    piece: LayoutPiece


PIECES: Columns[LayoutPiece] = (
    Column("piece", lambda piece: piece.kind),
    Column("name", lambda piece: piece.name),
    Column("style", lambda piece: piece.style),
    Column("size", lambda piece: piece.bore_m, "size"),
    Column("width", lambda piece: width(piece.bore_m), "size"),
    Column("height", lambda piece: height(piece.bore_m), "size"),
    Column("length", lambda piece: piece.length_m, "length"),
    Column("rise", lambda piece: piece.rise_m, "length"),
    Column("angle_deg", lambda piece: " + ".join(f"{angle:g}" for angle in piece.angles_deg)),
    Column("count", lambda piece: piece.count),
    Column("comes_in", lambda piece: " + ".join(piece.joins)),
    Column("wanted", lambda piece: piece.wanted_m3_s, "flow"),
    Column("assumed", lambda piece: piece.assumed),
    Column("note", lambda piece: piece.note),
)
LINES: Columns[_Line] = (
    Column("run", lambda line: line.run.name),
    Column("joins_run", lambda line: line.run.joins),
    *within(_Line, lambda line: line.piece, PIECES),
)


def layout_csv(layout: Layout, display: Display) -> str:
    """Return a line for each piece of each run, in the order of the air."""
    return csv_of(LINES, (_Line(run, piece) for run in layout.runs for piece in run.pieces), display)

"""The tree as JSON and as CSV: a line for each piece of each run, in the order of the air."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any, NamedTuple

from ductcalc.answers.columns import Column, Columns, within
from ductcalc.answers.layout import Layout, LayoutPiece, LayoutRun
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.json_text import PROGRAM, fields_of
from ductcalc.shop.bore import height, width


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

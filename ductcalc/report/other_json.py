"""Branch losses, the tree and the reference tables as JSON documents."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, fields
from typing import Any

from ductcalc.answers.layout import Layout, LayoutPiece
from ductcalc.answers.losses import Losses, LossRow
from ductcalc.report.audit_json import audit_of_cases
from ductcalc.report.check.data import PORT_FIELDS
from ductcalc.report.json_text import fields_of


def losses_document(losses: Losses, largest_first: bool = False) -> dict[str, Any]:
    """Return a branch loss report as nested plain values, SI units."""
    names = [field.name for field in fields(LossRow)]
    rows = losses.largest_first() if largest_first else losses.rows
    return {
        **_program(),
        **fields_of(losses, "shop", "machine", "run", "junction"),
        "case": losses.case.name,
        "open": list(losses.case.open),
        "filter": losses.case.filter,
        "status": losses.case.status,
        "audit": audit_of_cases([losses.case]),
        **fields_of(losses.answer, "flow_m3_s", "wanted_m3_s", "grade"),
        "ports": [fields_of(port, *PORT_FIELDS) for port in losses.answer.ports],
        "total_pa": losses.total_pa,
        **fields_of(losses.case.collector, "blower_pa", "basis"),
        "rows": [fields_of(row, *names) for row in rows],
        "changes": list(losses.changes),
        "by_kind": [{"kind": group, "loss_pa": loss, "share": share} for group, loss, share in losses.by_group()],
    }


def layout_document(layout: Layout) -> dict[str, Any]:
    """Return the tree as nested plain values, SI units."""
    return {
        **_program(),
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
    return asdict(piece)


def tables_document(rows_by_table: Mapping[str, tuple[str, list[Mapping[str, Any]]]]) -> dict[str, Any]:
    """Return reference tables, name to title and rows, as nested plain values."""
    return {
        **_program(),
        "tables": [
            {"name": name, "title": title, "rows": [dict(row) for row in rows]}
            for name, (title, rows) in rows_by_table.items()
        ],
    }


def _program() -> dict[str, Any]:
    from ductcalc import __version__

    return {"program": "ductcalc", "version": __version__}

"""The branch loss report as JSON and as CSV: a line for each piece on the way."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.columns import records
from ductcalc.answers.frames import PORTS
from ductcalc.answers.losses import BILL, Losses
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.json_text import PROGRAM, audit_of_cases, fields_of


def losses_document(losses: Losses, largest_first: bool = False) -> dict[str, Any]:
    """Return a branch loss report as nested plain values, SI units."""
    return {
        **PROGRAM,
        **fields_of(losses, "shop", "machine", "run", "junction"),
        "case": losses.case.name,
        "open": list(losses.case.open),
        "filter": losses.case.filter,
        "at": losses.at,
        "status": losses.case.status,
        "audit": audit_of_cases([losses.case]),
        **fields_of(losses.answer, "flow_m3_s", "wanted_m3_s", "grade"),
        "ports": records(PORTS, losses.answer.ports),
        "total_pa": losses.total_pa,
        **fields_of(losses.case.collector, "blower_pa", "basis"),
        "rows": records(BILL, losses.largest_first() if largest_first else losses.rows),
        "changes": list(losses.changes),
        "by_kind": [{"kind": group, "loss_pa": loss, "share": share} for group, loss, share in losses.by_group()],
    }


def losses_csv(losses: Losses, display: Display, largest_first: bool = False) -> str:
    """Return a line for each piece on the way."""
    why_last = tuple(sorted(BILL, key=lambda column: column.key in ("reason", "source")))
    return csv_of(why_last, losses.largest_first() if largest_first else losses.rows, display)

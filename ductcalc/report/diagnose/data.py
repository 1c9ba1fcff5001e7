"""A diagnosis as JSON and CSV."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.columns import records
from ductcalc.answers.diagnose.diagnose import Diagnosis
from ductcalc.answers.diagnose.weighed import SECOND, SUSPECTS
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.json_text import PROGRAM, fields_of


def diagnosis_document(found: Diagnosis) -> dict[str, Any]:
    """Return a diagnosis as nested plain values, SI units; the chances of all faults add up to one."""
    further = found.further
    return {
        **PROGRAM,
        **fields_of(found, "shop", "when", "baseline", "unseen"),
        "changes": list(found.changes),
        "faults": records((*SUSPECTS, *SECOND), found.suspects),
        "further": None
        if further is None
        else {**fields_of(further, "where", "first_pa", "second_pa", "apart"), "open": list(further.open)},
        "readings": [
            {
                "where": reading.where.written,
                "open": list(reading.open),
                **fields_of(reading, "when", "kind", "value", "sigma", "instrument"),
                "healthy": healthy,
                "first": first,
            }
            for reading, healthy, first in zip(found.now, found.healthy_now, found.first.then, strict=True)
        ],
        "unused": [reading.where.written for reading in found.unused],
    }


def diagnosis_csv(found: Diagnosis, display: Display) -> str:
    """Return a line for each fault, likeliest first."""
    return csv_of((*SUSPECTS, *SECOND), found.suspects, display)

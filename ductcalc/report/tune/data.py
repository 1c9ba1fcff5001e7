"""Fitted numbers as JSON and CSV."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.columns import records
from ductcalc.answers.tune import NUMBERS, Tune
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.json_text import PROGRAM, fields_of


def tune_document(found: Tune) -> dict[str, Any]:
    """Return what was fitted as nested plain values; `times` and its ends are over the number as written."""
    return {
        **PROGRAM,
        **fields_of(found, "shop", "when", "untold"),
        "changes": list(found.changes),
        "numbers": records(NUMBERS, found.numbers),
        "readings": [
            {
                "where": reading.where.written,
                "open": list(reading.open),
                **fields_of(reading, "when", "value"),
                "missed_before": before,
                "missed_after": after,
            }
            for reading, before, after in zip(found.readings, found.before, found.after, strict=True)
        ],
    }


def tune_csv(found: Tune, display: Display) -> str:
    """Return a line for each number."""
    return csv_of(NUMBERS, found.numbers, display)

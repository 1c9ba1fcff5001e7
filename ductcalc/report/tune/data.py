"""Fitted numbers as JSON and CSV."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.tune import Tune
from ductcalc.report.csv_text import csv_text
from ductcalc.report.json_text import fields_of

NUMBER, TUNED = ("value", "low", "high", "left", "deviations"), ("what", "where", "times", "low", "high")


def tune_document(found: Tune) -> dict[str, Any]:
    """Return what was fitted as nested plain values; `times` and its ends are over the number as written."""
    from ductcalc import __version__

    return {
        "program": "ductcalc",
        "version": __version__,
        **fields_of(found, "shop", "when", "untold"),
        "changes": list(found.changes),
        "numbers": [
            {
                **fields_of(number.tuned, "what", "where", "times"),
                "times_low": number.tuned.low,
                "times_high": number.tuned.high,
                **fields_of(number, *NUMBER),
            }
            for number in found.numbers
        ],
        "readings": [
            {"where": reading.where.written, "open": list(reading.open), **fields_of(reading, "when", "value"),
             "missed_before": before, "missed_after": after}
            for reading, before, after in zip(found.readings, found.before, found.after, strict=True)
        ],
    }  # fmt: skip


def tune_csv(found: Tune) -> str:
    """Return a line for each number."""
    columns = ("what", "where", "times", "times_low", "times_high", *NUMBER)
    rows = ([*(getattr(n.tuned, key) for key in TUNED), *(getattr(n, key) for key in NUMBER)] for n in found.numbers)
    return csv_text(columns, rows)

"""A diagnosis as JSON and CSV."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.diagnose.diagnose import Diagnosis
from ductcalc.answers.diagnose.weighed import Suspect
from ductcalc.report.csv_text import csv_text
from ductcalc.report.json_text import fields_of

SUSPECT = ("kind", "where", "size", "probability", "size_of", "low", "high", "misfit", "alike")


def diagnosis_document(found: Diagnosis) -> dict[str, Any]:
    """Return a diagnosis as nested plain values, SI units; the chances of all faults add up to one."""
    from ductcalc import __version__

    return {
        "program": "ductcalc",
        "version": __version__,
        **fields_of(found, "shop", "when", "baseline", "unseen"),
        "changes": list(found.changes),
        "faults": [_suspect(suspect) for suspect in found.suspects],
        "further": None
        if found.further is None
        else {
            **fields_of(found.further, "where", "first_pa", "second_pa", "apart"),
            "open": list(found.further.open),
        },
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


def _suspect(suspect: Suspect) -> dict[str, Any]:
    second = None if suspect.second is None else fields_of(suspect.second, "kind", "where", "size", "size_of")
    return {**fields_of(suspect, *SUSPECT), "second": second}


def diagnosis_csv(found: Diagnosis) -> str:
    """Return a line for each fault, likeliest first."""
    columns = (*SUSPECT, "second_kind", "second_where", "second_size")
    return csv_text(columns, ([*(getattr(s, name) for name in SUSPECT), *_second(s)] for s in found.suspects))


def _second(suspect: Suspect) -> list[Any]:
    second = suspect.second
    return [None] * 3 if second is None else [second.kind, second.where, second.size]

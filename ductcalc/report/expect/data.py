"""The start-up sheet as JSON and CSV, and the form that it is to be filled in."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.columns import records
from ductcalc.answers.expect import BESIDE, TAPS, Expect
from ductcalc.report.columns import csv_of
from ductcalc.report.csv_text import csv_text
from ductcalc.report.display import Display
from ductcalc.report.expect.text import form_note
from ductcalc.report.json_text import PROGRAM, fields_of
from ductcalc.shop.readings import COLUMNS


def expect_document(found: Expect) -> dict[str, Any]:
    """Return the sheet as nested plain values, SI units."""
    return {
        **PROGRAM,
        **fields_of(found, "shop", "provisional"),
        "cases": [{"case": case, "open": list(machines)} for case, machines in found.cases],
        "unsolved": list(found.unsolved),
        "changes": list(found.changes),
        "taps": records(TAPS, found.taps),
    }


def expect_csv(found: Expect, display: Display) -> str:
    """Return a line for each tap and case."""
    return csv_of((*TAPS, *BESIDE), found.taps, display)


def readings_form(found: Expect, display: Display) -> str:
    """Return readings.csv to fill in: a row for each tap that air passes, case by case; values and dates are blank."""
    rows = []
    for case, machines in found.cases:
        taps = [tap for tap in found.taps if tap.case == case and tap.passes]
        for number, tap in enumerate(taps):
            opened = " + ".join(machines) if number == 0 else ""
            kind = "drop" if tap.kind == "filter" else "static"
            rows.append(("", opened, tap.where, kind, "", "", "", "", form_note(tap, display)))
    return csv_text(COLUMNS, rows)

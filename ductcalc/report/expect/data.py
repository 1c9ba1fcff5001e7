"""The start-up sheet as JSON and CSV, and the form that it is to be filled in."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.expect import Expect
from ductcalc.report.csv_text import csv_text, ending, shown
from ductcalc.report.display import Display
from ductcalc.report.expect.text import form_note
from ductcalc.report.json_text import fields_of
from ductcalc.shop.readings import COLUMNS


def expect_document(found: Expect) -> dict[str, Any]:
    """Return the sheet as nested plain values, SI units."""
    from ductcalc import __version__

    names = ("case", "where", "static_pa", "speed_m_s", "low_pa", "high_pa")
    return {
        "program": "ductcalc",
        "version": __version__,
        "shop": found.shop,
        "provisional": found.provisional,
        "cases": [{"case": case, "open": list(machines)} for case, machines in found.cases],
        "unsolved": list(found.unsolved),
        "changes": list(found.changes),
        "taps": [fields_of(tap, *names) for tap in found.taps],
    }


def expect_csv(found: Expect, display: Display) -> str:
    """Return a line for each tap and case."""
    pressure, speed = (ending(what, display) for what in ("pressure", "speed"))
    columns = ("case", "where", f"static_{pressure}", f"speed_{speed}", f"pitot_{pressure}", f"low_{pressure}",
               f"high_{pressure}", "air_passes")  # fmt: skip
    rows = (
        (tap.case, tap.where, shown(tap.static_pa, "pressure", display), shown(tap.speed_m_s, "speed", display),
         shown(tap.axis_vp_pa, "pressure", display), shown(tap.low_pa, "pressure", display),
         shown(tap.high_pa, "pressure", display), tap.passes)
        for tap in found.taps
    )  # fmt: skip
    return csv_text(columns, rows)


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

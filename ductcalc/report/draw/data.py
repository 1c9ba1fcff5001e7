"""The schematic as a JSON document and as CSV: a line for each stretch."""

from __future__ import annotations

from typing import Any

from ductcalc.answers.draw import Drawing
from ductcalc.report.csv_text import csv_text, ending, shown
from ductcalc.report.display import Display
from ductcalc.report.json_text import audit_of_cases, fields_of

PLACES = ("name", "title", "run", "machines", "begins_m", "ends_m", "length_m", "bores_m", "taking")
PIECES = ("kind", "name", "bore_m", "begins_m", "ends_m", "count")
AIR = ("flow_m3_s", "deciding_velocity_m_s", "needed_velocity_m_s", "settling_velocity_m_s", "word")
MACHINES = ("machine", "asked", "open", "flow_m3_s", "wanted_m3_s", "word")


def draw_document(drawing: Drawing) -> dict[str, Any]:
    """Return the schematic as nested plain values, SI units; places are lengths of duct to the collector."""
    from ductcalc import __version__

    case, names = drawing.case, [stretch.name for stretch in drawing.stretches]
    return {
        "program": "ductcalc",
        "version": __version__,
        **fields_of(drawing, "shop", "collector"),
        "case": None if case is None else case.name,
        "filter": None if case is None else case.filter,
        "audit": None if case is None else audit_of_cases([case]),
        "machines": [] if case is None else [fields_of(machine, *MACHINES) for machine in case.machines],
        "stretches": [
            {
                **fields_of(stretch, *PLACES),
                "joins": None if stretch.below is None else names[stretch.below],
                "pieces": [fields_of(piece, *PIECES) for piece in stretch.pieces],
                "air": None if (air := drawing.air(number)) is None else fields_of(air, *AIR),
            }
            for number, stretch in enumerate(drawing.stretches)
        ],
        "changes": list(drawing.changes),
    }


def draw_csv(drawing: Drawing, display: Display) -> str:
    """Return a line for each stretch, upstream ones first."""
    size, length, flow, speed = (ending(what, display) for what in ("size", "length", "flow", "speed"))
    columns = (
        "stretch", "run", "machines", "joins", f"begins_{length}", f"ends_{length}", f"size_{size}", "gates",
        f"flow_{flow}", f"speed_{speed}", "word",
    )  # fmt: skip
    rows = []
    for number, stretch in enumerate(drawing.stretches):
        air = drawing.air(number)
        rows.append(
            [
                stretch.name,
                stretch.run,
                ", ".join(stretch.machines),
                None if stretch.below is None else drawing.stretches[stretch.below].name,
                shown(stretch.begins_m, "length", display),
                shown(stretch.ends_m, "length", display),
                " to ".join(display.size_number(bore) for bore in stretch.bores_m),
                sum(piece.kind == "gate" for piece in stretch.pieces),
                shown(air.flow_m3_s if air else None, "flow", display),
                shown(air.deciding_velocity_m_s if air else None, "speed", display),
                air.word if air else ("shut" if stretch.taking is False else None),
            ]
        )
    return csv_text(columns, rows)

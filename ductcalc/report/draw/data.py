"""Schematic and chart as JSON and as CSV: a line for each stretch, a line for each spot of a curve."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from ductcalc.answers.chart import Chart, Spot
from ductcalc.answers.columns import Column, Columns, records
from ductcalc.answers.draw import Drawing, DrawnStretch
from ductcalc.cases.figures import SectionAnswer
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display
from ductcalc.report.json_text import PROGRAM, audit_of_cases, fields_of

PIECES = ("kind", "name", "bore_m", "begins_m", "ends_m", "count")
MACHINES = ("machine", "asked", "open", "flow_m3_s", "wanted_m3_s", "word")


class _Line(NamedTuple):
    stretch: DrawnStretch
    joins: str | None
    air: SectionAnswer | None


LINES: Columns[_Line] = (
    Column("stretch", lambda line: line.stretch.name),
    Column("title", lambda line: line.stretch.title),
    Column("run", lambda line: line.stretch.run),
    Column("machines", lambda line: line.stretch.machines),
    Column("joins", lambda line: line.joins),
    Column("begins", lambda line: line.stretch.begins_m, "length"),
    Column("ends", lambda line: line.stretch.ends_m, "length"),
    Column("size", lambda line: line.stretch.bores_m[0] if line.stretch.bores_m else None, "size"),
    Column("end_size", lambda line: line.stretch.bores_m[-1] if line.stretch.bores_m else None, "size"),
    Column("gates", lambda line: sum(piece.kind == "gate" for piece in line.stretch.pieces)),
    Column("taking", lambda line: line.stretch.taking),
    Column("flow", lambda line: line.air and line.air.flow_m3_s, "flow"),
    Column("speed", lambda line: line.air and line.air.deciding_velocity_m_s, "speed"),
    Column("least_speed", lambda line: line.air and line.air.settling_velocity_m_s, "speed"),
    Column("word", lambda line: line.air and line.air.word),
)


def _lines(drawing: Drawing) -> Iterator[_Line]:
    for number, stretch in enumerate(drawing.stretches):
        joins = None if stretch.below is None else drawing.stretches[stretch.below].name
        yield _Line(stretch, joins, drawing.air(number))


def draw_document(drawing: Drawing) -> dict[str, Any]:
    """Return the schematic as nested plain values, SI units; places are lengths of duct to the collector."""
    case = drawing.case
    return {
        **PROGRAM,
        **fields_of(drawing, "shop", "collector"),
        "case": None if case is None else case.name,
        "filter": None if case is None else case.filter,
        "audit": None if case is None else audit_of_cases([case]),
        "machines": [] if case is None else [fields_of(machine, *MACHINES) for machine in case.machines],
        "stretches": [
            {**line, "pieces": [fields_of(piece, *PIECES) for piece in stretch.pieces]}
            for line, stretch in zip(records(LINES, _lines(drawing)), drawing.stretches, strict=True)
        ],
        "changes": list(drawing.changes),
    }


def draw_csv(drawing: Drawing, display: Display) -> str:
    """Return a line for each stretch, upstream ones first."""
    return csv_of(LINES, _lines(drawing), display)


class _Told(NamedTuple):
    curve: str
    case: str | None
    spot: Spot


SPOTS: Columns[Spot] = (
    Column("flow", lambda spot: spot[0], "flow"),
    Column("pressure", lambda spot: spot[1], "pressure"),
)
TOLD: Columns[_Told] = (
    Column("curve", lambda told: told.curve),
    Column("case", lambda told: told.case),
    Column("flow", lambda told: told.spot[0], "flow"),
    Column("pressure", lambda told: told.spot[1], "pressure"),
)
MEETS = ("meets, dirty filter", "meets, clean filter")


def chart_document(chart: Chart) -> dict[str, Any]:
    """Return the chart as nested plain values, SI units."""
    return {
        **PROGRAM,
        **fields_of(chart, "shop", "collector", "basis", "provisional", "exit_code"),
        "curves": [{"kind": curve.kind, "spots": records(SPOTS, curve.spots)} for curve in chart.curves],
        "points": records(SPOTS, chart.points),
        "cases": [
            {
                "case": case.dirty.name,
                "open": list(case.dirty.open),
                "status": case.dirty.status,
                "audit": audit_of_cases([case.dirty, case.clean]),
                "spots": records(SPOTS, case.curve.spots),
                "duty": _met(case.duty),
                "meets": dict(zip(("loaded", "clean"), map(_met, case.meetings), strict=True)),
            }
            for case in chart.cases
        ],
        "changes": list(chart.changes),
    }


def _met(spot: Spot | None) -> dict[str, float] | None:
    return None if spot is None else records(SPOTS, [spot])[0]


def chart_csv(chart: Chart, display: Display) -> str:
    """Return a line for each spot of each curve, then the points and where the cases meet what is left."""
    return csv_of(TOLD, _told(chart), display)


def _told(chart: Chart) -> Iterator[_Told]:
    curves: list[tuple[str, str | None, Sequence[Spot]]] = [(one.kind, None, one.spots) for one in chart.curves]
    curves += [("point", None, chart.points)]
    curves += [("system", case.dirty.name, case.curve.spots) for case in chart.cases]
    for case in chart.cases:
        both = zip(MEETS, case.meetings, strict=True)
        curves += [(what, case.dirty.name, (spot,)) for what, spot in (*both, ("duty", case.duty)) if spot is not None]
    yield from (_Told(kind, name, spot) for kind, name, spots in curves for spot in spots)

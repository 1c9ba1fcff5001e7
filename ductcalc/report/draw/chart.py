"""The charts: pressure against flow, suction along one machine's way, and its bill as bars."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate, pairwise

from ductcalc.answers.chart import Chart, ChartCase, ChartCurve, CurveKind, Spot
from ductcalc.answers.losses import Losses
from ductcalc.report.carry import width_of
from ductcalc.report.check.sentences import case_title, why_no_answer
from ductcalc.report.display import Display
from ductcalc.report.draw.picture import Group, Look, Mark, Picture, Point, Stroke, Words, written
from ductcalc.report.draw.plot import Plot
from ductcalc.report.losses.text import piece_name
from ductcalc.report.sentences import capitalised
from ductcalc.units.display import to_display

ROWS, MOST_ROWS = 18, 26
"""Rows of a field on a narrow sheet and on one of 100 columns."""
REACH = 1.5
"""How far beyond the curves' largest flow and pressure the chart goes to show what the air wanted would need."""
DUTY = "what all the air wanted in a case would need"
LOOKS: dict[CurveKind, tuple[Look, str, float]] = {
    "blower": ("curve", "b", 0.3),
    "hopeful": ("curve 4", "h", 0.3),
    "clean": ("curve 2", "c", 0.4),
    "dirty": ("curve 3", "d", 0.5),
}
"""How each curve of the collector is painted, its letter, and where along it that stands."""


def chart_picture(chart: Chart, display: Display, columns: int, encoding: str = "utf-8") -> Picture:
    """Return pressure against flow."""
    flow, pressure = display.unit("flow"), display.unit("pressure")
    curves = [_shown(curve.spots, display) for curve in chart.curves]
    points = _shown(chart.points, display)
    duties = _shown([case.duty for case in chart.cases if case.duty], display)
    most = (max(x for spots in (*curves, points) for x, _ in spots), max(y for c in (*curves, points) for _, y in c))
    near = [(x, y) for x, y in duties if x <= REACH * most[0] and y <= REACH * most[1]]
    largest = (max([most[0], *(x for x, _ in near)]), max([most[1], *(y for _, y in near)]))
    plot = Plot(columns, _rows(columns), largest, (f"flow, {flow}", f"pressure, {pressure}"), encoding)
    groups = [plot.axes()]
    meetings = [_shown([spot for spot in case.meetings if spot], display) for case in chart.cases]
    plot.keep_clear([spot for both in meetings for spot in both] + points + near)
    for curve, spots in zip(chart.curves, curves, strict=True):
        look, letter, share = LOOKS[curve.kind]
        groups.append(Group("curve", _curve_words(chart, curve), tuple(plot.curve(spots, look, letter, share))))
    for number, case in enumerate(chart.cases, start=1):
        parts = plot.curve(_shown(case.curve.spots, display), "system", str(number), 0.25 + 0.1 * number)
        groups.append(Group("system", case_title(case.dirty), tuple(parts)))
    groups.append(Group("points", _points_words(chart), tuple(plot.mark(spot, "point") for spot in points)))
    for case, both in zip(chart.cases, meetings, strict=True):
        parts_met = tuple(plot.mark(spot, "meets") for spot in both)
        groups.append(Group("meets", _case_words(case, display), parts_met))
    groups.append(Group("duties", DUTY, tuple(plot.mark(spot, "duty") for spot in near)))
    groups += _chart_key(chart, display, plot, bool(near))
    said = " ".join(group.title + "." for group in groups if group.key in ("curve", "meets"))
    return Picture(columns, plot.row, f"Pressure against flow, {chart.collector} of {chart.shop}", said, tuple(groups))


def _chart_key(chart: Chart, display: Display, plot: Plot, duties: bool) -> Iterator[Group]:
    for curve in chart.curves:
        look, letter, _ = LOOKS[curve.kind]
        yield plot.key(Stroke((), look, 0.0, letter), letter, f"{letter}: {_curve_words(chart, curve)}")
    yield plot.key(Mark((0.0, 0.0), "point"), "", _points_words(chart))
    for number, case in enumerate(chart.cases, start=1):
        sample = Stroke((), "system", 0.0, str(number))
        yield plot.key(sample, str(number), f"{number}: {_case_words(case, display)}")
    if any(case.dirty.solved or case.clean.solved for case in chart.cases):
        yield plot.key(Mark((0.0, 0.0), "meets"), "", "where a duct and what is left for it meet: the flow that runs")
    if duties:
        yield plot.key(Mark((0.0, 0.0), "duty"), "", DUTY)


def _rows(columns: int) -> int:
    return max(min(columns // 4, MOST_ROWS), min(ROWS, columns // 3))


def _shown(spots: tuple[Spot, ...] | list[Spot], display: Display) -> list[Point]:
    return [
        (to_display(flow, "flow", display.system)[0], to_display(pressure, "pressure", display.system)[0])
        for flow, pressure in spots
    ]


def _curve_words(chart: Chart, curve: ChartCurve) -> str:
    if curve.kind == "blower":
        counted = ", counted cautiously from two advertised figures" if chart.provisional else ""
        return f"the blower's curve, {chart.basis}{counted}"
    if curve.kind == "hopeful":
        return "a hopeful curve through both advertised figures, not counted on"
    return f"left for the duct at the collector's inlet, {curve.kind} filter, total suction"


def _points_words(chart: Chart) -> str:
    if chart.provisional:
        return "the two advertised figures, which never occur together"
    return "the blower's points, at this shop's air"


def _case_words(case: ChartCase, display: Display) -> str:
    """Return what is open in a case and where it meets, filter dirty and clean."""
    met = [
        f"{display.flow(spot[0])}, {display.pressure(spot[1])} of total suction, {state} filter"
        for spot, state in zip(case.meetings, ("dirty", "clean"), strict=True)
        if spot is not None
    ] or [f"no answer, {why_no_answer(case.dirty, display)}"]
    if case.duty is not None:
        met.append(f"all air wanted would need {display.flow(case.duty[0])}, {display.pressure(case.duty[1])}")
    return f"{case_title(case.dirty)}: {'; '.join(met)}"


def way_picture(losses: Losses, display: Display, columns: int, encoding: str = "utf-8") -> Picture:
    """Return the total suction behind each piece of a machine's way against the length of duct to there."""
    lengths = [0.0, *accumulate(row.length_m for row in losses.rows)]
    pressures = [0.0, *(max(row.running_total_pa, 0.0) for row in losses.rows)]
    spots = [
        (to_display(far, "length", display.system)[0], to_display(suction, "pressure", display.system)[0])
        for far, suction in zip(lengths, pressures, strict=True)
    ]
    length, pressure = display.unit("length"), display.unit("pressure")
    largest = (spots[-1][0] or 1.0, max(y for _, y in spots))
    units = (f"length of duct from the machine, {length}", f"total suction, {pressure}")
    plot = Plot(columns, _rows(columns), largest, units, encoding)
    groups = [plot.axes()]
    strokes = [plot.line(begin, end) for begin, end in pairwise(spots)]
    for number, (row, stroke, ends) in enumerate(zip(losses.rows, strokes, pairwise(spots), strict=True), start=1):
        middle = (0.5 * (ends[0][0] + ends[1][0]), 0.5 * (ends[0][1] + ends[1][1]))
        groups.append(Group("piece", piece_name(row), (stroke, plot.beside(middle, str(number)))))
    for number, row in enumerate(losses.rows, start=1):
        loss = display.pressure_number(row.loss_pa, fine=True)
        groups.append(plot.key(None, str(number), f"{piece_name(row)}: {loss} {pressure}"))
    title = f"Suction along the way of {losses.machine}"
    said = f"{capitalised(title)}, {case_title(losses.case)}, dirty filter: {display.pressure(losses.total_pa)} in all."
    return Picture(columns, plot.row, title, said, tuple(groups))


def bill_picture(losses: Losses, display: Display, columns: int) -> Picture:
    """Return the losses of a machine's way as bars, in the order of the air."""
    pressure = display.unit("pressure")
    rows = [row for row in losses.rows if row.share is not None]
    names = [piece_name(row) for row in rows]
    figures = [f"{display.pressure_number(row.loss_pa, fine=True)} {pressure}" for row in rows]
    name_columns = min(max(map(width_of, names)), columns // 3)
    first, room = name_columns + 2, columns - name_columns - max(map(width_of, figures)) - 5
    most = max((row.loss_pa for row in rows), default=0.0) or 1.0
    at, groups = 0, []
    for row, name, figure in zip(rows, names, figures, strict=True):
        words = written(name, (0.0, float(at)), name_columns)
        long = room * max(row.loss_pa, 0.0) / most
        bar = Stroke(((float(first), float(at)), (first + long, float(at))), "bar")
        told = Words((float(round(first + long) + 2), float(at)), figure)
        groups.append(Group("bar", f"{name}: {figure}", (*words, *([bar] if long >= 0.5 else []), told)))
        at += len(words)
    title = f"Where the pressure goes on the way of {losses.machine}"
    said = f"{title}, {case_title(losses.case)}, dirty filter: {display.pressure(losses.total_pa)} in all."
    return Picture(columns, at, title, said, tuple(groups))

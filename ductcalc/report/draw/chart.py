"""The charts: pressure against flow, suction along one machine's way, and its bill as bars."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate, pairwise

from ductcalc.answers.chart import Chart, ChartCase, ChartCurve, CurveKind, Spot
from ductcalc.answers.losses import Losses
from ductcalc.report.check.sentences import case_title, why_no_answer
from ductcalc.report.display import Display
from ductcalc.report.draw.picture import (
    Group,
    Look,
    Mark,
    NoRoom,
    Part,
    Picture,
    Point,
    Sign,
    Stroke,
    Words,
    passed,
    round_steps,
    written,
)
from ductcalc.report.flow import width_of
from ductcalc.report.losses import piece_name
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


ACROSS, UP = 10, 5
"""Columns a step across the field takes at the least; steps up it."""
NARROWEST = 24
"""Columns of the narrowest field."""
TOP = 2
"""Rows above the field, for the unit of the axis at the left."""
BESIDE = ((0, 0), (0, -1), (1, 0), (0, 1), (-1, 0), (1, -1), (-2, 0), (2, 0), (0, -2), (2, -1), (0, 2), (3, 0), (4, 0))
"""Columns and rows by which a short word gives way to what stands there already, nearest first."""


class Plot:
    """The field of a chart from 0 to the largest values of x and y, in display units."""

    def __init__(
        self, columns: int, rows: int, largest: Point, units: tuple[str, str], encoding: str = "utf-8"
    ) -> None:
        """Lay out the axes on a sheet of so many columns; rows: of the field. Raises NoRoom on a narrow one."""
        self.columns, self.units, self.encoding = columns, units, encoding
        self.ys = round_steps(largest[1], UP)
        self.left = max(width_of(f"{y:g}") for y in self.ys) + 1
        self.bottom = TOP + rows
        self.wide = columns - self.left - 3
        if self.wide < NARROWEST or max(map(width_of, units)) > columns - self.left:
            raise NoRoom
        self.xs = round_steps(largest[0], max(self.wide // ACROSS, 2))
        self.rows, self.row = rows, self.bottom + 2
        self.taken: set[tuple[int, int]] = set()

    def place(self, x: float, y: float) -> Point:
        """Return the place of a value on the sheet."""
        return self.left + self.wide * x / self.xs[-1], self.bottom - self.rows * y / self.ys[-1]

    def axes(self) -> Group:
        """Return the axes with their steps and units."""
        zero, bottom = float(self.left), float(self.bottom)
        across = Stroke(((zero, bottom), (zero + self.wide, bottom)), "axis")
        up = Stroke(((zero, float(TOP)), (zero, bottom)), "axis")
        parts: list[Part] = [Words((0.0, 0.0), self.units[1]), up, across]
        for y in self.ys:
            said = f"{y:g}"
            parts.append(Words((float(self.left - 1 - width_of(said)), float(round(self.place(0.0, y)[1]))), said))
        for x in self.xs:
            said, at = f"{x:g}", self.place(x, 0.0)[0]
            first = min(round(at) - width_of(said) // 2, self.columns - width_of(said))
            parts.append(Words((float(first), float(self.bottom + 1)), said))
        parts.append(Words((float(self.left), float(self.bottom + 2)), self.units[0]))
        self.row = self.bottom + 4
        return Group("axes", "axes", tuple(parts))

    def curve(self, spots: Sequence[Point], look: Look, letter: str, share: float) -> Iterator[Stroke]:
        """Yield a curve with its letter at about this share of it, where nothing else stands yet."""
        points = [self.place(x, y) for x, y in spots if x <= self.xs[-1] and y <= self.ys[-1]]
        if not points:
            return
        start = round(share * (len(points) - 1))
        order = sorted(range(len(points)), key=lambda n: abs(n - start))
        at = next((n for n in order if self._free(points[n])), start)
        cell = (round(points[at][0]), round(points[at][1]))
        self.taken |= {(cell[0] + dx, cell[1] + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)}
        yield Stroke(tuple(points), look, 0.0, letter, points[at])

    def _free(self, point: Point) -> bool:
        cell = (round(point[0]), round(point[1]))
        return cell not in self.taken and self.left + 1 < cell[0] < self.left + self.wide

    def keep_clear(self, spots: Sequence[Point]) -> None:
        """Let no letter stand where curves pass close to these spots."""
        for x, y in spots:
            column, row = (round(value) for value in self.place(x, y))
            self.taken |= {(column + dx, row + dy) for dx in (-2, -1, 0, 1, 2) for dy in (-1, 0, 1)}

    def mark(self, spot: Point, sign: Sign) -> Mark:
        """Return a sign at a value."""
        return Mark(self.place(*spot), sign)

    def line(self, begin: Point, end: Point) -> Stroke:
        """Return a straight stretch of a curve, on which no words will stand."""
        ends = self.place(*begin), self.place(*end)
        self.taken |= set(passed(*ends))
        return Stroke(ends, "curve", 0.0, "*")

    def beside(self, spot: Point, text: str) -> Words:
        """Return a short word at a value, or as near to it as it finds room."""
        x, y = (round(value) for value in self.place(*spot))
        for dx, dy in (*BESIDE, *((2 * dx, 2 * dy) for dx, dy in BESIDE)):
            cells = {(x + dx + n, y + dy) for n in range(-1, width_of(text) + 1)}
            inside = TOP <= y + dy < self.bottom and self.left < x + dx and x + dx + width_of(text) <= self.columns
            if inside and not cells & self.taken:
                self.taken |= cells
                return Words((float(x + dx), float(y + dy)), text)
        return Words((float(self.left + 1), float(TOP)), text)

    def key(self, sample: Part | None, sign: str, said: str) -> Group:
        """Return a line of the key: a curve's sample or a sign, its letter, what it means."""
        parts: list[Part] = []
        row = float(self.row)
        if isinstance(sample, Stroke):
            parts.append(sample._replace(points=((0.0, row), (3.0, row))))
        elif isinstance(sample, Mark):
            parts.append(sample._replace(at=(1.0, row)))
        else:
            parts.append(Words((0.0, row), sign, "strong"))
        words = written(said, (6.0, row), self.columns - 6, encoding=self.encoding)
        self.row += len(words)
        return Group("key", said, (*parts, *words))

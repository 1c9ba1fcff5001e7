"""A field with two axes on a sheet of cells: round steps on both, curves with a letter each, words where room is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.report.carry import width_of
from ductcalc.report.draw.picture import (
    Group,
    Look,
    Mark,
    NoRoom,
    Part,
    Point,
    Sign,
    Stroke,
    Words,
    passed,
    round_steps,
    written,
)

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

"""Paints a picture with characters: lines of a terminal, in ASCII where the encoding has nothing better."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ductcalc.report.blocks import Span, Style
from ductcalc.report.draw.picture import Mark, Picture, Point, Stroke, Words, passed
from ductcalc.report.flow import Line, carried, width_of

NORTH, EAST, SOUTH, WEST = 1, 2, 4, 8
LINES = " │─└││┌├─┘─┴┐┤┬┼"
"""The character for each sum of the directions in which lines leave a cell."""
SIGNS = {
    "port": "o", "gate": "#", "gate shut": "X", "cap": "|", "collector": "@", "point": "o", "meets": "+",
    "duty": "x",
}  # fmt: skip
FLAT = {"hose": "~", "shut": ".", "bar": "█"}
"""Characters of level lines that are no plain pipe."""


class _Canvas:
    """Cells by row and column: directions of lines, then characters that stand on them."""

    def __init__(self) -> None:
        self.lines: dict[tuple[int, int], int] = {}
        self.flat: dict[tuple[int, int], str] = {}
        self.signs: dict[tuple[int, int], tuple[str, Style]] = {}

    def straight(self, begin: Point, end: Point, look: str) -> None:
        """Draw a level or upright line; where lines meet, their directions add up."""
        (left, top), (right, bottom) = sorted(((round(begin[0]), round(begin[1])), (round(end[0]), round(end[1]))))
        if top == bottom and look != "leader":
            for column in range(left, right):
                self._join((top, column), EAST)
                self._join((top, column + 1), WEST)
            self.flat.update({(top, column): FLAT.get(look, "") for column in range(left, right + 1)})
        elif top == bottom:
            self._join((top, left), NORTH | SOUTH)
        else:
            for row in range(min(top, bottom), max(top, bottom)):
                self._join((row, left), SOUTH)
                self._join((row + 1, left), NORTH)

    def _join(self, cell: tuple[int, int], direction: int) -> None:
        self.lines[cell] = self.lines.get(cell, 0) | direction

    def curve(self, points: tuple[Point, ...], letter: str) -> None:
        """Draw a curve as its letter in each cell that it passes; where another stands already, that stays."""
        for begin, end in pairwise(points):
            for column, row in passed(begin, end):
                self.signs.setdefault((row, column), (letter, ""))

    def character(self, cell: tuple[int, int]) -> tuple[str, Style]:
        if cell in self.signs:
            return self.signs[cell]
        directions = self.lines.get(cell, 0)
        if self.flat.get(cell) and not directions & (NORTH | SOUTH):
            return self.flat[cell], ""
        return LINES[directions], ""


def figure_lines(picture: Picture, encoding: str) -> list[Line]:
    """Return a picture as lines of characters."""
    canvas, words = _Canvas(), list(picture.words())
    parts = [part for group in picture.groups for part in group.parts]
    for part in parts:
        if isinstance(part, Mark):
            canvas.signs[round(part.at[1]), round(part.at[0])] = (SIGNS[part.sign], "strong")
    for part in parts:
        if isinstance(part, Stroke) and part.letter:
            canvas.curve(part.points, part.letter)
        elif isinstance(part, Stroke):
            for begin, end in pairwise(part.points):
                canvas.straight(begin, end, part.look)
    return [tuple(_row(canvas, words, row, picture.columns, encoding)) for row in range(picture.rows)]


def _row(canvas: _Canvas, words: list[Words], row: int, columns: int, encoding: str) -> Iterator[Span]:
    """Yield a row's spans: lines and signs, with words in their places."""
    column = 0
    for one in sorted((one for one in words if round(one.at[1]) == row), key=lambda one: one.at[0]):
        yield from _cells(canvas, row, column, round(one.at[0]), encoding)
        text = carried(one.text, encoding)
        yield Span(text, one.style)
        column = round(one.at[0]) + width_of(text)
    yield from _cells(canvas, row, column, columns, encoding)


def _cells(canvas: _Canvas, row: int, first: int, end: int, encoding: str) -> Iterator[Span]:
    for column in range(first, end):
        text, style = canvas.character((row, column))
        yield Span(carried(text, encoding), style)

"""What a picture is made of, on a sheet measured in characters' cells: x in columns, y in rows from the top.

Every form paints the same places: a terminal a character to the cell, SVG a cell of 8 by 16 units.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import floor, log10
from typing import Literal, NamedTuple

from ductcalc.report.blocks import Style
from ductcalc.report.flow import flowed

Look = Literal["pipe", "hose", "shut", "leader", "axis", "curve", "curve 2", "curve 3", "curve 4", "system", "bar"]
Sign = Literal["port", "gate", "gate shut", "cap", "collector", "point", "meets", "duty"]
Point = tuple[float, float]


SHEET = 100
"""Columns of a picture that is a file of its own or stands in a page."""


class NoRoom(Exception):
    """The sheet is too narrow for what is to be drawn on it."""


class Stroke(NamedTuple):
    """A line through points. bore_m: of the duct that it stands for.

    letter: of a curve; a terminal paints it in every cell that the curve passes, other forms once, at letter_at.
    """

    points: tuple[Point, ...]
    look: Look
    bore_m: float = 0.0
    letter: str = ""
    letter_at: Point | None = None


class Mark(NamedTuple):
    """A sign at a place."""

    at: Point
    sign: Sign


class Words(NamedTuple):
    """A line of words that begins at a place."""

    at: Point
    text: str
    style: Style = ""


Part = Stroke | Mark | Words


class Group(NamedTuple):
    """What belongs together: a stretch, a curve, a bar. key tells kinds apart; title is what it is called."""

    key: str
    title: str
    parts: tuple[Part, ...]


@dataclass(frozen=True)
class Picture:
    """A sheet of so many columns and rows; title and description say in words what it shows."""

    columns: int
    rows: int
    title: str
    description: str
    groups: tuple[Group, ...]

    def words(self) -> Iterator[Words]:
        """Yield every line of words."""
        return (part for group in self.groups for part in group.parts if isinstance(part, Words))


def passed(begin: Point, end: Point) -> Iterator[tuple[int, int]]:
    """Yield the cells (column, row) that a straight line passes, some more than once."""
    (x0, y0), (x1, y1) = begin, end
    steps = 2 * max(round(abs(x1 - x0)), round(abs(y1 - y0)), 1)
    for step in range(steps + 1):
        yield round(x0 + step / steps * (x1 - x0)), round(y0 + step / steps * (y1 - y0))


def written(text: str, at: Point, columns: int, style: Style = "", encoding: str = "utf-8") -> list[Words]:
    """Return text as lines of at most so many columns, one below the other, in the letters of an encoding."""
    lines = ("".join(span.text for span in line) for line in flowed(text, max(columns, 1), encoding))
    return [Words((at[0], at[1] + row), line, style) for row, line in enumerate(lines)]


def round_steps(largest: float, count: int) -> Sequence[float]:
    """Return about so many round values from 0 up to just past the largest."""
    raw = largest / max(count, 1) or 1.0
    power = 10.0 ** floor(log10(raw))
    step = next(size * power for size in (1.0, 2.0, 2.5, 5.0, 10.0) if size * power >= raw * (1.0 - 1e-9))
    steps, number = [0.0], 1
    while steps[-1] < largest * (1.0 - 1e-9):
        steps.append(number * step)
        number += 1
    return steps

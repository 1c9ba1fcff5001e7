"""What a picture is made of, on a sheet measured in characters' cells: x in columns, y in rows from the top.

Every form paints the same places: a terminal a character to the cell, SVG a cell of 8 by 16 units."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import floor, log10
from typing import Literal, NamedTuple
from xml.etree.ElementTree import Element, SubElement, tostring

from ductcalc.report.blocks import Style
from ductcalc.report.flow import carried, flowed

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


NAMESPACE = "http:" + "//www.w3.org/2000/svg"
"""The name that says what SVG is; nothing is fetched from it."""
WIDE, HIGH, LETTERS = 8.0, 16.0, 13.0
"""Units of a cell, and of the letters in it: a character of a fixed pitch is 0.6 as wide as it is high."""
INCH_M = 0.0254
DASHES = {
    "hose": "3 2", "shut": "1 5", "curve 2": "8 4", "curve 3": "3 3", "curve 4": "9 3 2 3 2 3", "system": "10 3 2 3",
}  # fmt: skip
WIDTHS = {"leader": 0.6, "axis": 1.2, "shut": 1.5, "system": 1.2, "bar": 10.0}
STYLE = "svg{color:#111;background:#fff}"


def svg_text(picture: Picture) -> str:
    """Return a picture as an SVG file."""
    root = svg_element(picture)
    root.set("xmlns", NAMESPACE)
    style = Element("style")
    style.text = STYLE
    root.insert(2, style)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def svg_element(picture: Picture, name: str = "picture") -> Element:
    """Return a picture as an element; name: of its title and description within a page."""
    width, height = picture.columns * WIDE, picture.rows * HIGH
    root = Element(
        "svg",
        {
            "viewBox": f"0 0 {width:g} {height:g}",
            "width": f"{width:g}",
            "height": f"{height:g}",
            "role": "img",
            "aria-labelledby": f"{name}-title {name}-desc",
            "font-family": "ui-monospace, 'DejaVu Sans Mono', Menlo, Consolas, monospace",
            "font-size": f"{LETTERS:g}",
            "fill": "currentColor",
        },
    )
    SubElement(root, "title", {"id": f"{name}-title"}).text = carried(picture.title, "utf-8")
    SubElement(root, "desc", {"id": f"{name}-desc"}).text = carried(picture.description, "utf-8")
    for group in picture.groups:
        element = SubElement(root, "g", {"class": group.key})
        SubElement(element, "title").text = carried(group.title, "utf-8")
        for part in group.parts:
            element.extend(_painted(part))
    return root


def _painted(part: Part) -> Iterator[Element]:
    if isinstance(part, Words):
        x, y = part.at[0] * WIDE, (part.at[1] + 0.75) * HIGH
        weight = {"font-weight": "bold"} if part.style == "strong" else {}
        element = Element("text", {"x": f"{x:g}", "y": f"{y:g}", **weight})
        element.text = carried(part.text, "utf-8")
        yield element
    elif isinstance(part, Stroke):
        yield from _stroke(part)
    else:
        yield from _sign(part)


def _middle(at: Point) -> Point:
    """Return the middle of a cell."""
    return (at[0] + 0.5) * WIDE, (at[1] + 0.5) * HIGH


def _stroke(stroke: Stroke) -> Iterator[Element]:
    """Yield a line; a curve is broken where its letter stands."""
    at = stroke.letter_at
    if at is None:
        yield _line(stroke, stroke.points)
        return
    yield _line(stroke, [point for point in stroke.points if point <= at and _apart(point, at)])
    yield _line(stroke, [point for point in stroke.points if point > at and _apart(point, at)])
    x, y = _middle(at)
    place = {"x": f"{x:.5g}", "y": f"{y + 0.25 * HIGH:.5g}"}
    letter = Element("text", {**place, "text-anchor": "middle", "font-weight": "bold"})
    letter.text = stroke.letter
    yield letter


def _apart(one: Point, other: Point) -> bool:
    """Whether two places lie so far apart that a letter fits between."""
    return abs(one[0] - other[0]) > 0.8 or abs(one[1] - other[1]) > 0.5


def _line(stroke: Stroke, through: Sequence[Point]) -> Element:
    points = " ".join(f"{x:.5g},{y:.5g}" for x, y in map(_middle, through))
    width = WIDTHS.get(stroke.look, max(stroke.bore_m / INCH_M, 1.8) if stroke.bore_m else 1.8)
    dashes = {"stroke-dasharray": DASHES[stroke.look]} if stroke.look in DASHES else {}
    return Element(
        "polyline", {"points": points, "fill": "none", "stroke": "currentColor", "stroke-width": f"{width:g}", **dashes}
    )


def _sign(mark: Mark) -> Iterator[Element]:
    x, y = _middle(mark.at)
    line = {"stroke": "currentColor", "stroke-width": "2", "fill": "none"}
    if mark.sign in ("port", "point"):
        yield Element("circle", {"cx": f"{x:g}", "cy": f"{y:g}", "r": "4" if mark.sign == "port" else "2.5"})
    elif mark.sign == "collector":
        yield Element("rect", {"x": f"{x - 10:g}", "y": f"{y - 9:g}", "width": "28", "height": "18", **line})
    elif mark.sign == "gate shut":
        yield Element("path", {"d": f"M{x - 5:g} {y - 6:g}l10 12m0 -12l-10 12", **line})
    elif mark.sign == "duty":
        yield Element("path", {"d": f"M{x:.5g} {y - 6:.5g}l6 6l-6 6l-6 -6z", **line})
    elif mark.sign == "meets":
        yield Element("circle", {"cx": f"{x:g}", "cy": f"{y:g}", "r": "5", **line})
    else:
        thick = line if mark.sign == "gate" else {**line, "stroke-width": "5"}
        yield Element("path", {"d": f"M{x:g} {y - 7:g}v14", **thick})

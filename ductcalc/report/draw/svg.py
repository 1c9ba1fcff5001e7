"""Paints a picture as SVG: a tree of elements, so that every name is escaped by the one who writes it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.etree.ElementTree import Element, SubElement, tostring

from ductcalc.report.carry import carried
from ductcalc.report.draw.picture import Mark, Part, Picture, Point, Stroke, Words

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

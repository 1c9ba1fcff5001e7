"""What a person would see of a picture: which words stand on each other, on lines, or leave the sheet."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from ductcalc.report.draw.picture import Mark, Picture, Stroke, Words
from ductcalc.report.flow import width_of

Cell = tuple[int, int]


def cells_of(words: Words) -> list[Cell]:
    """Return the cells (row, column) that a line of words takes."""
    first = round(words.at[0])
    return [(round(words.at[1]), column) for column in range(first, first + width_of(words.text))]


def faults(picture: Picture) -> list[str]:
    """Return every word that leaves the sheet or shares a cell with other words, a line or a sign."""
    found, taken = [], dict.fromkeys(drawn(picture), "a line")
    for one in picture.words():
        cells = cells_of(one)
        found += [f"{one.text!r} on {taken[cell]!r}" for cell in cells if cell in taken]
        found += [
            f"{one.text!r} off the sheet"
            for row, column in cells
            if not (0 <= row < picture.rows and 0 <= column < picture.columns)
        ]
        taken |= dict.fromkeys(cells, one.text)
    return found


def drawn(picture: Picture) -> Iterator[Cell]:
    """Yield the cells of level and upright lines and of signs."""
    for part in (part for group in picture.groups for part in group.parts):
        if isinstance(part, Mark):
            yield round(part.at[1]), round(part.at[0])
        elif isinstance(part, Stroke):
            for (x0, y0), (x1, y1) in pairwise(part.points):
                if x0 == x1 or y0 == y1:
                    (left, right), (top, bottom) = sorted((round(x0), round(x1))), sorted((round(y0), round(y1)))
                    yield from ((row, column) for row in range(top, bottom + 1) for column in range(left, right + 1))

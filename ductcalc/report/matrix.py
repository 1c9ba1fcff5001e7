"""Pairs of names as a triangle of short words: blocks of columns for many names; names flow and stay whole."""

from __future__ import annotations

from collections.abc import Sequence

from ductcalc.report.blocks import Matrix, Span
from ductcalc.report.carry import carried, width_of
from ductcalc.report.flow import Line, flowed, line_width

GAP, NAME_GAP = 1, 2
LEAST_NAME = 18
NAME_SHARE = 3


def matrix_lines(matrix: Matrix, width: int | None, encoding: str) -> list[Line]:
    """Return the triangle as lines of at most `width` cells, block of columns after block."""
    count = len(matrix.names)
    number = len(str(count))
    cell = max(number, *(width_of(span.text) for row in matrix.cells for span in row), 1)
    names = max(width_of(carried(name, encoding)) for name in matrix.names)
    columns = max(count - 1, 1)
    if width is not None:
        room = width - number - 1 - NAME_GAP
        least = max(min(names, max(LEAST_NAME, width // NAME_SHARE), room - cell - GAP), 1)
        names = max(min(names, room - columns * (cell + GAP)), least)
        columns = max((room - names) // (cell + GAP), 1)
    lines: list[Line] = []
    for first in range(0, max(count - 1, 1), columns):
        lines += [(), *_block(matrix, range(first, min(first + columns, count - 1)), (number, names, cell), encoding)]
    return lines[1:]


def _block(matrix: Matrix, shown: range, sizes: tuple[int, int, int], encoding: str) -> list[Line]:
    """Return one block: a line of column numbers, then the rows that have words in it, the first names as a key."""
    number, names, cell = sizes
    left = " " * (number + 1 + names + NAME_GAP - GAP)
    lines: list[Line] = [(Span(left), *_cells([Span(str(n + 1), "strong") for n in shown], cell))]
    for row in range(shown.start, len(matrix.names)):
        parts = flowed(matrix.names[row], names, encoding)
        words = [span for place, span in enumerate(matrix.cells[row]) if place in shown]
        for part, line in enumerate(parts):
            head = f"{row + 1 if not part else '':>{number}} "
            blank = names - line_width(line) + NAME_GAP - GAP
            lines.append((Span(head), *line, Span(" " * blank), *(_cells(words, cell) if not part else ())))
    return lines


def _cells(words: Sequence[Span], cell: int) -> list[Span]:
    return [part for word in words for part in (Span(" " * (GAP + cell - width_of(word.text))), word)]

"""Tables that fit the page: text columns flow, then columns leave in a fixed order; no name or number is cut."""

from __future__ import annotations

from collections.abc import Sequence

from ductcalc.report.blocks import Grid, GridColumn, Matrix, Span, Words, plain, spans_of
from ductcalc.report.flow import Line, carried, flowed, line_width, longest_word, width_of

GAP = 2
HANG = 2
LEAST_TEXT = 14
CELL_GAP, NAME_GAP, LEAST_NAME, NAME_SHARE = 1, 2, 18, 3
"""Of a matrix: blanks before a cell and behind a name; cells that a name has at least, and its share of the page."""


def grid_lines(grid: Grid, width: int | None, encoding: str) -> list[Line]:
    """Return a table as lines of at most `width` cells; at its natural width when width is None."""
    kept = list(range(len(grid.columns)))
    natural = {n: _natural(grid, n, encoding) for n in kept}
    least = {n: _least(grid, n, natural[n], encoding) for n in kept}
    for leaving in [None, *_leaving(grid.columns)]:
        kept = [n for n in kept if n != leaving]
        if width is None or _total([least[n] for n in kept]) <= width:
            widths = _fitted([natural[n] for n in kept], [least[n] for n in kept], width)
            return _lines(grid, kept, widths, encoding)
    return _stacked(grid, kept, natural, width or 1, encoding)


def _leaving(columns: Sequence[GridColumn]) -> list[int]:
    numbered = [(column.drop, n) for n, column in enumerate(columns) if column.drop is not None]
    return [n for _, n in sorted(numbered)]


def _natural(grid: Grid, number: int, encoding: str) -> int:
    cells = [*grid.columns[number].title, *(plain(row[number]) for row in grid.rows)]
    return max(width_of(carried(cell, encoding)) for cell in cells)


def _least(grid: Grid, number: int, natural: int, encoding: str) -> int:
    column = grid.columns[number]
    if not column.wrap:
        return natural
    words = [*column.title, *(row[number] for row in grid.rows)]
    longest = max(longest_word(cell, encoding) for cell in words)
    return max(longest, min(natural, LEAST_TEXT))


def _total(widths: Sequence[int]) -> int:
    return sum(widths) + GAP * (len(widths) - 1)


def _fitted(natural: Sequence[int], least: Sequence[int], width: int | None) -> list[int]:
    """Return widths: natural ones, the widest that can give way narrowed until the line fits."""
    widths = list(natural)
    while width is not None and _total(widths) > width:
        widest = max((n for n in range(len(widths)) if widths[n] > least[n]), key=lambda n: widths[n])
        widths[widest] -= 1
    return widths


def _lines(grid: Grid, kept: Sequence[int], widths: Sequence[int], encoding: str) -> list[Line]:
    columns = [grid.columns[n] for n in kept]
    lines = _title_lines(columns, widths, encoding)
    for row in grid.rows:
        lines += _row_lines([row[n] for n in kept], columns, widths, encoding)
    return lines


def _title_lines(columns: Sequence[GridColumn], widths: Sequence[int], encoding: str) -> list[Line]:
    """Return the head: each title from the top, its unit below."""
    titles = [
        [line for part in _said(column.title) for line in flowed((Span(part, "strong"),), size, encoding)]
        for column, size in zip(columns, widths, strict=True)
    ]
    return _beside(titles, columns, widths)


def _said(title: Sequence[str]) -> Sequence[str]:
    """Return a title's lines without the blank ones below."""
    return title[: max((n for n, part in enumerate(title, 1) if part), default=0)]


def _row_lines(
    cells: Sequence[Words], columns: Sequence[GridColumn], widths: Sequence[int], encoding: str
) -> list[Line]:
    name, *others = zip(cells, widths, strict=True)
    flows = [_hanging(*name, encoding), *(flowed(cell, size, encoding) for cell, size in others)]
    return _beside(flows, columns, widths)


def _hanging(cell: Words, size: int, encoding: str) -> list[Line]:
    """Flow a row's name; further lines are set in, so that they do not read as rows of their own."""
    return flowed(cell, size, encoding, HANG if longest_word(cell, encoding) <= size - HANG else 0)


def _beside(cells: Sequence[Sequence[Line]], columns: Sequence[GridColumn], widths: Sequence[int]) -> list[Line]:
    """Put cells of one or more lines side by side, without blanks at line ends."""
    lines: list[Line] = []
    for number in range(max(len(cell) for cell in cells)):
        line: list[Span] = []
        pending = 0
        for cell, column, size in zip(cells, columns, widths, strict=True):
            spans = cell[number] if number < len(cell) else ()
            blank = size - line_width(spans)
            if line_width(spans):
                line.append(Span(" " * (pending + (blank if column.right else 0))))
                line.extend(spans)
                pending = 0 if column.right else blank
            else:
                pending += size
            pending += GAP
        lines.append(tuple(span for span in line if span.text))
    return lines


def _stacked(grid: Grid, kept: Sequence[int], natural: dict[int, int], width: int, encoding: str) -> list[Line]:
    """Put the first column on a line of its own and the others indented below it, still flowing where needed.

    Where each has a line of its own, none needs to leave.
    """
    rest = kept[1:]
    columns = [grid.columns[n] for n in rest]
    room = max(width - GAP, 1)
    widths = [min(natural[n], room) for n in rest]
    fits = _total(widths) <= room
    lines: list[Line] = []
    for row in grid.rows:
        lines += flowed([Span(s.text, s.style) for s in spans_of(row[kept[0]])], width, encoding)
        if fits:
            lines += [
                (Span(" " * GAP), *line)
                for line in _beside([flowed(row[n], None, encoding) for n in rest], columns, widths)
            ]
        else:
            lines += _listed(row, kept[0], grid.columns, width, encoding)
    if fits:
        titles = [(Span(" " * GAP), *line) for line in _title_lines(columns, widths, encoding)]
        return [*flowed(grid.columns[kept[0]].title[0], width, encoding), *titles, *lines]
    return lines


def _listed(row: Sequence[Words], name: int, columns: Sequence[GridColumn], width: int, encoding: str) -> list[Line]:
    """Put each cell but the name on a line of its own behind its column's title, set in farther than the name."""
    lines: list[Line] = []
    named = plain(row[name])
    lead = len(named) - len(named.lstrip()) + GAP
    for number in (n for n in range(len(columns)) if n != name and plain(row[n])):
        title = " ".join(part for part in columns[number].title if part)
        said = (Span(f"{title}: " if title else ""), *spans_of(row[number]))
        lines += [(Span(" " * lead), *line) for line in flowed(said, max(width - lead, 1), encoding)]
    return lines


def matrix_lines(matrix: Matrix, width: int | None, encoding: str) -> list[Line]:
    """Return the triangle as lines of at most `width` cells, block of columns after block."""
    count = len(matrix.names)
    number = len(str(count))
    cell = max(number, *(width_of(span.text) for row in matrix.cells for span in row), 1)
    names = max(width_of(carried(name, encoding)) for name in matrix.names)
    columns = max(count - 1, 1)
    if width is not None:
        room = width - number - 1 - NAME_GAP
        least = max(min(names, max(LEAST_NAME, width // NAME_SHARE), room - cell - CELL_GAP), 1)
        names = max(min(names, room - columns * (cell + CELL_GAP)), least)
        columns = max((room - names) // (cell + CELL_GAP), 1)
    lines: list[Line] = []
    for first in range(0, max(count - 1, 1), columns):
        lines += [(), *_block(matrix, range(first, min(first + columns, count - 1)), (number, names, cell), encoding)]
    return lines[1:]


def _block(matrix: Matrix, shown: range, sizes: tuple[int, int, int], encoding: str) -> list[Line]:
    """Return one block: a line of column numbers, then the rows that have words in it, the first names as a key."""
    number, names, cell = sizes
    left = " " * (number + 1 + names + NAME_GAP - CELL_GAP)
    lines: list[Line] = [(Span(left), *_cells([Span(str(n + 1), "strong") for n in shown], cell))]
    for row in range(shown.start, len(matrix.names)):
        parts = flowed(matrix.names[row], names, encoding)
        words = [span for place, span in enumerate(matrix.cells[row]) if place in shown]
        for part, line in enumerate(parts):
            head = f"{row + 1 if not part else '':>{number}} "
            blank = names - line_width(line) + NAME_GAP - CELL_GAP
            lines.append((Span(head), *line, Span(" " * blank), *(_cells(words, cell) if not part else ())))
    return lines


def _cells(words: Sequence[Span], cell: int) -> list[Span]:
    return [part for word in words for part in (Span(" " * (CELL_GAP + cell - width_of(word.text))), word)]

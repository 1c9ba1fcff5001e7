"""Blocks to lines for a page of some width, and lines to plain or coloured text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from ductcalc.report.blocks import Block, Figure, Grid, Heading, Matrix, Span, Style
from ductcalc.report.flow import Line, carried, flowed, width_of
from ductcalc.report.grid import grid_lines, matrix_lines

COLOURS: dict[Style, str] = {
    "": "",
    "strong": "bold",
    "good": "green",
    "bad": "bold red",
    "warn": "yellow",
    "dim": "dim",
}


WIDEST_FIGURE = 100
"""Columns of a picture on a page that is as wide as it likes."""


class Page(NamedTuple):
    """Where a report goes: its width in cells (None: as wide as it likes), encoding, and whether colour is wanted."""

    width: int | None = None
    encoding: str = "utf-8"
    colour: bool = False


def rendered(blocks: Iterable[Block], page: Page) -> str:
    """Return a report as text that ends with a line end."""
    lines = lines_of(blocks, page)
    return _coloured(lines) if page.colour else _plain(lines)


def lines_of(blocks: Iterable[Block], page: Page) -> list[Line]:
    """Return a report as lines."""
    return [line for block in blocks for line in _lines(block, page)]


def _lines(block: Block, page: Page) -> list[Line]:
    if isinstance(block, Heading):
        return [(), *flowed((Span(block.text, "strong"),), page.width, page.encoding)]
    if isinstance(block, Grid):
        return grid_lines(block, page.width, page.encoding)
    if isinstance(block, Matrix):
        return matrix_lines(block, page.width, page.encoding)
    if isinstance(block, Figure):
        return _figure(block, page)
    first, rest = carried(block.first, page.encoding), carried(block.rest, page.encoding)
    room = None if page.width is None else max(page.width - max(width_of(first), width_of(rest)), 1)
    lines = flowed(block.words, room, page.encoding)
    return [(Span(rest if number else first), *line) for number, line in enumerate(lines)]


def _figure(figure: Figure, page: Page) -> list[Line]:
    from ductcalc.report.draw.cells import figure_lines
    from ductcalc.report.draw.picture import NoRoom

    try:
        return figure_lines(figure.draw(page.width or WIDEST_FIGURE, page.encoding), page.encoding)
    except NoRoom:
        return flowed(figure.instead, page.width, page.encoding)


def _plain(lines: Sequence[Line]) -> str:
    return "".join("".join(span.text for span in line).replace("\u00a0", " ").rstrip() + "\n" for line in lines)


def _coloured(lines: Sequence[Line]) -> str:
    """Return lines with colour; names are never read as markup."""
    from io import StringIO

    from rich.console import Console
    from rich.text import Text

    target = StringIO()
    console = Console(
        file=target,
        force_terminal=True,
        color_system="standard",
        no_color=False,
        width=10_000,
        legacy_windows=False,
        markup=False,
        emoji=False,
        highlight=False,
    )
    for line in lines:
        text = Text(end="")
        for span in line:
            text.append(span.text.replace("\u00a0", " "), COLOURS[span.style])
        text.rstrip()
        console.print(text, soft_wrap=True)
    return target.getvalue()

"""What a text report is made of, before anyone knows how wide the page is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from ductcalc.report.draw.picture import Picture

Style = Literal["", "strong", "good", "bad", "warn", "dim"]
NO_BREAK = "\u00a0"


class Span(NamedTuple):
    """A stretch of text in one style. The style only ever repeats what the words say."""

    text: str
    style: Style = ""


Words = str | Sequence[Span]


class Paragraph(NamedTuple):
    """Text that flows; `first` stands before its first line, `rest` before the others."""

    words: Words
    first: str = ""
    rest: str = ""


class Heading(NamedTuple):
    """A line that names what follows; an empty line stands before it."""

    text: str


class GridColumn(NamedTuple):
    """A column of a grid.

    title: its lines, the last one the unit. right: numbers, aligned right. wrap: text that may flow in the cell.
    drop: when the page is narrow, columns leave in this order (None: never).
    """

    title: tuple[str, ...]
    right: bool = False
    wrap: bool = False
    drop: int | None = None


class Grid(NamedTuple):
    """A table. Its first column is the name that is put on a line of its own when nothing else helps."""

    columns: tuple[GridColumn, ...]
    rows: tuple[tuple[Words, ...], ...]


class Matrix(NamedTuple):
    """A grid of names against themselves: each pair stands once, in the row of the later name.

    cells: for each name a short word for every name before it. Names are numbered, columns bear the numbers.
    """

    names: tuple[str, ...]
    cells: tuple[tuple[Span, ...], ...]


class Figure(NamedTuple):
    """A picture, laid out for a page of so many columns in an encoding; `instead` is said where it does not fit."""

    draw: Callable[[int, str], Picture]
    instead: str = ""


Block = Paragraph | Heading | Grid | Matrix | Figure


def spans_of(words: Words) -> tuple[Span, ...]:
    """Return words as spans."""
    return (Span(words),) if isinstance(words, str) else tuple(words)


def plain(words: Words) -> str:
    """Return words without their styles."""
    return words if isinstance(words, str) else "".join(span.text for span in words)


def glued(text: str) -> str:
    """Return a number with its unit so that no line ends between them."""
    return text.replace(" ", NO_BREAK)

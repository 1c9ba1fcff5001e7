"""The wall card on one sheet of paper, in the largest type that fits: as HTML and as a picture."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ductcalc.report.blocks import Block
from ductcalc.report.carry import width_of
from ductcalc.report.draw.picture import Group, Picture, Words
from ductcalc.report.flow import Line
from ductcalc.report.html import element, elements, sheet
from ductcalc.report.render import Page, lines_of

FEWEST, MOST = 34, 200
"""Columns of the sheet at the largest and the smallest type that is tried."""
TALL = 1.3
"""Height of the sheet over its width, within the margins of A4 and of letter paper alike."""
ROW = 2.0
"""Height of a row over the width of a column."""
SHEET_MM = 186.0
"""Width of the sheet [mm] within the margins of A4 and of letter paper alike."""
LETTER = 0.52
"""Width of the average letter over its size, generously."""
STYLE = """
body { max-width: %(columns).0fch; font-size: clamp(1rem, 2.2vw, 2rem); }
h2 { font-size: 1em; margin: .9em 0 0; } p { margin: 0; padding-left: 1em; text-indent: -1em; }
@media print { @page { margin: 10mm; } body { max-width: none; font-size: %(size).2fmm; line-height: 1.2; }
  h1 { font-size: 1.3em; } h2 { font-size: 1em; margin: .8em 0 0; } p { margin: 0; } }
"""


def fitted(blocks: Sequence[Block]) -> tuple[int, list[Line]]:
    """Return the fewest columns at which the card fits on a sheet, and its lines."""
    for columns in range(FEWEST, MOST):
        lines = lines_of(blocks, Page(columns))
        if ROW * len(lines) <= TALL * columns:
            break
    return columns, lines


def card_html(shop: str, blocks: Iterable[Block]) -> str:
    """Return the card as one file."""
    told = tuple(blocks)
    columns, _ = fitted(told)
    style = STYLE % {"columns": columns, "size": SHEET_MM / columns / LETTER}
    title = f"Dust gates of {shop}"
    return sheet(title, element("main", element("h1", title), *elements(told[1:], "card", "h2")), style=style)


def card_picture(shop: str, blocks: Iterable[Block]) -> Picture:
    """Return the card as a picture of its lines."""
    columns, lines = fitted(tuple(blocks))
    words, said = [], []
    for row, line in enumerate(lines):
        at = 0
        for span in line:
            text = span.text.replace("\u00a0", " ")
            if text.strip():
                blank = len(text) - len(text.lstrip())
                words.append(Words((float(at + blank), float(row)), text.strip(), span.style))
            at += width_of(text)
        said.append("".join(span.text for span in line).strip())
    return Picture(columns, len(lines), f"Dust gates of {shop}", " ".join(said), (Group("card", shop, tuple(words)),))

"""Blocks of a report as HTML: a tree of elements, so that every name is escaped by the one who writes it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby
from xml.etree.ElementTree import Element, tostring

from ductcalc.report.blocks import Block, Figure, Grid, Heading, Matrix, Paragraph, Span, Words, plain, spans_of
from ductcalc.report.flow import carried

COLUMNS = 88
"""Columns of a picture in a page."""
STYLE = """
:root { color-scheme: light dark; --paper: #fff; --ink: #16181b; --line: #8a8f98; --tint: #f1f2f4;
  --good: #17602b; --bad: #a80f1d; --warn: #7a4a00; --dim: #54585f; --link: #0b4f9e; }
@media (prefers-color-scheme: dark) { :root { --paper: #16181b; --ink: #e9e9e7; --line: #7d838c; --tint: #24272c;
  --good: #85d79c; --bad: #ff9e9e; --warn: #f0c36a; --dim: #b4b8bf; --link: #9cc7ff; } }
* { box-sizing: border-box; }
body { margin: 0 auto; max-width: 60rem; padding: 1rem; background: var(--paper); color: var(--ink);
  font: 1rem/1.45 system-ui, "DejaVu Sans", sans-serif; overflow-wrap: anywhere; }
h1 { font-size: 1.6rem; margin: 0 0 .5rem; } h2 { font-size: 1.25rem; margin: 1.8rem 0 .4rem; }
h3 { font-size: 1rem; margin: 1.1rem 0 .3rem; } p { margin: .35rem 0; } ul { margin: .35rem 0; padding-left: 1.3rem; }
a { color: var(--link); } nav ul { columns: 12rem; list-style: none; padding: 0; } nav a { line-height: 1.8; }
.good { color: var(--good); } .bad { color: var(--bad); font-weight: bold; } .warn { color: var(--warn); }
.dim { color: var(--dim); } .verdict { font-size: 1.15rem; }
.wide { overflow-x: auto; } table { border-collapse: collapse; font-size: .93rem; }
th, td { padding: .2rem .6rem .2rem 0; text-align: left; vertical-align: top; overflow-wrap: normal; }
thead th { border-bottom: 2px solid var(--line); vertical-align: bottom; } tbody th { font-weight: normal; }
tbody tr { border-bottom: 1px solid var(--line); } .number { text-align: right; font-variant-numeric: tabular-nums; }
figure { margin: .5rem 0; } svg { display: block; width: 100%; min-width: 40rem; height: auto; }
pre { background: var(--tint); padding: .6rem; overflow-x: auto; font-size: .85rem; white-space: pre-wrap; }
@page { margin: 11mm 12mm; }
@media print { :root { color-scheme: light; --paper: #fff; --ink: #000; --line: #777; --tint: #f1f2f4; --good: #17602b;
  --bad: #a80f1d; --warn: #7a4a00; --dim: #444; --link: #000; }
  body { max-width: none; padding: 0; font-size: 8.8pt; line-height: 1.3; } nav { display: none; }
  h1 { font-size: 15pt; } h2 { font-size: 11.5pt; margin: 9pt 0 2pt; } h3 { font-size: 9pt; margin: 5pt 0 1pt; }
  h2, h3, #bill p, p:has(+ figure) { break-after: avoid; } tr, figure, li { break-inside: avoid; }
  .wide { overflow: visible; }
  th, td { padding: .5pt 6pt .5pt 0; } table { font-size: 8.3pt; } pre { font-size: 7.5pt; }
  svg { min-width: 0; width: 80%; max-height: 225mm; } p, ul { margin: 1.5pt 0; } }
"""


def element(tag: str, *inside: Element | str, **attributes: str) -> Element:
    """Return an element with what stands inside it; `class_` is class, `aria_label` aria-label."""
    made = Element(tag, {name.rstrip("_").replace("_", "-"): value for name, value in attributes.items()})
    for part in inside:
        if isinstance(part, Element):
            made.append(part)
        elif len(made):
            made[-1].tail = (made[-1].tail or "") + carried(part, "utf-8")
        else:
            made.text = (made.text or "") + carried(part, "utf-8")
    return made


def sheet(title: str, *body: Element, style: str = "") -> str:
    """Return a whole file that needs nothing from outside."""
    css = Element("style")
    css.text = STYLE + style
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("title", title),
        element("link", rel="icon", href="data:,"),
        css,
    )
    page = element("html", head, element("body", *body), lang="en")
    return "<!DOCTYPE html>\n" + tostring(page, encoding="unicode", method="html") + "\n"


def elements(blocks: Iterable[Block], name: str, heading: str = "h3") -> Iterator[Element]:
    """Yield a report's blocks as elements; name: of the part of the page, by which its pictures are told apart."""
    for number, (listed, group) in enumerate(groupby(blocks, _is_listed)):
        if listed:
            entries = [block.words for block in group if isinstance(block, Paragraph)]
            yield element("ul", *(element("li", *_words(words)) for words in entries))
        else:
            for part, block in enumerate(group):
                yield from _one(block, f"{name}-{number}-{part}", heading)


def _is_listed(block: Block) -> bool:
    """Whether a block is an entry of a list: a paragraph that hangs behind a sign."""
    return isinstance(block, Paragraph) and bool(block.first.strip()) and not block.first.startswith("[")


def _one(block: Block, name: str, heading: str) -> Iterator[Element]:
    if isinstance(block, Heading):
        yield element(heading, block.text)
    elif isinstance(block, Grid):
        yield wide(_table(block), "table")
    elif isinstance(block, Matrix):
        yield wide(_matrix(block), "table")
    elif isinstance(block, Figure):
        yield figure(block, name)
    elif plain(block.words):
        yield element("p", block.first.strip() + " " if block.first.strip() else "", *_words(block.words))


def figure(block: Figure, name: str) -> Element:
    """Return a picture with its title and description."""
    from ductcalc.report.draw.picture import NoRoom, svg_element

    columns = COLUMNS
    while True:
        try:
            return element("figure", wide(svg_element(block.draw(columns, "utf-8"), name), "picture"))
        except NoRoom:
            columns += columns // 4


def wide(inside: Element, what: str) -> Element:
    """Return a frame that scrolls on a narrow screen, also by keyboard."""
    return element("div", inside, class_="wide", tabindex="0", role="group", aria_label=f"{what}, scrolls sideways")


def _words(words: Words) -> Iterator[Element | str]:
    for span in spans_of(words):
        yield from _span(span)


def _span(span: Span) -> Iterator[Element | str]:
    if not span.style:
        yield span.text
    elif span.style == "strong":
        yield element("strong", span.text)
    else:
        yield element("span", span.text, class_=span.style)


def _table(grid: Grid) -> Element:
    heads = []
    for column in grid.columns:
        lines = [line for line in column.title if line]
        inside = [part for line in lines for part in (element("br"), line)][1:]
        looks = {"class": "number"} if column.right else {}
        head = element("th", *inside, scope="col") if lines else element("td")
        head.attrib |= looks
        heads.append(head)
    rows = [element("tr", *(_cell(grid, row, place) for place in range(len(row)))) for row in grid.rows]
    return element("table", element("thead", element("tr", *heads)), element("tbody", *rows))


def _cell(grid: Grid, row: tuple[Words, ...], place: int) -> Element:
    """Return a cell; the first one names its row. A name runs in the direction of its own script."""
    inside = list(_words(row[place]))
    if place == 0 and plain(row[0]).strip():
        return element("th", *inside, scope="row", dir="auto")
    if grid.columns[place].right:
        return element("td", *inside, class_="number")
    return element("td", *inside, dir="auto")


def _matrix(matrix: Matrix) -> Element:
    numbers = range(1, len(matrix.names))
    heads = [element("th", "machine", scope="col"), *(element("th", str(n), scope="col") for n in numbers)]
    rows = [
        element(
            "tr",
            element("th", f"{number} ", element("bdi", name), scope="row"),
            *(element("td", *_span(cell)) for cell in cells),
            *(element("td") for _ in range(len(matrix.names) - 1 - len(cells))),
        )
        for number, (name, cells) in enumerate(zip(matrix.names, matrix.cells, strict=True), start=1)
    ]
    return element("table", element("thead", element("tr", *heads)), element("tbody", *rows))

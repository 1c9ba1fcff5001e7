"""Pictures as text reports: a line that says what is seen, the picture, how it was told."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.chart import Chart
from ductcalc.answers.draw import Drawing
from ductcalc.answers.losses import Losses
from ductcalc.report.blocks import Block, Figure, Paragraph, Span
from ductcalc.report.check.sentences import case_title
from ductcalc.report.display import Display
from ductcalc.report.draw.chart import chart_picture, way_picture
from ductcalc.report.draw.schematic import schematic
from ductcalc.report.draw.words import filter_words
from ductcalc.report.head_and_foot import changed_blocks, program_line
from ductcalc.report.sentences import capitalised, the

NO_CHART = "The page is too narrow for a chart: --output curve.svg draws it."
TOO_NARROW = "The duct has too many stretches to be drawn on so narrow a page: --output duct.svg draws it."


def draw_blocks(drawing: Drawing, display: Display) -> Iterator[Block]:
    """Yield the schematic."""
    said = f"The duct of {drawing.shop}" if drawing.case is None else capitalised(filter_words(drawing))
    yield Paragraph((Span(f"{said}.", "strong"),))
    yield from changed_blocks(drawing.changes)
    yield Paragraph("")
    yield drawing_figure(drawing, display)
    yield Paragraph("")
    yield program_line(drawing.shop)


def chart_blocks(chart: Chart, display: Display) -> Iterator[Block]:
    """Yield pressure against flow."""
    yield Paragraph((Span(f"Pressure against flow: {chart.collector}.", "strong"),))
    yield from changed_blocks(chart.changes)
    yield Paragraph("")
    yield Figure(lambda columns, encoding: chart_picture(chart, display, columns, encoding), NO_CHART)
    yield Paragraph("")
    yield program_line(chart.shop)


def way_blocks(losses: Losses, display: Display) -> Iterator[Block]:
    """Yield the suction along a machine's way."""
    said = f"Suction along the way of {the(losses.machine)}, {case_title(losses.case)}, dirty filter."
    yield Paragraph((Span(said, "strong"),))
    yield from changed_blocks(losses.changes)
    yield Paragraph("")
    yield Figure(lambda columns, encoding: way_picture(losses, display, columns, encoding), NO_CHART)
    yield Paragraph("")
    yield program_line(losses.shop)


def drawing_figure(drawing: Drawing, display: Display) -> Figure:
    """Return the schematic as a block of a report."""
    return Figure(lambda columns, encoding: schematic(drawing, display, columns, encoding), TOO_NARROW)

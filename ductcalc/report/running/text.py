"""Running figures as text: power and money by case, then heat, filter, drum, and what is left out."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.columns import Columns
from ductcalc.answers.running import CutAnswer, Running, RunningCase
from ductcalc.catalog.between import Band
from ductcalc.report.blocks import Block, Grid, Heading, Paragraph, Words, glued, plain
from ductcalc.report.check.sentences import case_title
from ductcalc.report.closing import noted
from ductcalc.report.columns import grid_of, titled
from ductcalc.report.display import Display, rough
from ductcalc.report.numbered import Numbered
from ductcalc.report.running import words


def running_blocks(running: Running, display: Display, provisional: bool = False) -> Iterator[Block]:
    """Yield the running figures; `provisional`: the blower's curve is only two advertised maxima."""
    sources = Numbered()
    yield Heading("Running figures, dirty filter")
    if running.loaded:
        yield power_grid(running, display)
        for line in words.power_lines(running, display, sources, provisional):
            yield noted(line)
        yield _noted(words.motor_words(running, display))
        for line in words.heat_lines(running, display, sources):
            yield noted(line)
        yield _noted(words.filter_words(running, display, sources))
    else:
        yield Paragraph("No case has an answer, so no power is known.")
    if running.cuts:
        yield Heading("Chips and drum, cutting without a pause")
        yield cut_grid(running, display)
        for line in words.chip_lines(running, display, sources):
            yield noted(line)
    if running.missing:
        yield noted(words.missing_line(running))
    for number, source in sources.lines():
        yield Paragraph(source, f"[{number}] ", "    ")


def short_running(running: Running, display: Display) -> Iterator[Block]:
    """Yield the running figures in short: power, money and heat; motor; filter; chips."""
    if running.loaded:
        yield Paragraph("")
        yield power_grid(running, display)
        yield Paragraph(words.motor_words(running, display))
        yield Paragraph(plain(words.filter_words(running, display, Numbered())).replace(" [1]", ""))
    if running.cuts:
        yield Paragraph("")
        yield cut_grid(running, display)
        yield Paragraph("A full drum sends chips on into the filter: empty it before, blower off, mask on.")


def _noted(said: Words) -> Paragraph:
    return Paragraph(said, "- ", "  ")


def power_grid(running: Running, display: Display) -> Grid:
    """Return a line for each case with the dirty filter: flow, power, and money and heat where they are known."""
    yearly = running.settings.hours_s is not None
    money = running.settings.currency or "money"

    def cost(one: RunningCase) -> str | None:
        band = one.cost if yearly else one.cost_an_hour
        return None if band is None else rough(band.value)

    columns: Columns[RunningCase] = (
        titled("open", lambda one: case_title(one.case)),
        titled("flow", lambda one: one.flow_m3_s, "flow", 2),
        titled("blower", lambda one: one.fan_pa, "pressure", 1),
        titled("shaft", lambda one: display.power_number(one.shaft_w.value) + "~" * one.estimated, "power", 4),
        titled("meter", lambda one: one.meter_w.value, "meter"),
        titled("from to", lambda one: words.span_of(one.meter_w, display, "meter"), "meter", 3),
        titled("a year", lambda one: one.energy_j and one.energy_j.value, "energy"),
        titled(f"{'a year' if yearly else 'an hour'}\n{money}", cost, right=True),
        titled("heat out", lambda one: one.heat_w, "heat", 0),
    )
    return filled(grid_of(columns, running.loaded, display))


def filled(grid: Grid) -> Grid:
    """Return a grid without the columns in which nothing stands, as where no figure has a band."""
    kept = [number for number in range(len(grid.columns)) if any(row[number] for row in grid.rows)]
    return Grid(tuple(grid.columns[n] for n in kept), tuple(tuple(row[n] for n in kept) for row in grid.rows))


def cut_grid(running: Running, display: Display) -> Grid:
    """Return a line for each cut: weight and loose bulk of an hour, time to a full drum, chips in the air."""

    def loose(cut: CutAnswer) -> str:
        return display.rough_number(cut.loose_m3_an_hour.value, "volume")

    def full_span(cut: CutAnswer) -> str | None:
        if cut.full_s is None:
            return None
        low, high = (words.time_words(end, display) for end in (cut.full_s.low, cut.full_s.high))
        return glued(f"{low} to {high}") if low != high else None

    def full(cut: CutAnswer) -> str | None:
        return None if cut.full_s is None else words.time_words(cut.full_s.value, display)

    columns: Columns[CutAnswer] = (
        titled("machine", lambda cut: cut.cut.machine),
        titled("makes", lambda cut: cut.cut.makes, drop=1),
        titled("in an hour", lambda cut: cut.chips_kg_an_hour.value, "mass", 0),
        titled(f"loose\n{display.unit('volume')} an hour", loose, drop=2, right=True),
        titled(f"drum full\nin {display.unit('time')}", full, right=True),
        titled(f"from to\n{display.unit('time')}", full_span, right=True),
        titled("chips in\nair kg/kg", lambda cut: cut.loading and rough(cut.loading.value), right=True),
        titled("from to\nkg/kg", lambda cut: _loading_span(cut.loading), drop=3, right=True),
    )
    return filled(grid_of(columns, running.cuts, display))


def _loading_span(loading: Band | None) -> str | None:
    if loading is None:
        return None
    low, high = rough(loading.low), rough(loading.high)
    return glued(f"{low} to {high}") if low != high else None

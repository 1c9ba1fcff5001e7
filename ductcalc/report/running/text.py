"""Running figures as text: power and money by case, then heat, filter, drum, and what is left out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ductcalc.answers.running import Band, CutAnswer, Running, RunningCase
from ductcalc.report.blocks import Block, Column, Grid, Heading, Paragraph, Words, glued, plain
from ductcalc.report.check.sentences import case_title
from ductcalc.report.closing import noted
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
    columns = [
        Column(("open", ""), wrap=True),
        Column(("flow", display.unit("flow")), right=True, drop=2),
        Column(("blower", display.unit("pressure")), right=True, drop=1),
        Column(("shaft", display.unit("power")), right=True, drop=4),
        Column(("meter", display.unit("meter")), right=True),
        Column(("from to", display.unit("meter")), right=True, drop=3),
    ]
    money = running.settings.currency or "money"
    if running.settings.hours_s is not None:
        columns.append(Column(("a year", display.unit("energy")), right=True))
    if running.settings.tariff is not None:
        time = "an hour" if running.settings.hours_s is None else "a year"
        columns.append(Column((time, money), right=True))
    if running.warmer_k is not None:
        columns.append(Column(("heat out", display.unit("heat")), right=True, drop=0))
    return _filled(columns, [_power_row(one, running, display) for one in running.loaded])


def _filled(columns: Sequence[Column], rows: Sequence[tuple[Words, ...]]) -> Grid:
    """Return a grid without the columns in which nothing stands, as where no figure has a band."""
    kept = [number for number in range(len(columns)) if any(row[number] for row in rows)]
    return Grid(tuple(columns[n] for n in kept), tuple(tuple(row[n] for n in kept) for row in rows))


def _power_row(one: RunningCase, running: Running, display: Display) -> tuple[Words, ...]:
    cells = [
        case_title(one.case),
        display.flow_number(one.flow_m3_s),
        display.pressure_number(one.fan_pa),
        display.power_number(one.shaft_w.value) + ("~" if one.estimated else ""),
        display.rough_number(one.meter_w.value, "meter"),
        words.span_of(one.meter_w, display, "meter"),
    ]
    if one.energy_j is not None:
        cells.append(display.rough_number(one.energy_j.value, "energy"))
    cost = one.cost_an_hour if running.settings.hours_s is None else one.cost
    if cost is not None:
        cells.append(rough(cost.value))
    if one.heat_w is not None:
        cells.append(display.rough_number(one.heat_w, "heat"))
    return tuple(cells)


def cut_grid(running: Running, display: Display) -> Grid:
    """Return a line for each cut: weight and loose bulk of an hour, time to a full drum, chips in the air."""
    columns = [
        Column(("machine", ""), wrap=True),
        Column(("makes", ""), wrap=True, drop=1),
        Column(("in an hour", display.unit("mass")), right=True, drop=0),
        Column(("loose", f"{display.unit('volume')} an hour"), right=True, drop=2),
    ]
    if running.settings.drum_m3 is not None:
        columns.append(Column(("drum full", "in h"), right=True))
        columns.append(Column(("from to", "h"), right=True))
    columns.append(Column(("chips in", "air kg/kg"), right=True))
    columns.append(Column(("from to", "kg/kg"), right=True, drop=3))
    return _filled(columns, [_cut_row(cut, display) for cut in running.cuts])


def _cut_row(cut: CutAnswer, display: Display) -> tuple[Words, ...]:
    cells = [
        cut.cut.machine,
        cut.cut.makes,
        display.rough_number(cut.chips_kg_an_hour.value, "mass"),
        display.rough_number(cut.loose_m3_an_hour.value, "volume"),
    ]
    if cut.full_s is not None:
        low, high = (display.rough_number(end, "time") for end in (cut.full_s.low, cut.full_s.high))
        cells += [display.rough_number(cut.full_s.value, "time"), glued(f"{low} to {high}")]
    return (*cells, *_loading_cells(cut.loading))


def _loading_cells(loading: Band | None) -> tuple[str, str]:
    if loading is None:
        return ("", "")
    low, high = rough(loading.low), rough(loading.high)
    return (rough(loading.value), glued(f"{low} to {high}") if low != high else "")

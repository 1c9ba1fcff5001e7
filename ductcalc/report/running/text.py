"""Running figures as text: power and money by case, then heat, filter, drum, and what is left out."""

from __future__ import annotations

from collections.abc import Iterator

from ductcalc.answers.columns import Columns
from ductcalc.answers.running import CutAnswer, Missing, Running, RunningCase
from ductcalc.catalog.between import Band
from ductcalc.findings.phrase import cloth
from ductcalc.model.decided import Decided
from ductcalc.report.blocks import Block, Grid, Heading, Paragraph, Span, Words, glued, plain
from ductcalc.report.check.sentences import case_title
from ductcalc.report.columns import grid_of, titled
from ductcalc.report.display import Display, rough
from ductcalc.report.findings import amount_words
from ductcalc.report.head_and_foot import Numbered, noted
from ductcalc.report.sentences import capitalised, listed, the
from ductcalc.units.display import Shown, to_display


def running_blocks(running: Running, display: Display, provisional: bool = False) -> Iterator[Block]:
    """Yield the running figures; `provisional`: the blower's curve is only two advertised maxima."""
    sources = Numbered()
    yield Heading("Running figures, dirty filter")
    if running.loaded:
        yield power_grid(running, display)
        for line in power_lines(running, display, sources, provisional):
            yield noted(line)
        yield _noted(motor_words(running, display))
        for line in heat_lines(running, display, sources):
            yield noted(line)
        yield _noted(filter_words(running, display, sources))
    else:
        yield Paragraph("No case has an answer, so no power is known.")
    if running.cuts:
        yield Heading("Chips and drum, cutting without a pause")
        yield cut_grid(running, display)
        for line in chip_lines(running, display, sources):
            yield noted(line)
    if running.missing:
        yield noted(missing_line(running))
    for number, source in sources.lines():
        yield Paragraph(source, f"[{number}] ", "    ")


def short_running(running: Running, display: Display) -> Iterator[Block]:
    """Yield the running figures in short: power, money and heat; motor; filter; chips."""
    if running.loaded:
        yield Paragraph("")
        yield power_grid(running, display)
        yield Paragraph(motor_words(running, display))
        yield Paragraph(plain(filter_words(running, display, Numbered())).replace(" [1]", ""))
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
        titled("from to", lambda one: span_of(one.meter_w, display, "meter"), "meter", 3),
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

    soon = any(cut.full_s is not None and cut.full_s.low < HOUR_S for cut in running.cuts)

    def full(cut: CutAnswer) -> str | None:
        if cut.full_s is None:
            return None
        ends = list(dict.fromkeys(time_words(end, display, soon) for end in (cut.full_s.low, cut.full_s.high)))
        return glued(" to ".join(ends))

    columns: Columns[CutAnswer] = (
        titled("machine", lambda cut: cut.cut.machine),
        titled("makes", lambda cut: cut.cut.makes, drop=1),
        titled("in an hour", lambda cut: cut.chips_kg_an_hour.value, "mass", 0),
        titled(f"loose\n{display.unit('volume')} an hour", loose, drop=2, right=True),
        titled(f"drum full\nin {'min' if soon else display.unit('time')}", full, right=True),
        titled("chips in\nair kg/kg", lambda cut: cut.loading and rough(cut.loading.value), right=True),
        titled("from to\nkg/kg", lambda cut: _loading_span(cut.loading), drop=3, right=True),
    )
    return filled(grid_of(columns, running.cuts, display))


def _loading_span(loading: Band | None) -> str | None:
    if loading is None:
        return None
    low, high = rough(loading.low), rough(loading.high)
    return glued(f"{low} to {high}") if low != high else None


ELECTRICIAN = "Motor, cord and breaker are work for a licensed electrician."
MAKE_UP = (
    "As much air must come in again, cold: where a fuel-burning heater or stove burns in the room, make-up air and its"
    " draught belong to licensed practice, before anything else."
)
FULL_DRUM = (
    "A full drum sends chips on into the filter: empty it before, with the blower off and a mask on. Fine dust in the"
    " air burns: no flame near it."
)
WRITE: dict[Missing, tuple[str, str]] = {
    "hours": ("energy and cost of a year", 'hours = "400 h"'),
    "tariff": ("cost", 'tariff = "0.15 USD" (your own money for each kWh)'),
    "outside": ("heat thrown outdoors", 'outside = "30 F" (the usual temperature while the room is heated)'),
    "heated hours": ("heat of a year", 'heated_hours = "150 h" (hours of running in a heated room)'),
    "filter area": ("air through each area of filter", 'filter_area = "200 ft2"'),
    "cuts": (
        "drum and chips in the air",
        '[running.cuts.planer] and below it width = "12 in", depth = "1/16 in", feed = "20 ft/min", makes = "shavings"',
    ),
    "drum": ("when the drum is full", 'drum = "55 gal"'),
}


HOUR_S = 3600.0
YEAR_S = 365.25 * 24.0 * HOUR_S
LONG_TIMES = ((100.0, "over a century"), (10.0, "over ten years"), (1.0, "over a year"))


def said_or_marked(decided: Decided, sources: Numbered) -> str:
    """Return where a number comes from: `as you say`, or the mark of its source."""
    return " as you say" if decided.source == "your table" else f" [{sources.number(decided.source)}]"


def span_of(band: Band, display: Display, dimension: Shown) -> str:
    """Return the ends of a band without the unit, `1.2 to 2.0`; "" when they are one."""
    low, high = (display.rough_number(end, dimension) for end in (band.low, band.high))
    return glued(f"{low} to {high}") if low != high else ""


def time_words(time_s: float, display: Display, minutes: bool = False) -> str:
    """Return a time in hours or minutes, and in words where nobody counts hours any more."""
    for least, said in LONG_TIMES:
        if time_s >= least * YEAR_S:
            return said
    return rough(time_s / 60.0) if minutes else display.rough_number(time_s, "time")


def power_lines(running: Running, display: Display, sources: Numbered, provisional: bool) -> Iterator[str]:
    """Say how shaft power and what the meter counts were found."""
    fan, motor = running.fan_efficiency, running.motor_efficiency
    if fan is None:
        yield "Shaft power is that of the blower's own points, your table, in the shop's air."
    else:
        doubt = " The flow is provisional too: only two advertised maxima are known." if provisional else ""
        yield (
            "Shaft power with ~ is ESTIMATED, as the blower's points tell none there: flow times the pressure of the"
            f" impeller over a fan efficiency of {_efficiency(fan, display)}{said_or_marked(fan, sources)}; nearly"
            f" shut off or nearly free it is lower still. Power written beside the blower's points is better.{doubt}"
        )
        if running.unknown_inside:
            yield (
                f"Not in it: what the {listed(running.unknown_inside)} in the blower's curve takes, as no row says how"
                " much. The shaft takes more than is shown."
            )
    year = (
        "a kW there is a kWh in each hour of running"
        if running.settings.hours_s is None
        else f"a year is {_hours(running.settings.hours_s, display)}, as if every hour were like its line"
    )
    price = "" if running.settings.tariff is None else f", at {tariff_words(running)} a kWh as you say"
    yield (
        f"The meter counts shaft power over a motor efficiency of {_efficiency(motor, display)}"
        f"{said_or_marked(motor, sources)}; {year}{price}."
    )
    if running.own_blowers:
        yield f"Not in it: the own blower of {listed([the(name) for name in running.own_blowers])}."


def _efficiency(decided: Decided, display: Display) -> str:
    if decided.low == decided.high:
        return display.share(decided.value)
    return f"{display.share(decided.value)} ({display.share_number(decided.low)} to {display.share(decided.high)})"


def tariff_words(running: Running) -> str:
    """Return the price of a kilowatt-hour as written."""
    return glued(f"{running.settings.tariff:g} {running.settings.currency}".strip())


def motor_words(running: Running, display: Display) -> tuple[Span, ...]:
    """Say what loads the motor most, and whether it is more than the motor gives."""
    end = f"; the blower's points go up to {display.power(running.largest_w)}" if running.largest_w else ""
    rises = f"Power rises with flow: a bare inlet, a hose off or many gates open load the motor most{end}."
    hardest, motor_w, word = running.hardest, running.settings.motor_w, running.motor_word
    if motor_w is None or hardest is None or word is None:
        return (Span(f"{rises} {ELECTRICIAN}"),)
    span = span_of(hardest.shaft_w, display, "power")
    return (
        Span(
            f"With {case_title(hardest.case)} and a {hardest.case.filter} filter the shaft takes"
            f" {display.power(hardest.shaft_w.value)}{f' ({span})' if span else ''}, the motor gives"
            f" {display.power(motor_w)}: "
        ),
        Span("enough in these cases", "good") if word == "enough" else Span(word.upper(), "warn"),
        Span(f". {rises} {ELECTRICIAN}"),
    )


def heat_lines(running: Running, display: Display, sources: Numbered) -> Iterator[str]:
    """Say what heat leaves with the air, or why none is told."""
    if running.heat_words == "indoors":
        yield "The air comes back into the room: no heat is thrown outdoors."
    elif running.heat_words == "not colder":
        yield "Outdoors is no colder than the room: no heat is thrown out."
    elif running.heat_words == "missing":
        yield MAKE_UP
    elif running.warmer_k is not None and running.settings.outside_k is not None:
        heats = [one.heat_w for one in running.loaded if one.heat_w is not None]
        yield (
            f"Heated air thrown outdoors takes {_ends(heats, display, 'heat')} with it, room"
            f" {_degrees(running, display)}: flow times density times heat of air"
            f"{said_or_marked(running.heat_of_air, sources)}."
            f"{_heat_of_a_year(running, display)} {MAKE_UP}"
        )


def _heat_of_a_year(running: Running, display: Display) -> str:
    heats = [one.heat_j for one in running.loaded if one.heat_j is not None]
    if not heats or running.settings.heated_s is None:
        return ""
    hours = _hours(running.settings.heated_s, display)
    return f" In {hours} of a year that is {_ends(heats, display, 'energy')} of heat."


def _hours(time_s: float, display: Display) -> str:
    number, unit = to_display(time_s, "time", display.system)
    return glued(f"{number:g} {unit}")


def _degrees(running: Running, display: Display) -> str:
    assert running.settings.outside_k is not None
    return f"{display.temperature(running.inside_k)}, outdoors {display.temperature(running.settings.outside_k)}"


def _ends(values: list[float], display: Display, dimension: Shown) -> str:
    """Return the least and the largest of some values, one when they look alike."""
    least, most = display.rough_number(min(values), dimension), display.rough(max(values), dimension)
    return most if most.startswith(f"{least}\u00a0") else f"{least} to {most}"


def filter_words(running: Running, display: Display, sources: Numbered) -> tuple[Span, ...]:
    """Say how much air goes through each area of the filter, and what is usual."""
    load = running.filter
    if load is None:
        return (Span("No filter: its area is not judged."),)
    usual = f"{display.rough(load.usual.value, 'filter rate')}{said_or_marked(load.usual, sources)}"
    most = f"Filter: at most {display.flow(load.flow_m3_s)} ({case_title(load.case)}, {load.case.filter} filter)"
    wanted = amount_words(cloth(load.wanted_m2), display)
    if load.area_m2 is None or load.rate_m3_s_m2 is None:
        return (Span(f"{most} ask for {wanted} at the usual {usual}."),)
    through = f"{most} through {amount_words(cloth(load.area_m2), display)} is"
    rate = display.rough(load.rate_m3_s_m2, "filter rate")
    if load.word == "within":
        return (Span(f"{through} {rate}: "), Span("within the usual", "good"), Span(f" {usual}."))
    beyond = f"{load.word} than usual".upper()
    return (Span(f"{through} {rate}: "), Span(beyond, "warn"), Span(f"; {usual} would take {wanted}."))


def chip_lines(running: Running, display: Display, sources: Numbered) -> Iterator[str]:
    """Say what the figures of cuts rest on."""
    kinds = {cut.cut.makes: cut.expansion for cut in running.cuts}
    said = [
        f"{kind} {one.value:g} ({one.low:g} to {one.high:g}){said_or_marked(one, sources)}"
        for kind, one in kinds.items()
    ]
    wood = running.wood
    dry = ""
    if wood.low != wood.high:
        dry = f", oven-dry ({_density(wood.low, display)} to {_density(wood.high, display)})"
    yield (
        f"Loose over solid volume: {listed(said)}; for emptying count on the early end. Weight of the wood"
        f" {_density(wood.value, display)}{dry}{said_or_marked(wood, sources)}. Cutting without a pause, one machine;"
        " machines that cut at once add up."
    )
    usual = running.usual_loading
    if any(cut.loading for cut in running.cuts):
        yield (
            "Chips in the air: kg for each kg of the machine's own air, in the case where it runs, dirty filter; for"
            f" information, no figure of the check rests on it. The check's line on a planer's full cut takes"
            f" {usual.value:g} ({usual.low:g} to {usual.high:g}, {usual.confidence})."
        )
    thick = [cut for cut in running.cuts if cut.loading and cut.loading.value > running.loading_limit.value]
    if thick:
        yield (
            f"More than {running.loading_limit.value:g} kg for each kg of air: {listed(_names(thick))}. There the"
            " check's losses do not hold and a pipe may choke: a lighter cut, or a slower feed."
        )
    idle = [cut for cut in running.cuts if cut.case is None]
    if idle:
        yield f"{capitalised(listed(_names(idle)))}: runs in no case that was asked for, so no air is known."
    yield FULL_DRUM


def _names(cuts: list[CutAnswer]) -> list[str]:
    return [the(cut.cut.machine) for cut in cuts]


def _density(density_kg_m3: float, display: Display) -> str:
    return display.rough(density_kg_m3, "density", 3)


def missing_line(running: Running) -> str:
    """Say what is left out and what to write for it."""
    told = [f"{WRITE[key][0]}: {WRITE[key][1]}" for key in running.missing]
    return f"Left out, to be written under [running] in shop.toml: {'; '.join(told)}."

"""Shops side by side as text: which is best, then machine by machine and point by point against the first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import groupby

from ductcalc.answers.compare.compare import Comparison, MachineLine, PointLine
from ductcalc.cases.figures import MachineAnswer
from ductcalc.report.blocks import Block, Grid, GridColumn, Heading, Paragraph, Span, Style, Words
from ductcalc.report.check.text import LIMITS
from ductcalc.report.compare.against import difference_blocks, headlines, warning_blocks
from ductcalc.report.compare.sentences import legend, notes, title_of, verdict
from ductcalc.report.display import Display
from ductcalc.report.grades import air_span, beside
from ductcalc.report.head_and_foot import general_cautions, noted, program_line
from ductcalc.report.sentences import listed

TONES: dict[int, Style] = {0: "good", 1: "bad", 3: "bad"}
MISSING: dict[str, tuple[str, Style]] = {
    "not in this shop": ("NOT THERE", "dim"),
    "beyond the curve": ("NO ANSWER", "bad"),
    "not converged": ("NO ANSWER", "bad"),
}
Row = tuple[Words, ...]


def compare_blocks(comparison: Comparison, display: Display, every_finding: bool = False) -> Iterator[Block]:
    """Yield the whole report of a comparison."""
    yield Paragraph((Span(verdict(comparison, display), TONES[comparison.exit_code]),))
    yield from map(Paragraph, headlines(comparison, display))
    for letter, said in legend(comparison, display):
        yield Paragraph((Span(f"{letter}: ", "strong"), Span(said)), rest="   ")
    yield from _machines(comparison, display)
    yield from _points(comparison, display)
    yield from difference_blocks(comparison, display)
    yield from warning_blocks(comparison, display, every_finding)
    yield Heading("Notes")
    for note in (*notes(comparison, display), *LIMITS):
        yield noted(note)
    yield from general_cautions()
    yield Paragraph("")
    yield program_line(listed(list(dict.fromkeys(variant.check.shop for variant in comparison.variants))))


def signed(difference: float | None, shown: Callable[[float], str]) -> str:
    """Show a difference with its sign; nothing where there is none."""
    if difference is None:
        return ""
    text = shown(difference)
    return f"+{text}" if difference > 0.0 and text.strip("0.") else text


def _machines(comparison: Comparison, display: Display) -> Iterator[Block]:
    loaded = [line for line in comparison.machines if line.filter == "loaded"]
    clean = {_key(line): line for line in comparison.machines if line.filter == "clean"}
    alone = [line for line in loaded if line.alone]
    if alone:
        one = len({line.machine for line in alone}) == 1
        yield Heading("The machine alone, dirty filter" if one else "Each machine alone, dirty filter")
        yield _machine_grid(alone, clean, display)
    for name, lines in groupby((line for line in loaded if not line.alone), key=lambda line: line.case):
        yield Heading(f"With {title_of(comparison, name, False)}, dirty filter")
        yield _machine_grid(list(lines), clean, display)


def _key(line: MachineLine) -> tuple[bool, str, str, str]:
    return line.alone, line.case, line.machine, line.variant


def _machine_grid(
    lines: Sequence[MachineLine], clean: dict[tuple[bool, str, str, str], MachineLine], display: Display
) -> Grid:
    flow, speed = display.unit("flow"), display.unit("speed")
    columns = (
        GridColumn(("machine", ""), wrap=True),
        GridColumn(("in", "")),
        GridColumn(("wanted", flow), right=True, drop=5),
        GridColumn(("actual", flow), right=True),
        GridColumn(("against", f"A {flow}"), right=True),
        GridColumn(("80 % band", flow), right=True, drop=2),
        GridColumn(("clean", flow), right=True, drop=0),
        GridColumn(("slowest", "section"), wrap=True, drop=3),
        GridColumn(("speed", speed), right=True),
        GridColumn(("against", f"A {speed}"), right=True, drop=4),
        GridColumn(("least", speed), right=True, drop=1),
        GridColumn(("", "verdict"), wrap=True),
    )
    return Grid(columns, tuple(_machine_row(line, clean.get(_key(line)), display) for line in lines))


def _machine_row(line: MachineLine, clean: MachineLine | None, display: Display) -> Row:
    name = line.machine if line.variant == "A" else ""
    answer, slow = line.answer, line.slowest
    if answer is None:
        return (name, line.variant, *[""] * 9, (Span(*MISSING[line.status]),))
    twin = clean.answer if clean else None
    return (
        name,
        line.variant,
        display.flow_number(answer.wanted_m3_s),
        display.got_number(answer.flow_m3_s, answer.wanted_m3_s, answer.served or not answer.asked),
        signed(line.flow_difference_m3_s, display.flow_number),
        _band(line, answer, display),
        display.flow_number(twin.flow_m3_s) if twin else "none",
        slow.section if slow else "",
        display.speed_number(slow.velocity_m_s) if slow else "",
        signed(line.velocity_difference_m_s, display.speed_number),
        display.speed_number(slow.settling_velocity_m_s or 0.0) if slow else "",
        beside(air_span(answer), slow),
    )


def _band(line: MachineLine, answer: MachineAnswer, display: Display) -> str:
    """Show the band of a difference, as a flow."""
    if line.apart is None or line.flow_difference_m3_s is None:
        return ""
    before = answer.flow_m3_s - line.flow_difference_m3_s
    return " to ".join(signed(before * (end - 1.0), display.flow_number) for end in line.apart)


def _points(comparison: Comparison, display: Display) -> Iterator[Block]:
    """Yield the operating points of the named sets, and of the machine alone that is worst off in the first one."""
    least = comparison.advice.standings[0].poorest
    worst = least.case.name if least else comparison.points[0].case
    shown = [line for line in comparison.points if not line.alone or line.case == worst]
    if any(line.collector for line in shown):
        yield Heading("The collector at work")
        yield _point_grid(shown, comparison, display)


def _point_grid(lines: Sequence[PointLine], comparison: Comparison, display: Display) -> Grid:
    flow, pressure = display.unit("flow"), display.unit("pressure")
    columns = [
        GridColumn(("open", ""), wrap=True),
        GridColumn(("filter", "")),
        GridColumn(("in", "")),
        GridColumn(("flow", flow), right=True),
        GridColumn(("against", f"A {flow}"), right=True),
        GridColumn(("static", f"suction {pressure}"), right=True),
        GridColumn(("against", f"A {pressure}"), right=True, drop=0),
        GridColumn(("blower", pressure), right=True),
        GridColumn(("against", f"A {pressure}"), right=True, drop=1),
    ]
    rows = [_point_row(line, comparison, display) for line in lines]
    if any(line.collector is not None and line.collector.power_w is not None for line in lines):
        power = display.unit("power")
        columns += [GridColumn(("power", power), right=True), GridColumn(("against", f"A {power}"), right=True, drop=2)]
        rows = [(*row, *_powers(line, display)) for row, line in zip(rows, lines, strict=True)]
    return Grid(tuple(columns), tuple(rows))


def _point_row(line: PointLine, comparison: Comparison, display: Display) -> Row:
    first = line.variant == "A"
    title = title_of(comparison, line.case, line.alone) if first and line.filter == "loaded" else ""
    head = (title, line.filter if first else "", line.variant)
    point = line.collector
    if point is None:
        return (*head, MISSING[line.status][0].lower(), *[""] * 5)
    return (
        *head,
        display.flow_number(point.flow_m3_s),
        signed(line.flow_difference_m3_s, display.flow_number),
        display.pressure_number(point.inlet_static_pa),
        signed(line.inlet_static_difference_pa, display.pressure_number),
        display.pressure_number(point.blower_pa),
        signed(line.blower_difference_pa, display.pressure_number),
    )


def _powers(line: PointLine, display: Display) -> tuple[str, str]:
    power = line.collector.power_w if line.collector is not None else None
    shown = "" if power is None else display.power_number(power)
    return shown, signed(line.power_difference_w, display.power_number)

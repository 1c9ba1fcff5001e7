"""The start-up sheet: text, JSON, CSV and the form that it is to be filled in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from ductcalc.answers.columns import records
from ductcalc.answers.expect import BESIDE, TAPS, Expect, Expected
from ductcalc.catalog import fact
from ductcalc.report.blocks import Block, Grid, GridColumn, Heading, Paragraph, Span
from ductcalc.report.columns import csv_of, csv_text
from ductcalc.report.display import Display
from ductcalc.report.head_and_foot import changed_blocks, noted, program_line
from ductcalc.report.json_text import PROGRAM, fields_of
from ductcalc.report.sentences import capitalised, listed, the
from ductcalc.report.short import Typed, closing_lines, next_line
from ductcalc.shop.readings import COLUMNS, FILE

TO_WRITE = "______"
BOX = "Provisional: only the two figures on the blower's box are known, so the band is wide. Get its curve."


def short_expect(found: Expect, display: Display, typed: Typed) -> Iterator[Block]:
    """Yield the sheet in short: the taps that air of an open machine passes."""
    yield from _head(found, display)
    if found.taps:
        yield next_line("A form to fill in", typed.again("--output", FILE))
        yield from tap_blocks([tap for tap in found.taps if tap.passes], display)
        yield from _drilling(display)
    yield from closing_lines((), typed.again("--full"))


def expect_blocks(found: Expect, display: Display) -> Iterator[Block]:
    """Yield the whole sheet: behind shut gates as well, and what the band is made of."""
    yield from _head(found, display)
    yield from tap_blocks(found.taps, display)
    yield from _drilling(display)
    yield Heading("Notes")
    yield noted("Suction is static suction, as a water tube reads it; at the filter it is the drop across it.")
    yield noted("Pitot is what a Pitot tube on the axis of the duct shows; the speed is the mean over the bore.")
    yield noted(
        "The band holds eight of ten healthy systems like this one: what is not known of machines, hose, joints, filter"
        " and blower is drawn between its low and high end, 128 times."
    )
    yield noted("Behind a shut gate the machine's side reads almost nothing, the main's side as much as the main.")
    yield noted("A planning estimate for dilute wood dust and chips; local codes and licensed practice decide.")
    yield Paragraph("")
    yield program_line(found.shop)


def _head(found: Expect, display: Display) -> Iterator[Block]:
    yield Paragraph((Span(headline(found, display), "strong"),))
    if found.provisional:
        yield Paragraph((Span(BOX, "warn"),))
    yield from changed_blocks(found.changes)
    if found.unsolved:
        yield Paragraph((Span(f"No answer for {listed(found.unsolved)}: run ductcalc check.", "bad"),))


def headline(found: Expect, display: Display) -> str:
    """Say what a water tube reads at the collector's inlet."""
    read = found.at_collector()
    if not read:
        return "No answer in any case: no reading can be told."
    first = read[0]
    said = (
        f"A water tube at the collector's inlet reads {display.pressure(first.static_pa)}"
        f" ({_band(first, display)}) with only {the(first.case)} open and a clean filter."
    )
    if len(dict(found.cases)[first.case]) > 1:
        said = said.replace(f"only {the(first.case)} open", f"{first.case} open")
    if len(read) == 1:
        return said
    lowest, highest = (pick(read, key=lambda tap: tap.static_pa) for pick in (min, max))
    low, high = display.pressure_number(lowest.static_pa), display.pressure(highest.static_pa)
    return said if low == high.partition("\u00a0")[0] else f"{said} Over all cases: {low} to {high}."


def _band(tap: Expected, display: Display) -> str:
    return f"{display.pressure_number(tap.low_pa)} to {display.pressure_number(tap.high_pa)}"


def tap_blocks(taps: Sequence[Expected], display: Display) -> Iterator[Block]:
    """Yield a table for each run in the order of the walk, the collector's last."""
    yield Heading("At each tap, filter clean")
    columns = (
        GridColumn(("tap", ""), wrap=True),
        GridColumn(("open", ""), wrap=True),
        GridColumn(("suction", display.unit("pressure")), right=True),
        GridColumn(("band", display.unit("pressure")), right=True),
        GridColumn(("speed", display.unit("speed")), right=True, drop=1),
        GridColumn(("Pitot", display.unit("pressure")), right=True, drop=0),
        GridColumn(("read", "")),
    )
    yield Grid(columns, tuple(_cells(tap, display) for tap in taps))


def _cells(tap: Expected, display: Display) -> tuple[str, ...]:
    return (
        tap.where,
        tap.case,
        display.pressure_number(tap.static_pa),
        _band(tap, display),
        "" if tap.speed_m_s is None else display.speed_number(tap.speed_m_s),
        "" if tap.axis_vp_pa is None else display.pressure_number(tap.axis_vp_pa),
        TO_WRITE,
    )


def _drilling(display: Display) -> Iterator[Block]:
    """Yield where to drill so that readings tell most apart."""
    behind, traverse, hole = (fact("measuring", item) for item in ("tap distance", "traverse distance", "tap hole"))
    yield Heading("Where to drill")
    yield noted(
        f"port: {behind.value:g} bores behind the machine, ahead of the hose. gate: on the main's side of it. end: just"
        " ahead of the wye. Two taps a drop tell a fault in the drop from one elsewhere."
    )
    yield noted(
        f"Drill with the blower off: {1000.0 * hole.value:g} mm, square, no burr inside. Hold the tube flush with the"
        " wall, not into the stream."
    )
    yield noted(
        f"Speed and Pitot: {traverse.value:g} bores behind an elbow or wye, tube on the axis. Plug the holes"
        " afterwards."
    )
    from_wall = [fact("measuring", f"traverse point {number}").value for number in (1, 2, 3)]
    shares = listed([f"{100.0 * share:.0f}" for share in (*from_wall, *(1.0 - share for share in from_wall[::-1]))])
    yield noted(
        f"The axis alone is good to a tenth. For better, read {shares} % of the bore from the wall, on two diameters"
        " at right angles. Turn each into a speed, then average."
    )


def form_note(tap: Expected, display: Display) -> str:
    """Return what stands in the note of a row to fill in."""
    return capitalised(f"healthy {display.pressure_number(tap.static_pa)} ({_band(tap, display)})"
                       f" {display.unit('pressure')}")  # fmt: skip


def expect_document(found: Expect) -> dict[str, Any]:
    """Return the sheet as nested plain values, SI units."""
    return {
        **PROGRAM,
        **fields_of(found, "shop", "provisional"),
        "cases": [{"case": case, "open": list(machines)} for case, machines in found.cases],
        "unsolved": list(found.unsolved),
        "changes": list(found.changes),
        "taps": records(TAPS, found.taps),
    }


def expect_csv(found: Expect, display: Display) -> str:
    """Return a line for each tap and case."""
    return csv_of((*TAPS, *BESIDE), found.taps, display)


def readings_form(found: Expect, display: Display) -> str:
    """Return readings.csv to fill in: a row for each tap that air passes, case by case; values and dates are blank."""
    rows = []
    for case, machines in found.cases:
        taps = [tap for tap in found.taps if tap.case == case and tap.passes]
        for number, tap in enumerate(taps):
            opened = " + ".join(machines) if number == 0 else ""
            kind = "drop" if tap.kind == "filter" else "static"
            rows.append(("", opened, tap.where, kind, "", "", "", "", form_note(tap, display)))
    return csv_text(COLUMNS, rows)

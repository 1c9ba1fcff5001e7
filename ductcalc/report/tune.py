"""Fitted numbers: text, JSON and CSV."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ductcalc.answers.columns import records
from ductcalc.answers.tune import NUMBERS, Tune, TunedNumber
from ductcalc.report.blocks import Block, Grid, GridColumn, Heading, Paragraph, Span
from ductcalc.report.columns import csv_of
from ductcalc.report.display import Display, rough
from ductcalc.report.head_and_foot import changed_blocks, noted, program_line
from ductcalc.report.json_text import PROGRAM, fields_of
from ductcalc.report.sentences import several
from ductcalc.report.short import Typed, closing_lines, next_line
from ductcalc.units.wording import spelled

WHOLE_SHOP = "whole shop"
BY_TIMES = ("filter cloth", "cyclone", "blower speed")
"""Facts that are shown as multiples of what is written."""


def short_tune(found: Tune, written: Path | None, display: Display, typed: Typed) -> Iterator[Block]:
    """Yield in short which numbers were fitted, and where they stand now."""
    yield from _head(found, written, typed)
    if found.numbers:
        yield Paragraph("")
        yield _numbers(found)
    yield from closing_lines((), typed.again("--full"))


def tune_blocks(found: Tune, written: Path | None, display: Display, typed: Typed) -> Iterator[Block]:
    """Yield all of it: by how much each reading is missed before and after as well."""
    yield from _head(found, written, typed)
    yield Heading("Numbers")
    yield _numbers(found)
    yield Heading("Readings, by how much calculation misses them")
    yield _readings(found, display)
    yield Heading("Notes")
    yield noted("as written: without readings, assumed or from the tables; its band is two standard deviations.")
    yield noted("left: how much of a number's band is left. A number told nothing of stays as it was.")
    yield noted("What a calculation is off where all numbers are known, 10 % of pressure, is not fitted away.")
    yield noted("A planning estimate for dilute wood dust and chips; local codes and licensed practice decide.")
    yield Paragraph("")
    yield program_line(found.shop)


def _head(found: Tune, written: Path | None, typed: Typed) -> Iterator[Block]:
    yield Paragraph((Span(headline(found), "strong"),))
    yield from changed_blocks(found.changes)
    if written is not None:
        yield Paragraph(f"Written to {spelled(str(written))}. Commands take it by themselves in the shop's folder.")
        yield next_line("See what it changes", typed.line("check"))


def headline(found: Tune) -> str:
    """Say how much the readings told."""
    readings = several(len(found.readings), "healthy reading")
    if not found.numbers:
        return f"{readings} of {found.when} tell nothing of the badly known numbers: read more taps."
    best = found.numbers[0]
    return (
        f"{readings} of {found.when} narrow {several(len(found.numbers), 'number')}, most of all {best.name}:"
        f" {_now(best)}."
    )


def _now(number: TunedNumber) -> str:
    """Return a number as fitted with the band that is left."""
    tuned = number.tuned
    value, unit = (1.0, " times") if number.value is None else (number.value, "")
    if tuned.what in BY_TIMES:
        value, unit = 1.0, " times"
    return f"{rough(value * tuned.times)} ({rough(value * tuned.low)} to {rough(value * tuned.high)}){unit}"


def _before(number: TunedNumber) -> str:
    if number.value is None or number.low is None or number.high is None:
        return "1 times"
    value, unit = (number.value, " times") if number.tuned.what in BY_TIMES else (1.0, "")
    parts = [rough(part / value) for part in (number.value, number.low, number.high)]
    return f"{parts[0]} ({parts[1]} to {parts[2]}){unit}"


def _numbers(found: Tune) -> Grid:
    columns = (
        GridColumn(("number", ""), wrap=True),
        GridColumn(("of", ""), wrap=True),
        GridColumn(("as written", ""), right=True, drop=0),
        GridColumn(("fitted", ""), right=True),
        GridColumn(("left", "%"), right=True, drop=1),
    )
    rows = [
        (n.tuned.what, n.tuned.where or WHOLE_SHOP, _before(n), _now(n), f"{100 * n.left:.0f}") for n in found.numbers
    ]
    return Grid(columns, tuple(rows))


def _readings(found: Tune, display: Display) -> Grid:
    columns = (
        GridColumn(("tap", ""), wrap=True),
        GridColumn(("open", ""), wrap=True),
        GridColumn(("before", "%"), right=True),
        GridColumn(("after", "%"), right=True),
    )
    rows = [
        (reading.where.written, " + ".join(reading.open), f"{100 * before:+.0f}", f"{100 * after:+.0f}")
        for reading, before, after in zip(found.readings, found.before, found.after, strict=True)
    ]
    return Grid(columns, tuple(rows))


def tune_document(found: Tune) -> dict[str, Any]:
    """Return what was fitted as nested plain values; `times` and its ends are over the number as written."""
    return {
        **PROGRAM,
        **fields_of(found, "shop", "when", "untold"),
        "changes": list(found.changes),
        "numbers": records(NUMBERS, found.numbers),
        "readings": [
            {
                "where": reading.where.written,
                "open": list(reading.open),
                **fields_of(reading, "when", "value"),
                "missed_before": before,
                "missed_after": after,
            }
            for reading, before, after in zip(found.readings, found.before, found.after, strict=True)
        ],
    }


def tune_csv(found: Tune, display: Display) -> str:
    """Return a line for each number."""
    return csv_of(NUMBERS, found.numbers, display)

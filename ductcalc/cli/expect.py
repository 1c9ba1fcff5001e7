"""`ductcalc expect`: what a healthy system reads at every tap, and the form to write readings into."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from ductcalc.cli.options import (
    OutputOptions,
    asks_of,
    changing_option,
    choosing_options,
    epilog,
    report_options,
    shop_options,
    typed,
)

EXIT_CODES = """\
\b
Exit codes: 0 told, 2 input or command wrong, 3 a case asked for has no answer.
"""


@click.command(
    "expect",
    short_help="What a water tube should read at each tap.",
    epilog=epilog("ductcalc expect my-shop --output readings.csv", EXIT_CODES),
)
@shop_options
@choosing_options
@changing_option
@report_options
def expect_command(
    shop: Path,
    collector: Path | None,
    opened: Sequence[str],
    all_open: bool,
    all_but: str | None,
    sets: Sequence[str],
    changes: Sequence[str],
    **options: Any,
) -> int:
    """Show what a healthy system reads at each tap: suction, speed, Pitot, with a band; the filter is clean.

    Without a choice every machine is open alone. An output file named readings.csv is the form to fill in.
    """
    asks = asks_of(opened, all_open, all_but, sets)
    from ductcalc.cli.deliver import Reports, deliver, read
    from ductcalc.shop.readings import FILE

    wishes = OutputOptions.of(options)
    form = wishes.output is not None and wishes.output.name.casefold() == FILE
    if form:
        _refuse_log(wishes.output)
    found = read(shop, collector, wishes, changes)
    from ductcalc.answers.expect import expect
    from ductcalc.report.display import Display

    answer = expect(found, asks, options["junction"])
    display = Display(wishes.system(found))

    def text() -> Any:
        from ductcalc.report.expect import expect_blocks, short_expect

        return expect_blocks(answer, display) if wishes.full else short_expect(answer, display, typed())

    def document() -> dict[str, Any]:
        from ductcalc.report.expect import expect_document

        return expect_document(answer)

    def lines() -> str:
        from ductcalc.report.expect import expect_csv, readings_form

        return readings_form(answer, display) if form else expect_csv(answer, display)

    deliver(wishes, Reports(text, document, lines))
    return 3 if answer.unsolved else 0


def _refuse_log(path: Path | None) -> None:
    """Refuse to write a form over readings that were taken, whatever else was asked for."""
    from ductcalc.cli.deliver import Refused

    if path is not None and os.path.lexists(path):
        raise Refused(path, "readings may stand in it, and are never overwritten", "write the form into another folder")

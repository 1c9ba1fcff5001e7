"""`ductcalc chart`: pressure against flow, or suction along one machine's way."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ductcalc.cli.complete import machines
from ductcalc.cli.options import (
    PICTURES,
    OutputOptions,
    asks_of,
    changing_option,
    choosing_options,
    epilog,
    report_options,
    shop_options,
)

if TYPE_CHECKING:
    from ductcalc.answers.chart import Chart
    from ductcalc.answers.losses import Losses
    from ductcalc.cli.deliver import Reports
    from ductcalc.report.display import Display


@click.command(
    "chart",
    short_help="The blower's curve and what the duct takes of it.",
    epilog=epilog('ductcalc chart my-shop --open "table saw" --output curve.svg'),
)
@shop_options
@click.option(
    "--along",
    metavar="MACHINE",
    shell_complete=machines,
    help="The suction along this machine's way to the collector instead.",
)
@choosing_options
@changing_option
@report_options
def chart_command(
    shop: Path,
    collector: Path | None,
    along: str | None,
    opened: Sequence[str],
    all_open: bool,
    all_but: str | None,
    sets: Sequence[str],
    changes: Sequence[str],
    **options: Any,
) -> int:
    """Chart pressure against flow: the blower's curve, what cyclone and filter leave of it, and what the duct takes.

    Without a choice: of the cases of the worst, the farthest and the greediest machine. --output also writes .svg
    and .png.
    """
    asks = asks_of(opened, all_open, all_but, sets)
    if along is not None and asks is not None and len(asks) > 1:
        raise click.UsageError("the way of one machine is that of one case: give --open or --set once")
    from ductcalc.answers.chart import chart
    from ductcalc.answers.losses import losses
    from ductcalc.cli.deliver import deliver, read
    from ductcalc.cli.losses import no_answer
    from ductcalc.report.display import Display

    wishes = OutputOptions.of(options, *PICTURES)
    found = read(shop, collector, wishes, changes)
    display = Display(wishes.system(found))
    if along is not None:
        way = losses(found, asks[0] if asks else None, along, options["junction"])
        if not way.case.solved:
            raise no_answer(way.case, display)
        deliver(wishes, _way_reports(way, display))
        return 0 if way.case.well else 1
    answer = chart(found, asks, options["junction"])
    deliver(wishes, _chart_reports(answer, display))
    return answer.exit_code


def _way_reports(way: Losses, display: Display) -> Reports:
    from ductcalc.cli.deliver import Reports
    from ductcalc.report.draw.chart import way_picture
    from ductcalc.report.draw.picture import SHEET
    from ductcalc.report.draw.text import way_blocks
    from ductcalc.report.losses import losses_csv, losses_document

    return Reports(
        lambda: way_blocks(way, display),
        lambda: losses_document(way),
        lambda: losses_csv(way, display),
        lambda: way_picture(way, display, SHEET),
    )


def _chart_reports(answer: Chart, display: Display) -> Reports:
    from ductcalc.cli.deliver import Reports
    from ductcalc.report.draw.chart import chart_picture
    from ductcalc.report.draw.data import chart_csv, chart_document
    from ductcalc.report.draw.picture import SHEET
    from ductcalc.report.draw.text import chart_blocks

    return Reports(
        lambda: chart_blocks(answer, display),
        lambda: chart_document(answer),
        lambda: chart_csv(answer, display),
        lambda: chart_picture(answer, display, SHEET),
    )

"""`ductcalc draw`: the duct as a schematic."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

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


@click.command(
    "draw",
    short_help="The duct as a picture.",
    epilog=epilog("ductcalc draw my-shop --open planer --output duct.svg"),
)
@shop_options
@choosing_options
@changing_option
@report_options
def draw_command(
    shop: Path,
    collector: Path | None,
    opened: Sequence[str],
    all_open: bool,
    all_but: str | None,
    sets: Sequence[str],
    changes: Sequence[str],
    **options: Any,
) -> int:
    """Draw the duct: the main along its length, every branch where it joins, all to one length scale.

    With a choice of open machines the flow, the speed and the grade of every stretch stand in the picture, dirty
    filter. --output also writes .svg and .png.
    """
    asks = asks_of(opened, all_open, all_but, sets)
    if asks is not None and len(asks) > 1:
        raise click.UsageError("draw shows one case: give --open or --set once")
    from ductcalc.cli.deliver import Reports, deliver, read

    wishes = OutputOptions.of(options, *PICTURES)
    found = read(shop, collector, wishes, changes)
    from ductcalc.answers.draw import draw
    from ductcalc.report.display import Display

    answer, display = draw(found, asks[0] if asks else None, options["junction"]), Display(wishes.system(found))
    if answer.case is not None and not answer.case.solved:
        from ductcalc.cli.losses import no_answer

        raise no_answer(answer.case, display)

    from ductcalc.report.draw.data import draw_csv, draw_document
    from ductcalc.report.draw.picture import SHEET
    from ductcalc.report.draw.schematic import schematic
    from ductcalc.report.draw.text import draw_blocks

    reports = Reports(
        lambda: draw_blocks(answer, display),
        lambda: draw_document(answer),
        lambda: draw_csv(answer, display),
        lambda: schematic(answer, display, SHEET, grows=True),
    )
    deliver(wishes, reports)
    return 0 if answer.case is None or answer.case.well else 1

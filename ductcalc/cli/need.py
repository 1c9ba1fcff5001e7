"""`ductcalc need`: what a collector must do, before it is bought."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ductcalc.cli.options import (
    OutputOptions,
    asks_of,
    changing_option,
    choosing_options,
    epilog,
    report_options,
    typed,
)

if TYPE_CHECKING:
    from ductcalc.shop import Shop

EXIT_CODES = """\
\b
Exit codes: 0 told and nothing settles at the wanted flows, or a collector
serves everything; 1 chips settle, or no collector does; 2 input or command
wrong, 3 a case asked for has no answer.
"""


@click.command(
    "need",
    short_help="What a collector must do, before it is bought.",
    epilog=epilog("ductcalc need my-shop --balance", EXIT_CODES),
)
@click.argument("shop", type=click.Path(path_type=Path))
@click.option(
    "--collector",
    "collectors",
    type=click.Path(path_type=Path),
    multiple=True,
    help="Hold this collector against the need; give several to choose from.",
)
@choosing_options
@click.option("--balance", is_flag=True, help="Gate openings that give every machine of a set its air.")
@click.option("--system-curve", is_flag=True, help="Pressure against flow of each case, for any blower's chart.")
@changing_option
@report_options
def need_command(
    shop: Path,
    collectors: Sequence[Path],
    opened: Sequence[str],
    all_open: bool,
    all_but: str | None,
    sets: Sequence[str],
    balance: bool,
    system_curve: bool,
    changes: Sequence[str],
    **options: Any,
) -> int:
    """Say what air at what suction a collector must give; the shop may have none yet.

    Every open port takes the air it wants, dirty filter. Without a choice every machine is taken on its own, and then
    every named gate set. With --system-curve the csv form is the curve.
    """
    asks = asks_of(opened, all_open, all_but, sets)
    from ductcalc.cli.deliver import Reports, deliver, read, refuse_output

    wishes = OutputOptions.of(options)
    refuse_output(wishes, shop, *collectors)
    found = read(shop, None, wishes, changes)
    others = [(table.name, _with_collector(shop, table, wishes, changes)) for table in collectors]
    from ductcalc.answers.need.need import need
    from ductcalc.report.display import Display

    answer = need(found, asks, options["junction"], others, balance, system_curve)
    display = Display(wishes.system(found))

    def text() -> Any:
        from ductcalc.report.need.text import need_blocks, short_need

        return need_blocks(answer, display) if wishes.full else short_need(answer, display, typed())

    def document() -> dict[str, Any]:
        from ductcalc.report.need.data import need_document

        return need_document(answer, display)

    def lines() -> str:
        from ductcalc.report.need.data import need_csv

        return need_csv(answer, display)

    deliver(wishes, Reports(text, document, lines))
    return answer.exit_code


def _with_collector(shop: Path, table: Path, wishes: OutputOptions, changes: Sequence[str]) -> Shop:
    from ductcalc.cli.deliver import read

    return read(shop, table, wishes, changes)

"""`ductcalc check`: the verdict."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ductcalc.cli.options import (
    OutputOptions,
    asks_of,
    changing_option,
    choosing_options,
    epilog,
    finding_options,
    report_options,
    shop_options,
    typed,
)

if TYPE_CHECKING:
    from ductcalc.answers.check import Check
    from ductcalc.answers.running import Running
    from ductcalc.cli.deliver import Reports
    from ductcalc.report.blocks import Block
    from ductcalc.report.display import Display


@click.command(
    "check",
    short_help="The verdict: is every machine served?",
    epilog=epilog('ductcalc check my-shop --open "table saw, planer"'),
)
@shop_options
@choosing_options
@changing_option
@click.option("--running", is_flag=True, help="Power, cost, heat, filter and drum too; see [running] in shop.toml.")
@finding_options
@report_options
def check_command(
    shop: Path,
    collector: Path | None,
    opened: Sequence[str],
    all_open: bool,
    all_but: str | None,
    sets: Sequence[str],
    changes: Sequence[str],
    running: bool,
    all_findings: bool,
    strict: bool,
    **options: Any,
) -> int:
    """Say whether the collector serves the machines.

    Without a choice every machine is taken on its own, and then every named gate set. --open may be given several
    times, a case each. Served means with the dirty filter.
    """
    if running and OutputOptions.of(options).format in ("csv", "xlsx"):
        raise click.UsageError("running figures have no csv form\n  hint: take --format text or --format json")
    asks = asks_of(opened, all_open, all_but, sets)
    from ductcalc.cli.deliver import deliver, read

    wishes = OutputOptions.of(options)
    found = read(shop, collector, wishes, changes)
    from ductcalc.answers.check import check
    from ductcalc.answers.verdict import exit_code
    from ductcalc.report.display import Display

    answer, display = check(found, asks, options["junction"]), Display(wishes.system(found))

    costs = None
    if running:
        from ductcalc.answers.running import running as running_figures

        costs = running_figures(found, answer)
    deliver(wishes, _reports(answer, costs, wishes, display, all_findings, strict))
    return answer.findings.exit_code(exit_code(answer), strict)


def _reports(
    answer: Check, costs: Running | None, wishes: OutputOptions, display: Display, every: bool, strict: bool
) -> Reports:
    """Return the forms of a verdict; costs: running figures where they are asked for; every: all warnings in short."""
    from ductcalc.cli.deliver import Reports

    def text() -> Any:
        figures: Iterable[Block] = ()
        if costs is not None:
            from ductcalc.report.running.text import running_blocks, short_running

            whole = wishes.full
            figures = running_blocks(costs, display, answer.provisional) if whole else short_running(costs, display)
        if not wishes.full:
            from ductcalc.report.check.short import short_check

            return short_check(answer, display, typed(), every, figures)
        from ductcalc.report.check.text import check_blocks

        return check_blocks(answer, display, figures, every_finding=True)

    def document() -> dict[str, Any]:
        from ductcalc.report.check.data import check_document
        from ductcalc.report.findings import with_findings

        extra = {}
        if costs is not None:
            from ductcalc.report.running.data import running_document

            extra = {"running": running_document(costs)}
        return with_findings({**check_document(answer, display), **extra}, answer.findings, display, strict)

    def lines() -> str:
        from ductcalc.report.check.data import check_csv

        return check_csv(answer, display)

    return Reports(text, document, lines)

"""`ductcalc improve`: what to change first."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from ductcalc.cli.complete import gate_sets, machines
from ductcalc.cli.options import (
    OutputOptions,
    changing_option,
    epilog,
    finding_options,
    report_options,
    shop_options,
    typed,
)

EXIT_CODES = """\
\b
Exit codes: 0 what was asked for is served and nothing settles in it as the
shop stands, 1 it is short or settles, whatever can be gained, 2 input or
command wrong, 3 it has no answer as the shop stands.
"""


@click.command(
    "improve",
    short_help="What to change first, and what it brings.",
    epilog=epilog("ductcalc improve my-shop", EXIT_CODES),
)
@shop_options
@click.option(
    "--for",
    "machine",
    metavar="MACHINE",
    shell_complete=machines,
    help="Improve this machine, it alone open.",
)
@click.option(
    "--set",
    "set_name",
    metavar="NAME",
    shell_complete=gate_sets,
    help="Improve this gate set, its poorest machine first.",
)
@click.option(
    "--prices",
    type=click.Path(path_type=Path),
    metavar="PRICES.csv",
    help="What parts cost, as for parts; beside [parts.prices] in shop.toml.",
)
@changing_option
@finding_options
@report_options
def improve_command(
    shop: Path,
    collector: Path | None,
    machine: str | None,
    set_name: str | None,
    prices: Path | None,
    changes: Sequence[str],
    all_findings: bool,
    strict: bool,
    **options: Any,
) -> int:
    """Try every single change: what keeps chips moving first, then what brings air; and the best pair and three.

    Without a choice it is for the machine whose chips settle worst, else for the one that is shortest of air, else for
    the one with the least margin. What a change makes worse elsewhere is marked. The least hose is set under [improve]
    in shop.toml.
    """
    if machine is not None and set_name is not None:
        raise click.UsageError("choose with --for or with --set, not with both")
    from ductcalc.cli.deliver import Reports, deliver, read, refuse_output

    wishes = OutputOptions.of(options)
    refuse_output(wishes, prices)
    found = read(shop, collector, wishes, changes)
    from ductcalc.answers.improve.improve import improve
    from ductcalc.cli.say import Bar
    from ductcalc.report.display import Display
    from ductcalc.tables.stock import read_prices

    costs = read_prices(prices) if prices else ()
    with Bar("changes") as bar:
        answer = improve(found, machine, set_name, options["junction"], costs, bar)
    display = Display(wishes.system(found))

    def text() -> Any:
        if wishes.full:
            from ductcalc.report.improve.text import improve_blocks

            return improve_blocks(answer, display, every_finding=True)
        from ductcalc.report.improve.text import short_improve

        return short_improve(answer, display, typed(), all_findings)

    def document() -> dict[str, Any]:
        from ductcalc.report.findings import with_findings
        from ductcalc.report.improve.data import improve_document

        return with_findings(improve_document(answer, display), answer.findings, display, strict)

    def lines() -> str:
        from ductcalc.report.improve.data import improve_csv

        return improve_csv(answer, display)

    deliver(wishes, Reports(text, document, lines))
    return answer.findings.exit_code(answer.exit_code, strict)

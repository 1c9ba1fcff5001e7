"""`ductcalc parts`: what to buy and how to cut it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from ductcalc.cli.options import (
    OutputOptions,
    changing_option,
    epilog,
    finding_options,
    report_options,
    shop_options,
    typed,
)
from ductcalc.cli.say import say

EXIT_CODES = """\
\b
Exit codes: 0 the list was made, 2 input or command wrong.
"""


@click.command(
    "parts",
    short_help="What to buy, and how to cut it.",
    epilog=epilog("ductcalc parts my-shop", EXIT_CODES),
)
@shop_options
@click.option(
    "--have",
    type=click.Path(path_type=Path),
    metavar="STOCK.csv",
    help="What lies around: piece, style, size, length, angle, count. It is used up first.",
)
@click.option(
    "--prices",
    type=click.Path(path_type=Path),
    metavar="PRICES.csv",
    help="What things cost: piece, style, size, length, angle, price; a blank matches anything.",
)
@click.option("--cut", is_flag=True, help="How to cut the lengths sold, and what is left over.")
@changing_option
@finding_options
@report_options
def parts_command(
    shop: Path,
    collector: Path | None,
    have: Path | None,
    prices: Path | None,
    cut: bool,
    changes: Sequence[str],
    all_findings: bool,
    strict: bool,
    **options: Any,
) -> int:
    """List what to buy for the ducts, and how to cut the pipe from the lengths sold.

    Lengths sold, saw cut, hanger spacing and prices are set under [parts] in shop.toml. Flows are not shown.
    """
    from ductcalc.cli.deliver import Reports, deliver, read, refuse_output

    wishes = OutputOptions.of(options)
    refuse_output(wishes, have, prices)
    found = read(shop, collector, wishes, changes)
    from ductcalc.answers.parts.parts import parts
    from ductcalc.report.display import Display
    from ductcalc.tables.stock import prices_and_remarks, stock_and_remarks

    around, told = stock_and_remarks(have) if have else ((), ())
    costs, told_of_prices = prices_and_remarks(prices) if prices else ((), ())
    for remark in (*told, *told_of_prices):
        say(f"remark: {remark}")
    answer, display = parts(found, around, costs), Display(wishes.system(found))

    def text() -> Any:
        from ductcalc.report.parts.text import parts_blocks, short_parts

        if wishes.full:
            return parts_blocks(answer, display, every_finding=True)
        return short_parts(answer, display, typed(), cut, all_findings)

    def document() -> dict[str, Any]:
        from ductcalc.report.findings import with_findings
        from ductcalc.report.parts.data import parts_document

        return with_findings(parts_document(answer), answer.findings, Display(found.system), strict)

    def lines() -> str:
        from ductcalc.report.parts.data import parts_csv

        return parts_csv(answer, display)

    deliver(wishes, Reports(text, document, lines))
    return answer.findings.exit_code(0, strict)

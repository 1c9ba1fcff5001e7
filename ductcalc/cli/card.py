"""`ductcalc card`: the card for the wall."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from ductcalc.cli.gates import EXIT_CODES
from ductcalc.cli.options import (
    NARROWEST,
    PICTURES,
    OutputOptions,
    epilog,
    finding_options,
    report_options,
    shop_options,
)


@click.command(
    "card",
    short_help="The wall card: what may be open, when to clean the filter.",
    epilog=epilog("ductcalc card my-shop --width 60 --output card.txt", EXIT_CODES),
)
@shop_options
@click.option(
    "--width",
    type=click.IntRange(min=NARROWEST),
    metavar="N",
    help="Characters in a line; else the terminal's, and 80 in a file or pipe.",
)
@finding_options
@report_options
def card_command(
    shop: Path, collector: Path | None, width: int | None, all_findings: bool, strict: bool, **options: Any
) -> int:
    """Write the card that hangs by the machines.

    Allowed alone, together and with a helper's gate, not allowed and why, the filter's reading at which to clean it.
    --output card.html or card.svg is one sheet of paper in the largest type that fits.
    """
    from ductcalc.cli.deliver import Reports, deliver, paper_width, read

    wishes = OutputOptions.of(options, ".html", *PICTURES)
    found = read(shop, collector, wishes)
    from ductcalc.answers.gates.card import card
    from ductcalc.cli.say import Bar
    from ductcalc.report.display import Display

    with Bar("gate sets") as bar:
        answer = card(found, options["junction"], bar)
    display = Display(wishes.system(found))

    def text() -> Any:
        from ductcalc.report.card import card_blocks

        return card_blocks(answer, display, every_finding=all_findings)

    def document() -> dict[str, Any]:
        from ductcalc.report.card import card_document
        from ductcalc.report.findings import with_findings

        return with_findings(card_document(answer), answer.findings, Display(found.system), strict)

    def lines() -> str:
        from ductcalc.report.card import card_csv

        return card_csv(answer, display)

    def picture() -> Any:
        from ductcalc.report.card import card_picture

        return card_picture(found.name, text())

    def html() -> str:
        from ductcalc.report.card import card_html

        return card_html(found.name, text())

    deliver(wishes, Reports(text, document, lines, picture, html), width or paper_width())
    return answer.findings.exit_code(answer.exit_code, strict)

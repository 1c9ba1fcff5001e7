"""`ductcalc page`: everything of a shop in one file for screen and paper."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from ductcalc.cli.options import OutputOptions, epilog, page_options, shop_options

ENDINGS = (".html", ".htm")


@click.command(
    "page",
    short_help="Everything on one page, to hand on.",
    epilog=epilog("ductcalc page my-shop --output shop.html"),
)
@shop_options
@page_options
def page_command(shop: Path, collector: Path | None, output: Path, **options: Any) -> int:
    """Write one file that tells everything: verdict, pictures, machines, gates, wall card, parts, what is assumed.

    It needs no network and no script, prints on A4 or letter paper, and holds the shop's tables as downloads.
    """
    if output.suffix.casefold() not in ENDINGS:
        raise click.UsageError(f"--output {output}: a page is one HTML file\n  hint: end the name in .html")
    wishes = OutputOptions(options["units"], "html", output, options["force"], "never", True)
    from ductcalc.cli.deliver import Reports, deliver, read

    found = read(shop, collector, wishes)
    from ductcalc.answers.page import page
    from ductcalc.answers.verdict import exit_code
    from ductcalc.cli.say import Bar
    from ductcalc.report.display import Display
    from ductcalc.report.page import page_html
    from ductcalc.report.short import Typed
    from ductcalc.tables.workbook import contents

    with Bar("gate sets") as bar:
        told = page(found, options["junction"], bar)
    display, files = Display(wishes.system(found)), contents(shop, collector)
    deliver(wishes, Reports(tuple, dict, str, html=lambda: page_html(told, display, Typed(shop=found.name), files)))
    return exit_code(told.check)

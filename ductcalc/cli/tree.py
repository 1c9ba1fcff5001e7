"""`ductcalc tree`: the tables read back as a tree."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from ductcalc.cli.options import OutputOptions, epilog, finding_options, report_options, shop_options

EXIT_CODES = """\
\b
Exit codes: 0 the tables were read, 2 input or command wrong.
"""


@click.command(
    "tree", short_help="Read the tables back: what hangs where.", epilog=epilog("ductcalc tree my-shop", EXIT_CODES)
)
@shop_options
@finding_options
@report_options
def tree_command(shop: Path, collector: Path | None, all_findings: bool, strict: bool, **options: Any) -> int:
    """Show what hangs where, with sizes, lengths, gates and what is assumed.

    Flows are not shown, so that a wrongly hung branch is seen before anything else.
    """
    from ductcalc.cli.deliver import Reports, deliver, read

    wishes = OutputOptions.of(options)
    found = read(shop, collector, wishes)
    from ductcalc.answers.layout import layout
    from ductcalc.report.display import Display

    answer, display = layout(found), Display(wishes.system(found))

    def text() -> Any:
        from ductcalc.report.tree import tree_blocks

        return tree_blocks(answer, display, every_finding=all_findings)

    def document() -> dict[str, Any]:
        from ductcalc.report.findings import with_findings
        from ductcalc.report.tree import layout_document

        return with_findings(layout_document(answer), answer.findings, Display(found.system), strict)

    def lines() -> str:
        from ductcalc.report.tree import layout_csv

        return layout_csv(answer, display)

    deliver(wishes, Reports(text, document, lines))
    return answer.findings.exit_code(0, strict)

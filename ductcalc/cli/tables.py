"""`ductcalc tables`: the reference tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

import click

from ductcalc.cli.options import Wishes, epilog, report_options

if TYPE_CHECKING:
    from ductcalc.catalog import Table
    from ductcalc.cli.deliver import Reports
    from ductcalc.report.blocks import Block

RULES_TABLE = "findings"
EXIT_CODES = """\
\b
Exit codes: 0 shown, 2 no such table or command wrong.
"""


@click.command(
    "tables", short_help="The reference tables and their sources.", epilog=epilog("ductcalc tables elbow", EXIT_CODES)
)
@click.argument("name", required=False)
@report_options
def tables_command(name: str | None, **options: Any) -> int:
    """List the reference tables, or show the one called NAME with its sources.

    Values stand as their sources print them, whatever --units and --junction say.
    """
    from ductcalc.catalog.read import every_table, table
    from ductcalc.cli.deliver import Reports, deliver, refuse_output

    wishes = Wishes.of(options)
    refuse_output(wishes)
    found = None if name is None else table(name.strip().replace("-", "_").replace(" ", "_").casefold())
    from ductcalc.report import tables_text

    def document() -> dict[str, Any]:
        return tables_text.tables_document([found] if found else [table(each) for each in every_table()])

    if found is not None and found.name == RULES_TABLE:
        reports = _rules(found, document)
    elif found is None:
        names = every_table()
        reports = Reports(lambda: tables_text.list_blocks(names), document, lambda: tables_text.list_csv(names))
    else:
        reports = Reports(lambda: tables_text.table_blocks(found), document, lambda: tables_text.table_csv(found))
    deliver(wishes, reports)
    return 0


def _rules(found: Table, document: Callable[[], dict[str, Any]]) -> Reports:
    """Return the forms of the list of findings: the rules, and the table that says from where on."""
    from ductcalc.cli.deliver import Reports
    from ductcalc.report import rules_text, tables_text

    def text() -> Iterable[Block]:
        yield from rules_text.rules_blocks()
        yield from tables_text.table_blocks(found)

    return Reports(text, lambda: {**document(), "findings": rules_text.rules_rows()}, rules_text.rules_csv)

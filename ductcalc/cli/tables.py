"""`ductcalc tables`: the reference tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ductcalc.cli.options import OutputOptions, epilog, report_options

if TYPE_CHECKING:
    from ductcalc.catalog import Table
    from ductcalc.cli.deliver import Reports
    from ductcalc.report.blocks import Block

RULES_TABLE, LEAST_FLOW, METHOD = "findings", "least_flow", "method"
EXIT_CODES = """\
\b
Exit codes: 0 shown, 2 no such table or command wrong.
"""


@click.command(
    "tables", short_help="The reference tables and their sources.", epilog=epilog("ductcalc tables elbow", EXIT_CODES)
)
@click.argument("name", required=False)
@click.argument("shop", required=False, type=click.Path(path_type=Path))
@report_options
def tables_command(name: str | None, shop: Path | None, **options: Any) -> int:
    """List the reference tables, or show the one called NAME with its sources.

    Values stand as their sources print them, whatever --units and --junction say. Only least_flow is computed: for
    standard air, or for the air of SHOP. method prints every formula.
    """
    from ductcalc.catalog.read import every_table, table
    from ductcalc.cli.deliver import Reports, deliver, refuse_output

    wishes = OutputOptions.of(options)
    refuse_output(wishes)
    wanted = None if name is None else name.strip().replace("-", "_").replace(" ", "_").casefold()
    if wanted == LEAST_FLOW:
        deliver(wishes, _least_flow(shop, wishes))
        return 0
    if wanted == METHOD:
        deliver(wishes, _method())
        return 0
    if shop is not None:
        raise click.UsageError(f"a shop goes with {LEAST_FLOW} alone\n  hint: leave {shop} out")
    found = None if wanted is None else table(wanted)
    from ductcalc.report import tables

    def document() -> dict[str, Any]:
        return tables.tables_document([found] if found else [table(each) for each in every_table()])

    if found is not None and found.name == RULES_TABLE:
        reports = _rules(found, document)
    elif found is None:
        from ductcalc.report.computed_tables import COMPUTED

        names = every_table()
        text, lines = lambda: tables.list_blocks(names, COMPUTED), lambda: tables.list_csv(names)
        reports = Reports(text, document, lines)
    else:
        reports = Reports(lambda: tables.table_blocks(found), document, lambda: tables.table_csv(found))
    deliver(wishes, reports)
    return 0


def _rules(found: Table, document: Callable[[], dict[str, Any]]) -> Reports:
    """Return the forms of the list of findings: the rules, and the table that says from where on."""
    from ductcalc.cli.deliver import Reports
    from ductcalc.report import tables

    def text() -> Iterable[Block]:
        yield from tables.rules_blocks()
        yield from tables.table_blocks(found)

    return Reports(text, lambda: {**document(), "findings": tables.rules_rows()}, tables.rules_csv)


def _method() -> Reports:
    """Return the forms of the method."""
    from ductcalc.cli.deliver import Reports
    from ductcalc.report.computed_tables import method_blocks, method_csv, method_document

    return Reports(method_blocks, method_document, method_csv)


def _least_flow(path: Path | None, wishes: OutputOptions) -> Reports:
    """Return the forms of the least flows, in the units asked for or those of the shop."""
    from ductcalc.answers.least_flow import LEAST_FLOWS, least_flows
    from ductcalc.cli.deliver import Reports, read_and_remark
    from ductcalc.report.columns import csv_of
    from ductcalc.report.computed_tables import least_flow_blocks, least_flow_document
    from ductcalc.report.display import Display
    from ductcalc.shop import Settings

    shop = None if path is None else read_and_remark(path, None)
    settings = Settings() if shop is None else shop.settings
    units = wishes.units or (shop.system if shop else "inch")
    found = least_flows(units, settings.air)
    return Reports(
        lambda: least_flow_blocks(found, Display(units), shop.name if shop else None),
        lambda: least_flow_document(found),
        lambda: csv_of(LEAST_FLOWS, found, Display(units)),
    )

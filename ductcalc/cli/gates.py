"""`ductcalc gates`: which gates may be open together."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

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

if TYPE_CHECKING:
    from ductcalc.shop import Shop

EXIT_CODES = """\
\b
Exit codes: 0 every machine alone and every named set is fine,
1 something is short or settles, 2 input or command wrong, 3 one of them has
no answer.
"""


@click.command(
    "gates",
    short_help="Which gates may be open together?",
    epilog=epilog("ductcalc gates my-shop --together 3", EXIT_CODES),
)
@shop_options
@click.option(
    "--together",
    type=click.IntRange(min=1),
    default=2,
    show_default=True,
    metavar="N",
    help="Tell of sets of up to N machines; up to 16 machines every set is solved anyway.",
)
@changing_option
@finding_options
@report_options
def gates_command(
    shop: Path,
    collector: Path | None,
    together: int,
    changes: Sequence[str],
    all_findings: bool,
    strict: bool,
    **options: Any,
) -> int:
    """Say which machines may run alone, which together, and which gate helps.

    Up to 16 machines every possible set is solved; with more, all sets of up to --together machines. Served means
    with the dirty filter. --format csv is a line for each solved set.
    """
    from ductcalc.cli.deliver import Reports, deliver, read

    wishes = OutputOptions.of(options)
    found = read(shop, collector, wishes, changes)
    if not any(one.has_curve for one in found.collectors):
        return _by_speed(found, together, wishes, options["junction"])
    from ductcalc.answers.gates.gates import gates
    from ductcalc.answers.gates.sorting import exit_code
    from ductcalc.cli.say import Bar
    from ductcalc.report.display import Display

    with Bar("gate sets") as bar:
        answer = gates(found, together, options["junction"], bar)
    display = Display(wishes.system(found))

    def text() -> Any:
        if wishes.full:
            from ductcalc.report.gates.text import gates_blocks

            return gates_blocks(answer, display, every_finding=True)
        from ductcalc.report.gates.short import short_gates

        return short_gates(answer, display, typed(), all_findings)

    def document() -> dict[str, Any]:
        from ductcalc.report.findings import with_findings
        from ductcalc.report.gates.data import gates_document

        return with_findings(gates_document(answer, display), answer.findings, display, strict)

    def lines() -> str:
        from ductcalc.report.gates.data import gates_csv

        return gates_csv(answer, display)

    deliver(wishes, Reports(text, document, lines))
    return answer.findings.exit_code(exit_code(answer), strict)


def _by_speed(found: Shop, together: int, wishes: OutputOptions, junction: Any) -> int:
    """Answer for a shop of which no blower's curve is known."""
    from ductcalc.answers.gates.by_speed import gates_by_speed
    from ductcalc.cli.deliver import Reports, deliver
    from ductcalc.report.display import Display
    from ductcalc.report.gates import by_speed

    answer, display = gates_by_speed(found, together, junction), Display(wishes.system(found))

    def text() -> Any:
        if wishes.full:
            return by_speed.gates_blocks(answer, display)
        return by_speed.short_gates(answer, display, typed())

    deliver(
        wishes,
        Reports(text, lambda: by_speed.gates_document(answer, display), lambda: by_speed.gates_csv(answer, display)),
    )
    return answer.exit_code

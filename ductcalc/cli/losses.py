"""`ductcalc losses`: where the pressure goes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ductcalc.cli.complete import machines
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
    from ductcalc.answers.branches import Branches
    from ductcalc.answers.losses import Losses
    from ductcalc.cases.case import Case
    from ductcalc.cli.deliver import Reports
    from ductcalc.report.display import Display


@click.command(
    "losses",
    short_help="Where the pressure goes, piece by piece.",
    epilog=epilog('ductcalc losses my-shop --machine "planer" --largest-first'),
)
@shop_options
@click.option(
    "--machine", metavar="NAME", shell_complete=machines, help="Whose way to the collector; else the worst one's."
)
@choosing_options
@click.option(
    "--at",
    type=click.Choice(["actual", "wanted"]),
    default="actual",
    show_default=True,
    help="Flows that really run, or those that are wanted; these need no collector.",
)
@click.option("--all-branches", is_flag=True, help="A line for each branch: need, excess, the piece that takes most.")
@click.option("--largest-first", is_flag=True, help="Sort the pieces by their loss.")
@changing_option
@finding_options
@report_options
def losses_command(
    shop: Path,
    collector: Path | None,
    machine: str | None,
    opened: Sequence[str],
    all_open: bool,
    all_but: str | None,
    sets: Sequence[str],
    at: str,
    all_branches: bool,
    largest_first: bool,
    changes: Sequence[str],
    all_findings: bool,
    strict: bool,
    **options: Any,
) -> int:
    """Show the loss of every piece from a machine's port to the collector.

    Without a choice the machine is alone; without a machine the worst one is shown. The filter is dirty.
    """
    asks = asks_of(opened, all_open, all_but, sets)
    if asks is not None and len(asks) > 1:
        raise click.UsageError("losses shows one case: give --open or --set once")
    if all_branches and (machine is not None or largest_first):
        raise click.UsageError("--all-branches shows every branch: leave --machine and --largest-first out")
    from ductcalc.cli.deliver import deliver, read

    wishes = OutputOptions.of(options)
    found = read(shop, collector, wishes, changes)
    from ductcalc.answers.losses import losses
    from ductcalc.report.display import Display

    ask, display = asks[0] if asks else None, Display(wishes.system(found))
    if all_branches:
        from ductcalc.answers.branches import branches

        every = branches(found, ask, options["junction"], at)  # type: ignore[arg-type]
        deliver(wishes, _branch_reports(every, display))
        return every.exit_code
    answer = losses(found, ask, machine, options["junction"], at)  # type: ignore[arg-type]
    if not answer.case.solved:
        raise no_answer(answer.case, display)
    as_written = Display(found.system)
    deliver(wishes, _reports(answer, wishes, (display, as_written), largest_first, all_findings, strict))
    return answer.findings.exit_code(0 if answer.case.well else 1, strict)


def _reports(
    answer: Losses,
    wishes: OutputOptions,
    displays: tuple[Display, Display],
    largest_first: bool,
    every: bool,
    strict: bool,
) -> Reports:
    """Return the forms of one way's losses. displays: for text and CSV, for the words in JSON. every: all warnings."""
    from ductcalc.cli.deliver import Reports

    display, as_written = displays

    def text() -> Any:
        from ductcalc.report.losses import losses_blocks, short_losses

        if wishes.full:
            return losses_blocks(answer, display, largest_first, every_finding=True)
        return short_losses(answer, display, typed(), largest_first, every)

    def document() -> dict[str, Any]:
        from ductcalc.report.findings import with_findings
        from ductcalc.report.losses import losses_document

        return with_findings(losses_document(answer, largest_first), answer.findings, as_written, strict)

    def lines() -> str:
        from ductcalc.report.losses import losses_csv

        return losses_csv(answer, display, largest_first)

    return Reports(text, document, lines)


def _branch_reports(found: Branches, display: Display) -> Reports:
    from ductcalc.cli.deliver import Reports
    from ductcalc.report.losses import branch_blocks, branch_csv, branch_document

    return Reports(
        lambda: branch_blocks(found, display), lambda: branch_document(found), lambda: branch_csv(found, display)
    )


def no_answer(case: Case, display: Display) -> Exception:
    """Return the error that says why a case has no answer to show."""
    from ductcalc.errors import NoOperatingPointError, NotConvergedError
    from ductcalc.report.check.sentences import case_title, why_no_answer

    kind = NoOperatingPointError if case.status == "beyond the curve" else NotConvergedError
    said = f"no answer for {case_title(case)}: {why_no_answer(case, display)}"
    return kind(said.replace("\u00a0", " "))

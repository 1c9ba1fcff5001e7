"""`ductcalc size`: which diameters."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from ductcalc.cli.complete import runs
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

if TYPE_CHECKING:
    from ductcalc.cli.deliver import Reports
    from ductcalc.report.display import Display
    from ductcalc.shop import Shop

EXIT_CODES = """\
\b
Exit codes: 0 with these sizes every set may run, 1 a set may not, 2 input or
command wrong or nothing gained to --write, 3 a set has no answer.
"""


@click.command(
    "size",
    short_help="Which diameters serve every set at least cost?",
    epilog=epilog("ductcalc size my-shop", EXIT_CODES),
)
@shop_options
@click.option("--keep", "keep", multiple=True, metavar="RUN", shell_complete=runs, help="This run stays as written.")
@click.option("--sets-only", is_flag=True, help="Only the named sets are wanted, not every machine alone.")
@click.option("--also-alone", is_flag=True, help="Every machine alone is wanted as much as the named sets.")
@click.option(
    "--drop", metavar="RUN", shell_complete=runs, help="Only this run, at each size sold, all else as written."
)
@click.option(
    "--write",
    "target",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="Write the shop with these sizes into a new folder.",
)
@changing_option
@finding_options
@report_options
def size_command(
    shop: Path,
    collector: Path | None,
    keep: Sequence[str],
    sets_only: bool,
    also_alone: bool,
    drop: str | None,
    target: Path | None,
    changes: Sequence[str],
    all_findings: bool,
    strict: bool,
    **options: Any,
) -> int:
    """Choose diameters for all stretches together, and say why each size.

    Sizes are those commonly sold, or those of [size] in shop.toml, and those that hang already. Wanted are first the
    named sets, then every machine alone, with a dirty filter; none gets worse. Of equal ones the lightest is told, or
    the cheapest by [[parts.prices]], and a size up and down beside it.
    """
    _refuse_mixing(drop is not None and (bool(keep) or target is not None), sets_only and also_alone)
    from ductcalc.cli.deliver import read, refuse_output
    from ductcalc.report.display import Display

    wishes = OutputOptions.of(options)
    if target is not None:
        _refuse(target, changes)
        refuse_output(wishes, target)
    found = read(shop, collector, wishes, changes)
    asked = SizeOptions(wishes, Display(wishes.system(found)), options["junction"], sets_only, all_findings, strict)
    writing = None if target is None else (shop, collector, target)
    if drop is not None:
        return _one_run(found, drop, asked)
    if not any(one.has_curve for one in found.collectors):
        return _by_speed(found, keep, asked, writing)
    from ductcalc.answers.size.sizing import exit_code, size
    from ductcalc.cli.say import Bar

    with Bar("rounds of the search") as bar:
        answer = size(found, keep, sets_only, asked.junction, bar, also_alone)
    _refuse_unchecked(answer.then, asked.display)
    if target is not None and answer.why_not:
        raise _nothing_to_write(answer, asked.display)
    _deliver(asked.wishes, _forms(answer, asked), answer.sized, writing)
    return answer.findings.exit_code(exit_code(answer), strict)


class SizeOptions(NamedTuple):
    """How an answer is to be computed and told."""

    wishes: OutputOptions
    display: Display
    junction: Any
    sets_only: bool
    all_findings: bool
    strict: bool


Writing = tuple[Path, Path | None, Path]
"""The shop's folder, its collector table, and the new folder."""


def _deliver(wishes: OutputOptions, forms: Reports, sized: Shop, writing: Writing | None) -> None:
    """Tell the sizes, and write the shop with them: both or none."""
    from ductcalc.cli.deliver import deliver
    from ductcalc.tables.writing import sized_shop

    written: list[Path] = []
    with ExitStack() as both:
        if writing is not None:
            shop, collector, target = writing
            written = both.enter_context(sized_shop(shop, collector, sized, target))
        deliver(wishes, forms)
    for path in written:
        say(f"written: {path}")


def _forms(answer: Any, asked: SizeOptions) -> Reports:
    """Return the forms of an answer for all stretches."""
    from ductcalc.cli.deliver import Reports

    def text() -> Any:
        from ductcalc.report.size.text import short_size, size_blocks

        if asked.wishes.full:
            return size_blocks(answer, asked.display, every_finding=True)
        return short_size(answer, asked.display, typed(), asked.all_findings)

    def document() -> dict[str, Any]:
        from ductcalc.report.findings import with_findings
        from ductcalc.report.size.data import size_document

        return with_findings(size_document(answer, asked.display), answer.findings, asked.display, asked.strict)

    def lines() -> str:
        from ductcalc.report.size.data import size_csv

        return size_csv(answer, asked.display)

    return Reports(text, document, lines)


def _refuse_mixing(drop_and_more: bool, both_wishes: bool) -> None:
    """Refuse options that ask for two things at once."""
    if drop_and_more:
        raise click.UsageError("--drop tries one run, all else as written: leave --keep and --write out")
    if both_wishes:
        raise click.UsageError("choose one of --sets-only and --also-alone")


def _by_speed(found: Shop, keep: Sequence[str], asked: SizeOptions, writing: Writing | None) -> int:
    """Answer for a shop of which no blower's curve is known."""
    from ductcalc.answers.size.by_speed import size_by_speed
    from ductcalc.cli.deliver import Reports
    from ductcalc.report.size import by_speed

    answer, display = size_by_speed(found, keep, asked.sets_only, asked.junction), asked.display
    _refuse_unchecked([need.case for need in answer.then], display)
    if writing is not None and not answer.moves:
        raise click.UsageError("nothing was written: the sizes stay as they are")

    def text() -> Any:
        if asked.wishes.full:
            return by_speed.by_speed_blocks(answer, display)
        return by_speed.short_by_speed(answer, display, typed())

    document, lines = by_speed.by_speed_document, by_speed.by_speed_csv
    forms = Reports(text, lambda: document(answer, display), lambda: lines(answer, display))
    _deliver(asked.wishes, forms, answer.sized, writing)
    return answer.exit_code


def _nothing_to_write(answer: Any, display: Any) -> Exception:
    """Return the refusal to write a shop that would be the one that was read."""
    from ductcalc.errors import InputError, Problem
    from ductcalc.report.size.words import verdict

    said = verdict(answer, display).replace("\u00a0", " ")
    return InputError([Problem("nothing was written", said)])


def _refuse_unchecked(cases: Any, display: Any) -> None:
    """Tell no sizes that rest on a flow which the independent check refuses."""
    from ductcalc.errors import NotConvergedError
    from ductcalc.report.check.sentences import case_title, why_no_answer

    for case in cases:
        if case.check_failed:
            said = f"no sizes are told, for with {case_title(case)} {why_no_answer(case, display)}"
            raise NotConvergedError(said.replace("\u00a0", " "))


def _refuse(target: Path, changes: Sequence[str]) -> None:
    """Refuse a folder that holds a shop already, and what-ifs that no table holds, before anything is computed."""
    if changes:
        raise click.UsageError("--write changes nothing but sizes: put the what-if into the table, leave --with out")
    from ductcalc.tables.writing import refuse_to_overwrite

    refuse_to_overwrite(target)


def _one_run(found: Shop, drop: str, asked: SizeOptions) -> int:
    """Answer for one run."""
    from ductcalc.answers.size.drop import size_drop
    from ductcalc.cli.deliver import Reports, deliver
    from ductcalc.report.size.data import drop_exit_code

    answer = size_drop(found, drop, asked.sets_only, asked.junction)

    def text() -> Any:
        from ductcalc.report.size.text import drop_blocks

        return drop_blocks(answer, asked.display, every_finding=asked.all_findings)

    def document() -> dict[str, Any]:
        from ductcalc.report.findings import with_findings
        from ductcalc.report.size.data import drop_document

        return with_findings(drop_document(answer, asked.display), answer.findings, asked.display, asked.strict)

    def lines() -> str:
        from ductcalc.report.size.data import drop_csv

        return drop_csv(answer, asked.display)

    deliver(asked.wishes, Reports(text, document, lines))
    return answer.findings.exit_code(drop_exit_code(answer), asked.strict)

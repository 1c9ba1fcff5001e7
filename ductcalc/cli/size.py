"""`ductcalc size`: which diameters."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ductcalc.cli.complete import runs
from ductcalc.cli.options import Wishes, changing_option, epilog, finding_options, report_options, shop_options, typed
from ductcalc.cli.say import say

if TYPE_CHECKING:
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
    from ductcalc.cli.deliver import Reports, deliver, read, refuse_output
    from ductcalc.report.display import Display

    wishes = Wishes.of(options)
    if target is not None:
        _refuse(target, changes)
        refuse_output(wishes, target)
    found = read(shop, collector, wishes, changes)
    display = Display(wishes.system(found))
    if drop is not None:
        return _one_run(found, drop, sets_only, wishes, display, options["junction"], all_findings, strict)
    if not any(one.has_curve for one in found.collectors):
        return _by_speed(shop, collector, found, keep, sets_only, target, wishes, display, options["junction"])
    from ductcalc.answers.size.sizing import exit_code, size
    from ductcalc.cli.progress import Bar

    with Bar("rounds of the search") as bar:
        answer = size(found, keep, sets_only, options["junction"], bar, also_alone)
    _refuse_unchecked(answer.then, display)

    def text() -> Any:
        from ductcalc.report.size.text import short_size, size_blocks

        if wishes.full:
            return size_blocks(answer, display, every_finding=True)
        return short_size(answer, display, typed(), all_findings)

    def document() -> dict[str, Any]:
        from ductcalc.report.findings_json import with_findings
        from ductcalc.report.size.data import size_document

        return with_findings(size_document(answer, display), answer.findings, display, strict)

    def lines() -> str:
        from ductcalc.report.size.data import size_csv

        return size_csv(answer, display)

    if target is not None and answer.why_not:
        raise _nothing_to_write(answer, display)
    from ductcalc.tables.writing import sized_shop

    written: list[Path] = []
    with ExitStack() as both:
        if target is not None:
            written = both.enter_context(sized_shop(shop, collector, answer.sized, target))
        deliver(wishes, Reports(text, document, lines))
    for path in written:
        say(f"written: {path}")
    return answer.findings.exit_code(exit_code(answer), strict)


def _refuse_mixing(drop_and_more: bool, both_wishes: bool) -> None:
    """Refuse options that ask for two things at once."""
    if drop_and_more:
        raise click.UsageError("--drop tries one run, all else as written: leave --keep and --write out")
    if both_wishes:
        raise click.UsageError("choose one of --sets-only and --also-alone")


def _by_speed(
    shop: Path,
    collector: Path | None,
    found: Shop,
    keep: Sequence[str],
    sets_only: bool,
    target: Path | None,
    wishes: Wishes,
    display: Display,
    junction: Any,
) -> int:
    """Answer for a shop of which no blower's curve is known."""
    from ductcalc.answers.size.by_speed import size_by_speed
    from ductcalc.cli.deliver import Reports, deliver
    from ductcalc.report.size import by_speed
    from ductcalc.tables.writing import sized_shop

    answer = size_by_speed(found, keep, sets_only, junction)
    _refuse_unchecked([need.case for need in answer.then], display)
    if target is not None and not answer.moves:
        raise click.UsageError("nothing was written: the sizes stay as they are")

    def text() -> Any:
        if wishes.full:
            return by_speed.by_speed_blocks(answer, display)
        return by_speed.short_by_speed(answer, display, typed())

    written: list[Path] = []
    with ExitStack() as both:
        if target is not None:
            written = both.enter_context(sized_shop(shop, collector, answer.sized, target))
        deliver(
            wishes,
            Reports(
                text,
                lambda: by_speed.by_speed_document(answer, display),
                lambda: by_speed.by_speed_csv(answer, display),
            ),
        )
    for path in written:
        say(f"written: {path}")
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


def _one_run(
    found: Any,
    drop: str,
    sets_only: bool,
    wishes: Wishes,
    display: Any,
    junction: Any,
    all_findings: bool,
    strict: bool,
) -> int:
    """Answer for one run."""
    from ductcalc.answers.size.drop import size_drop
    from ductcalc.cli.deliver import Reports, deliver
    from ductcalc.report.size.data import drop_exit_code

    answer = size_drop(found, drop, sets_only, junction)

    def text() -> Any:
        from ductcalc.report.size.text import drop_blocks

        return drop_blocks(answer, display, every_finding=all_findings)

    def document() -> dict[str, Any]:
        from ductcalc.report.findings_json import with_findings
        from ductcalc.report.size.data import drop_document

        return with_findings(drop_document(answer, display), answer.findings, display, strict)

    def lines() -> str:
        from ductcalc.report.size.data import drop_csv

        return drop_csv(answer, display)

    deliver(wishes, Reports(text, document, lines))
    return answer.findings.exit_code(drop_exit_code(answer), strict)

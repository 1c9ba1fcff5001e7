"""`ductcalc compare`: shops, collectors or a what-if side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ductcalc.cli.options import (
    OutputOptions,
    asks_of,
    changing_option,
    choosing_options,
    epilog,
    finding_options,
    report_options,
    typed,
)

if TYPE_CHECKING:
    from ductcalc.errors import Problem
    from ductcalc.report.short import Typed
    from ductcalc.shop import Shop

EXIT_CODES = """\
\b
Exit codes: 0 in every shop compared all is served and nothing settles,
1 in one of them something is short or settles, 2 input or command wrong,
3 a case of one of them has no answer.
"""
ONE_WAY = "compare shops with SHOP OTHER, collectors with --collector A.csv --collector B.csv, or a what-if with --with"


@click.command(
    "compare",
    short_help="Shops, collectors or a what-if, side by side.",
    epilog=epilog('ductcalc compare my-shop --with "main: pipe 2 size = 5 in"', EXIT_CODES),
)
@click.argument("shop", type=click.Path(path_type=Path))
@click.argument("others", type=click.Path(path_type=Path), nargs=-1, metavar="[OTHER]...")
@click.option(
    "--collector",
    "collectors",
    type=click.Path(path_type=Path),
    multiple=True,
    help="Give several to compare collectors; one is compared with the shop's own.",
)
@changing_option
@choosing_options
@finding_options
@report_options
def compare_command(
    shop: Path,
    others: Sequence[Path],
    collectors: Sequence[Path],
    changes: Sequence[str],
    opened: Sequence[str],
    all_open: bool,
    all_but: str | None,
    sets: Sequence[str],
    all_findings: bool,
    strict: bool,
    **options: Any,
) -> int:
    """Compare with SHOP: other shops, collectors on its ducts, or what-ifs (all --with together).

    Every difference is one of two full calculations, always against the first. Without a choice every machine is taken
    on its own, and then every named gate set.
    """
    asks = asks_of(opened, all_open, all_but, sets)
    _refuse_mixing(others, collectors, changes)
    from ductcalc.cli.deliver import Reports, deliver, refuse_output

    wishes = OutputOptions.of(options)
    refuse_output(wishes, shop, *others, *collectors)
    labels, found = _changed(shop, collectors, changes) if changes else _all_of(shop, others, collectors)
    from ductcalc.answers.compare.compare import compare
    from ductcalc.report.display import Display

    answer = compare(found[0], found[1:], asks, options["junction"], labels)
    display = Display(wishes.system(found[0]))

    def text() -> Any:
        if wishes.full:
            from ductcalc.report.compare.text import compare_blocks

            return compare_blocks(answer, display, every_finding=True)
        from ductcalc.report.compare.short import short_compare

        return short_compare(answer, display, typed(), all_findings, _of_first(typed(), others, collectors))

    def document() -> dict[str, Any]:
        from ductcalc.report.compare.data import compare_document
        from ductcalc.report.findings import with_findings

        return with_findings(compare_document(answer, display), answer.findings, display, strict)

    def lines() -> str:
        from ductcalc.report.compare.data import compare_csv

        return compare_csv(answer, display)

    deliver(wishes, Reports(text, document, lines))
    return answer.findings.exit_code(answer.exit_code, strict)


def _of_first(said: Typed, others: Sequence[Path], collectors: Sequence[Path]) -> Typed:
    """Return how the first shop alone is asked for: no other shop, no what-if, of several collectors the first."""
    kept: list[str] = []
    words = iter(said.shared[len(others) :])
    for word in words:
        if word in ("--with", "--collector"):
            value = next(words)
            if word == "--with" or len(collectors) < 2 or word in kept:
                continue
            kept += [word, value]
        else:
            kept.append(word)
    return said._replace(shared=tuple(kept))


def _refuse_mixing(others: Sequence[Path], collectors: Sequence[Path], changes: Sequence[str]) -> None:
    """Refuse a comparison in two ways at once, and one with nothing."""
    if changes and (others or len(collectors) > 1):
        raise click.UsageError(f"--with compares one shop with itself, changed\n  hint: {ONE_WAY}")
    if others and collectors:
        raise click.UsageError(f"several shops have collectors of their own\n  hint: {ONE_WAY}")
    if not (others or collectors or changes):
        raise click.UsageError(f"there is nothing to compare SHOP with\n  hint: {ONE_WAY}")


def _changed(shop: Path, collectors: Sequence[Path], changes: Sequence[str]) -> tuple[list[str], list[Shop]]:
    """Return a shop as it is written and with all changes."""
    from ductcalc.cli.deliver import read_and_remark
    from ductcalc.shop.change import changed
    from ductcalc.tables.what_if import read_changes

    found = read_and_remark(shop, collectors[0] if collectors else None)
    return [found.name, f"{found.name}, changed"], [found, changed(found, read_changes(found, changes))]


def _all_of(shop: Path, others: Sequence[Path], collectors: Sequence[Path]) -> tuple[list[str], list[Shop]]:
    """Return what the shops are called, and the shops; the problems of all of them are told at once."""
    from ductcalc.cli.deliver import read_and_remark
    from ductcalc.errors import InputError

    own: list[Path | None] = [None] if len(collectors) == 1 else []
    wanted = [(shop, table) for table in (*own, *collectors)] if collectors else [(p, None) for p in (shop, *others)]
    found, problems = [], []
    for path, table in wanted:
        try:
            found.append(read_and_remark(path, table))
        except InputError as error:
            problems += [_at(problem, path, table) for problem in error.problems]
    if problems:
        raise InputError(dict.fromkeys(problems))
    if collectors:
        return _named_by_collector(found, [table for _, table in wanted]), found
    names = [one.name for one in found]
    return names if len(set(names)) == len(names) else [str(path) for path, _ in wanted], found


def _at(problem: Problem, shop: Path, table: Path | None) -> Problem:
    """Say in which shop's file a problem is, where several have files of the same name."""
    place = problem.place
    if place is None:
        return problem
    if table is not None:
        file = str(table) if place.file == table.name else place.file
    else:
        file = str(shop / place.file) if shop.is_dir() and place.file != str(shop) else place.file
    return problem._replace(place=replace(place, file=file))


def _named_by_collector(found: Sequence[Shop], tables: Sequence[Path | None]) -> list[str]:
    """Return what one shop is called with each collector table; None is its own."""
    if tables[0] is None and not found[0].collectors:
        raise click.UsageError("SHOP has no collector of its own\n  hint: give --collector twice")
    names = [table.name for table in tables if table]
    spelled = {table: table.name if len(set(names)) == len(names) else str(table) for table in tables if table}
    called = (spelled[table] if table else "its own collector" for table in tables)
    return [f"{shop.name} with {name}" for shop, name in zip(found, called, strict=True)]

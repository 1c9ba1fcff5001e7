"""`ductcalc tune`: badly known numbers fitted to readings of a healthy time."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from ductcalc.cli.options import OutputOptions, changing_option, epilog, report_options, shop_options, typed

EXIT_CODES = """\
\b
Exit codes: 0 fitted, 2 input or command wrong, or readings contradict each other,
3 the shop as written has no answer.
"""


@click.command(
    "tune",
    short_help="Fit badly known numbers to healthy readings.",
    epilog=epilog("ductcalc tune my-shop", EXIT_CODES),
)
@shop_options
@click.option(
    "--readings", type=click.Path(path_type=Path), help="The log of readings; else readings.csv in the shop's folder."
)
@click.option(
    "--to", "target", type=click.Path(path_type=Path), help="Write here; else tuned.toml in the shop's folder."
)
@changing_option
@report_options
def tune_command(
    shop: Path,
    collector: Path | None,
    readings: Path | None,
    target: Path | None,
    changes: Sequence[str],
    **options: Any,
) -> int:
    """Fit machines' resistances, hose, filter, leaks and blower to the readings marked healthy.

    What is found is written to tuned.toml, which every command takes by itself while it stands in the shop's folder.
    Nothing is ever overwritten; readings that contradict the others are named, and nothing is written.
    """
    from ductcalc.cli.deliver import TAKEN_HINT, Refused, Reports, deliver, read, read_log
    from ductcalc.shop.tuned import FILE

    wishes = OutputOptions.of(options)
    path = target or (shop if shop.is_dir() else shop.parent) / FILE
    if os.path.lexists(path):
        raise Refused(path, "numbers tuned before stand in it", TAKEN_HINT)
    found = read(shop, collector, wishes, changes)
    log = read_log(shop, readings, found)
    from ductcalc.answers.tune import tune
    from ductcalc.report.display import Display

    answer = tune(found, log, options["junction"])
    written = _write(path, answer) if answer.numbers else None
    display = Display(wishes.system(found))

    def text() -> Any:
        from ductcalc.report.tune import short_tune, tune_blocks

        return (tune_blocks if wishes.full else short_tune)(answer, written, display, typed())

    def document() -> dict[str, Any]:
        from ductcalc.report.tune import tune_document

        return tune_document(answer)

    def lines() -> str:
        from ductcalc.report.tune import tune_csv

        return tune_csv(answer, display)

    deliver(wishes, Reports(text, document, lines))
    return 0


def _write(path: Path, answer: Any) -> Path:
    from ductcalc.cli.deliver import TAKEN_HINT, Refused
    from ductcalc.tables.tuned import write_tuned

    try:
        write_tuned(path, answer.tuned, f"{len(answer.readings)} healthy readings of {answer.when}")
    except FileExistsError:
        raise Refused(path, "numbers tuned before stand in it", TAKEN_HINT) from None
    except OSError as error:
        reason = (error.strerror or "unwritable").casefold()
        raise Refused(path, f"the file cannot be written: {reason}", "name another place with --to") from None
    return path

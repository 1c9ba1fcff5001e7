"""`ductcalc diagnose`: what readings say is wrong, and where."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from ductcalc.cli.options import OutputOptions, changing_option, epilog, report_options, shop_options, typed

EXIT_CODES = """\
\b
Exit codes: 0 no fault shows, 1 a fault is likelier, 2 input or command wrong,
3 the shop as written has no answer.
"""


@click.command(
    "diagnose",
    short_help="What is wrong, by readings against calculation.",
    epilog=epilog("ductcalc diagnose my-shop", EXIT_CODES),
)
@shop_options
@click.option(
    "--readings", type=click.Path(path_type=Path), help="The log of readings; else readings.csv in the shop's folder."
)
@click.option("--log", "over_time", is_flag=True, help="The whole log by its dates: filter load, what grows.")
@changing_option
@report_options
def diagnose_command(
    shop: Path,
    collector: Path | None,
    readings: Path | None,
    over_time: bool,
    changes: Sequence[str],
    **options: Any,
) -> int:
    """Hold the latest readings against calculation, and against readings of a healthy time where there are any.

    Every single fault of a list is tried in every place and size; the report says which are likeliest.
    """
    from ductcalc.cli.deliver import Reports, deliver, read, read_log

    wishes = OutputOptions.of(options)
    found = read(shop, collector, wishes, changes)
    log = read_log(shop, readings, found)
    if over_time:
        return _log(found, log, wishes, options["junction"])
    from ductcalc.answers.diagnose.diagnose import diagnose
    from ductcalc.report.diagnose import diagnosis_blocks, diagnosis_csv, diagnosis_document, short_diagnosis
    from ductcalc.report.display import Display

    answer = diagnose(found, log, options["junction"])
    display = Display(wishes.system(found))

    def text() -> Any:
        return diagnosis_blocks(answer, display) if wishes.full else short_diagnosis(answer, display, typed())

    deliver(wishes, Reports(text, lambda: diagnosis_document(answer), lambda: diagnosis_csv(answer, display)))
    return 0 if answer.first.kind == "no fault" else 1


def _log(found: Any, log: Any, wishes: OutputOptions, junction: Any) -> int:
    """Show the log over its dates; 1 where the latest day is likelier faulty, or the filter past its line."""
    from ductcalc.answers.diagnose.trend import trend
    from ductcalc.cli.deliver import Reports, deliver
    from ductcalc.report.diagnose import trend_blocks, trend_csv, trend_document
    from ductcalc.report.display import Display

    answer = trend(found, log, junction)
    display = Display(wishes.system(found))
    deliver(
        wishes,
        Reports(
            lambda: trend_blocks(answer, display), lambda: trend_document(answer), lambda: trend_csv(answer, display)
        ),
    )
    last = answer.days[-1].suspect
    return int(last is not None and last.kind != "no fault")

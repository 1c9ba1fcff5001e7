"""`ductcalc start`: a small shop to begin with, or a first layout from a list of machines."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import click

from ductcalc.cli.options import epilog
from ductcalc.cli.say import write_out
from ductcalc.units.wording import spelled

EXIT_CODES = """\
\b
Exit codes: 0 written, 2 not written (nothing is ever overwritten).
"""


@click.command(
    "start", short_help="Write a small shop to begin with.", epilog=epilog("ductcalc start my-shop", EXIT_CODES)
)
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--machines",
    type=click.Path(path_type=Path),
    help="Lay out a first duct table for this list: machine, kind or flow, port, along, height, reach.",
)
def start_command(folder: Path, machines: Path | None) -> int:
    """Write a small commented shop into FOLDER, to be changed into your own.

    With a list of machines: a duct table of one main along the wall and a drop at each machine. A collector is not
    needed yet.
    """
    lines = _starter(folder) if machines is None else _first_layout(folder, machines)
    write_out("".join(f"{spelled(line)}\n" for line in lines))
    return 0


def _starter(folder: Path) -> Iterator[str]:
    from ductcalc.tables.writing import write_starter

    yield from (f"wrote {path}" for path in write_starter(folder))
    yield f"next: ductcalc check {_quoted(str(folder))}"


def _first_layout(folder: Path, machines: Path) -> Iterator[str]:
    from ductcalc.cli.deliver import paper_width
    from ductcalc.report.flow import encoding_or_ascii
    from ductcalc.report.render import Page, rendered
    from ductcalc.report.start import layout_blocks
    from ductcalc.tables.machines import write_first_layout

    written, layout = write_first_layout(folder, machines)
    yield from (f"wrote {path}" for path in written)
    page = Page(paper_width(), encoding_or_ascii(sys.stdout.encoding))
    yield from rendered(layout_blocks(layout), page).splitlines()
    yield f"next: ductcalc need {_quoted(str(folder))}"


def _quoted(text: str) -> str:
    from shlex import quote

    return quote(text)

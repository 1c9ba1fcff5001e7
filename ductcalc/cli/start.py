"""`ductcalc start`: a small shop to begin with."""

from __future__ import annotations

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
def start_command(folder: Path) -> int:
    """Write a small commented shop into FOLDER, to be changed into your own."""
    from ductcalc.tables import write_starter

    lines = [*(f"wrote {path}" for path in write_starter(folder)), f"next: ductcalc check {_quoted(str(folder))}"]
    write_out("".join(f"{spelled(line)}\n" for line in lines))
    return 0


def _quoted(text: str) -> str:
    from shlex import quote

    return quote(text)
